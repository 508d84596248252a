"""What can be kept as a text."""

from __future__ import annotations

from onsite.problems import Problem
from onsite.words import escaped


def require_printable(*texts: str) -> None:
    """Bytes of a command line that are no text in its encoding, and NUL, which not every database takes."""
    for text in texts:
        if "\0" in text or any("\ud800" <= character <= "\udfff" for character in text):
            raise Problem(f"{escaped(text)} holds what is not text", "Type it again.")
