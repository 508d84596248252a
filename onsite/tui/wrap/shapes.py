"""What frames are, by shape. A line is settled, a shade is not; the words stand beside it."""

from __future__ import annotations

from onsite.wrap.runs import RunKind

SHAPES = {RunKind.NAMED: "━", RunKind.SLATE: "┿", RunKind.LOOSE: "▒", RunKind.SET_ASIDE: "·"}

COUNT_SHAPES = {
    "named": SHAPES[RunKind.NAMED],
    "slates": SHAPES[RunKind.SLATE],
    "loose": SHAPES[RunKind.LOOSE],
    "set aside": SHAPES[RunKind.SET_ASIDE],
}
"""The same beside the words of the equation, which so is the key to the strips."""
