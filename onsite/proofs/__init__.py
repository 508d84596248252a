"""Proofs to each person, and their picks back."""
