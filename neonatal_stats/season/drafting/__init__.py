"""A map drafted from a file: what its headings and words are like."""
