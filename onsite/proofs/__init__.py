"""Proofs: a contact sheet and a page for each person, from which they choose their pictures.

Begin with `build_proofs.build_proofs`, which makes all of them; see README.md beside this file.
"""
