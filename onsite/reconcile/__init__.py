"""Reconcile: runs the match on the day's evidence, stores and explains it; overrides, lanes, lists, exports.

Begin with `current_match` (match, read verdicts), `overrides` (decisions), `camera_lanes` (the day as runs).
"""
