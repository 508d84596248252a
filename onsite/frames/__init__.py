"""Frames: finding them on cards and folders, what they say of themselves, and keeping them."""
