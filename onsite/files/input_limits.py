"""Limits of what is read from outside: beyond them a file is refused before it costs memory or time.

All are far beyond what a client's list or a camera has (common practice, no source).
"""

LIST_BYTES = 64 * 2**20
"""Bytes of a list of people, as text or as a workbook."""

LIST_LINES = 500_000
"""Lines of a list as text: each costs some 70 bytes of memory even where it is empty."""

MANIFEST_BYTES = 2**20
"""Bytes of the manifest in a workbook: it lists a few parts."""

PIXELS = 500_000_000
"""Pixels of a picture: three times the largest sensor."""

EASY_PIXELS = 50_000_000
"""Pixels that any file may have, however small it is."""

PIXELS_A_BYTE = 100
"""Pixels for each byte of a larger picture's file: photographs have fewer than ten."""

SCANS = 100
"""Scans of a progressive JPEG, each as long to decode as a plain one; programs write about ten."""
