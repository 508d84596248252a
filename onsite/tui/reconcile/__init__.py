"""Reconcile: giving every loose frame a name, or setting it aside.

Begin with `reconcile_screen.ReconcileScreen`.
"""
