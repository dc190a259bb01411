"""Shares of newborns and contrasts between them, with the uncertainty of litters."""
