"""Reconcile: settling the day's frames. Gathers the evidence from the store, keeps the match, records
overrides.

Begin with `current_match` (match and read verdicts), `overrides` (decisions) and `lanes` (the day as runs).
"""
