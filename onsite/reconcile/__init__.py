"""Reconcile: settling the day's frames. Gathers the evidence from the store, keeps the match, records
overrides.

Begin with `current_match` (match, read verdicts), `overrides` (decisions), `camera_lanes` (the day as runs).
"""
