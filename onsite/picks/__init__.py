"""TODO: what this package holds."""
