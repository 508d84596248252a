"""Wrap: reconciling the day. Matching with the shoot's tables around it, and decisions by hand."""
