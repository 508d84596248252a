"""The Reconcile screen: runs, overrides made on it, and giving every loose frame a name.

Begin with `reconcile_screen.ReconcileScreen`.
"""
