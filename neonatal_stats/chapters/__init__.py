"""The chapters of the review, one question each."""
