"""From files to a season: read, map, check, follow."""
