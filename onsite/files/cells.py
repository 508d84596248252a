"""Cells of a table that other programs open."""

from __future__ import annotations

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""How a cell begins that a spreadsheet may take for a formula (OWASP, "CSV Injection")."""


def neutral(text: str) -> str:
    """`text` as a cell that no spreadsheet takes for a formula: an apostrophe goes before what might be one.

    >>> neutral("=1+1"), neutral("Ana")
    ("'=1+1", 'Ana')
    """
    return f"'{text}" if text.lstrip(" ").startswith(_FORMULA) else text
