"""Sheets recognised, unfolded, typed and put under one another."""
