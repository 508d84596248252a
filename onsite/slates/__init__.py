"""Slates: the code, its picture on paper and on screen, and reading it back out of a frame."""
