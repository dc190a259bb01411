"""From text in a cell to a typed value: moments, lengths of time, numbers, words."""
