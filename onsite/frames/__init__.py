"""Frames: finding files, reading EXIF, slates, colours and measures, and writing frames to the store.

Begin with `ingest.ingest` for memory cards and folders, and `watch_folder.watch_folder` for tethered cameras.
"""
