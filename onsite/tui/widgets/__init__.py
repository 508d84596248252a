"""Widgets that several screens use, one file each."""
