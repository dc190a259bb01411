"""Deaths known only to lie between two checks."""
