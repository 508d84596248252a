"""What frames are, by shape. A line is settled, a shade is not; the words stand beside it."""

from __future__ import annotations

from onsite.wrap.runs import RunKind

SHAPES = {RunKind.NAMED: "━", RunKind.SLATE: "┿", RunKind.LOOSE: "▒", RunKind.ASIDE: "·"}

EQUATION = {
    "named": SHAPES[RunKind.NAMED],
    "slates": SHAPES[RunKind.SLATE],
    "loose": SHAPES[RunKind.LOOSE],
    "set aside": SHAPES[RunKind.ASIDE],
}
"""The same beside the words of the equation, which so is the key to the strips."""
