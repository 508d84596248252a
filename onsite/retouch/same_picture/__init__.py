"""Decides whether two files show the same picture, retouched or not, or different frames of the same person.

Begin with `picture_likeness.likeness` for two pictures, `identify_picture.identify_frame` for many.
README.md explains how.
"""
