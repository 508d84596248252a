"""The desk: the work after the shoot."""
