"""A farm's own headings, words and units, and the settings: TOML files read key by key, and a map drafted."""
