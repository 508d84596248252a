"""The shoot's folder, its database, and the record of what happened."""
