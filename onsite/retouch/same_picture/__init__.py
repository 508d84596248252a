"""Decides whether two files show the same picture, retouched or not, or different frames of the same person.

Begin with `likeness.likeness` for two pictures, `identify.identify_frame` for many. README.md explains how.
"""
