"""Words said once: the columns, units, terms, plausible ranges and marks that every other room uses."""
