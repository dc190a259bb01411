"""What each chapter counts: a season in, a frozen result out. Nothing here words, rounds or draws."""
