"""Rules over the typed records: each a small named function that looks, says what is wrong and what to do."""
