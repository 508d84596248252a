"""After the shoot told: who is to be reminded, and the report."""
