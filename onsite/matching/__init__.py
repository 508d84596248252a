"""From evidence to runs to names. Pure: no files, no database, no clock."""
