"""Fitting a ticket's texts into their boxes: shrunk, then on two lines, then cut with an ellipsis."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

from onsite.core.codes import spaced_code
from onsite.core.text import JOINERS
from onsite.slates.printable_slate_names import letter_text, reads_from_right
from onsite.slates.slate_fonts import MixedTypeface, Typeface
from onsite.slates.slate_layout import Box, Ticket, TicketLayout

IN_LATIN = "in Latin letters here"
"""Printed beside a name whose own letters no font on this machine draws."""

_LEAST = 0.2
"""Least font size over the largest before a text is cut: 4 points on the smallest ticket. Own choice."""

_LONGEST = 200
"""Characters of a text that are considered; no box of a ticket holds more."""


@dataclass(frozen=True, slots=True)
class TextLine:
    """A piece of a line in one font; its left end `x`, `baseline` and `size` in the unit of the face."""

    text: str
    face: Typeface
    size: float
    x: float
    baseline: float


@dataclass(frozen=True, slots=True)
class FittedText:
    """A text broken into one or two lines, and the font size at which they fit."""

    lines: tuple[str, ...]
    size: float


def fit_text(
    text: str, face: Typeface | MixedTypeface, box: Box, *, largest: float, floor: float, least: float
) -> FittedText:
    """Fit `text` into `box`, as large as possible up to the size `largest`.

    It stays on one line down to the size `floor`, breaks into two lines where that makes it larger, and is
    cut with an ellipsis only where it would be smaller than `least`.
    """
    text = text[:_LONGEST]
    single = _largest((text,), face, box, largest)
    if single.size >= floor:
        return single
    best = max(
        [single, *(_largest(pair, face, box, largest) for pair in _breaks(text))],
        key=lambda fitted: fitted.size,
    )
    return best if best.size >= least else _cut(text, face, box, least)


def _largest(lines: tuple[str, ...], face: Typeface | MixedTypeface, box: Box, largest: float) -> FittedText:
    """Return `lines` at the largest size that fits `box`, up to `largest`."""
    widest = max(face.width(line) for line in lines)
    by_height = box.height / (len(lines) * face.line_height)
    return FittedText(lines, min(largest, by_height, box.width / widest if widest else largest))


def _breaks(text: str) -> Iterator[tuple[str, str]]:
    """Yield every break of `text` in two: at a space, after a hyphen, between East Asian letters."""
    for place in range(1, len(text)):
        before, after = text[:place].rstrip(" "), text[place:]
        may_break = text[place - 1] in " -‐–" or (_is_wide(text[place - 1]) and _is_wide(text[place]))
        if before and not after.startswith(" ") and may_break:
            yield before, after


def _is_wide(char: str) -> bool:
    """Whether a letter is wide (UAX 11), an approximation of line breaking class ID (UAX 14)."""
    return unicodedata.east_asian_width(char) == "W" and char.isalpha()


def _cut(text: str, face: Typeface | MixedTypeface, box: Box, size: float) -> FittedText:
    """Return as much of `text` as fits on one or two lines of this size, ending with an ellipsis."""
    room = box.width / size
    if 2 * size * face.line_height > box.height:
        return FittedText((_clipped(text, face, room),), size)
    fitting = [pair for pair in _breaks(text) if face.width(pair[0]) <= room]
    if not fitting:
        return FittedText((_clipped(text, face, room),), size)
    first, rest = fitting[-1]
    return FittedText((first, _clipped(rest, face, room)), size)


def _clipped(text: str, face: Typeface | MixedTypeface, room: float) -> str:
    """Return `text`, or its longest prefix that fits with an ellipsis into `room` em."""
    if face.width(text) <= room:
        return text
    ellipsis = next((mark for mark in ("…", "...") if face.draws(mark)), "")
    for length in range(len(text) - 1, 0, -1):
        # A letter is never separated from its combining marks.
        parted = unicodedata.category(text[length]).startswith("M") or text[length - 1] in JOINERS
        clipped = text[:length].rstrip() + ellipsis
        if not parted and face.width(clipped) <= room:
            return clipped
    return ellipsis


def compose_ticket(card: Ticket, layout: TicketLayout, shaping: bool = True) -> list[TextLine]:
    """Lay out every line of text on a ticket. Without `shaping`, text that needs it is in Latin."""
    name, below = (card.number, card.group or card.name) if card.number else (card.name, card.group)
    if letter_text(name, True, shaping).missing:
        below = " · ".join(filter(None, (below, IN_LATIN)))
    lines = _set(name, layout.name, bold=True, shaping=shaping, share=1.0, place=1.0)
    lines += _set(below, layout.group, bold=False, shaping=shaping, share=0.8, place=0.0)
    lines += _set(card.shoot, layout.shoot, bold=False, shaping=shaping, share=1.0, place=0.0)
    return lines + _set_code(card.code, layout.code)


def _set(text: str, box: Box, *, bold: bool, shaping: bool, share: float, place: float) -> list[TextLine]:
    """Lay out `text` in `box`, aligned to its top (`place` 0) or bottom (1).

    A line takes at most `share` of the height. Right-to-left text is aligned to the right of the box.
    """
    lettered = letter_text(text, bold, shaping)
    if not lettered.text:
        return []
    face = lettered.face
    largest = share * box.height / face.line_height
    fitted = fit_text(lettered.text, face, box, largest=largest, floor=0.75 * largest, least=_LEAST * largest)
    step = fitted.size * face.line_height
    top = box.y + place * (box.height - step * len(fitted.lines))
    from_right = reads_from_right(lettered.text)
    lines: list[TextLine] = []
    for number, line in enumerate(fitted.lines):
        x = box.right - fitted.size * face.width(line) if from_right else box.x
        lines += pieces(line, face, fitted.size, x, top + number * step + fitted.size * face.ascent)
    return lines


def pieces(
    text: str, face: Typeface | MixedTypeface, size: float, x: float, baseline: float
) -> list[TextLine]:
    """Split a line into pieces of one font each, side by side from `x` on."""
    lines = []
    for part, own in face.parts(text):
        lines.append(TextLine(part, own, size, x, baseline))
        x += size * own.width(part)
    return lines


def _set_code(code: str, box: Box) -> list[TextLine]:
    """Lay out the code in groups of four, centred in its box."""
    lettered = letter_text(spaced_code(code))
    fitted = _largest((lettered.text,), lettered.face, box, box.height)
    size = fitted.size
    x = box.x + (box.width - size * lettered.face.width(lettered.text)) / 2
    return pieces(lettered.text, lettered.face, size, x, box.y + size * lettered.face.ascent)
