"""Retouching: batches out with their lists, files back and checked, and what it costs."""
