"""Charts as SVG in the report, in length and pattern, with a title and a description in words.

They are drawn for a telephone's width and scale with the page; lengths are in units of the drawing. They use
the text colour of the page, so that they print. SVG 2 (W3C); title and description follow WAI-ARIA Graphics.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

WIDTH, HEIGHT = 420, 170
"""Of a chart, in CSS pixels: two stand side by side on A4."""
_LEFT, _BOTTOM, _TOP = 34, 22, 8  # margins for the numbers, the labels, and the highest column
_LABEL_EVERY = 44
"""Width of a label under a column."""


@dataclass(frozen=True, slots=True)
class ChartRow:
    """A series of values, as many as there are columns."""

    name: str
    values: Sequence[int]
    hatched: bool = False  # else solid


def column_chart(
    key: str, title: str, description: str, labels: Sequence[str], rows: Sequence[ChartRow]
) -> Markup:
    """A column chart, with the columns of several series side by side; empty where there is no column. `key`
    is unique on the page, `description` says in words what the chart shows."""
    if not labels:
        return Markup("")
    most = _round_up(max((value for row in rows for value in row.values), default=0))
    room, ground = WIDTH - _LEFT - 4, HEIGHT - _BOTTOM
    each = room / len(labels)
    wide = each * 0.8 / max(len(rows), 1)
    parts = [_hatching(key), *_scale(most, ground)]
    for number, label in enumerate(labels):
        left = _LEFT + number * each
        for place, row in enumerate(rows):
            high = (ground - _TOP) * row.values[number] / most
            if high:
                parts.append(
                    _box(
                        left + each * 0.1 + place * wide,
                        ground - high,
                        wide,
                        high,
                        key if row.hatched else "",
                    )
                )
        if number % max(1, round(_LABEL_EVERY / each + 0.49)) == 0:
            parts.append(_text(left + each / 2, HEIGHT - 6, label, "middle"))
    return _drawing(key, title, description, parts, HEIGHT)


def bar_chart(key: str, description: str, solid: int, hatched: int, total: int) -> Markup:
    """A single bar: a solid part, a hatched part, and the rest of `total` empty."""
    wide, high = 200, 14
    parts = [
        _hatching(key),
        Markup('<rect x="0.5" y="0.5" width="{}" height="{}" fill="none" stroke="currentColor"/>').format(
            wide - 1, high - 1
        ),
    ]
    first = wide * solid / total if total else 0.0
    second = wide * hatched / total if total else 0.0
    if first:
        parts.append(_box(0, 0, first, high, ""))
    if second:
        parts.append(_box(first, 0, second, high, key))
    return Markup(
        '<svg class="bar" role="img" viewBox="0 0 {} {}" preserveAspectRatio="none" aria-label="{}">{}</svg>'
    ).format(wide, high, description, Markup("").join(parts))


def _drawing(key: str, title: str, description: str, parts: Sequence[Markup], height: int) -> Markup:
    return Markup(
        '<svg class="chart" role="img" viewBox="0 0 {w} {h}" aria-labelledby="{k}-title {k}-told">'
        '<title id="{k}-title">{title}</title><desc id="{k}-told">{told}</desc>{parts}</svg>'
    ).format(w=WIDTH, h=height, k=key, title=title, told=description, parts=Markup("").join(parts))


def _hatching(key: str) -> Markup:
    return Markup(
        '<defs><pattern id="{}-hatch" width="5" height="5" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><line x1="0" y1="0" x2="0" y2="5" stroke="currentColor" '
        'stroke-width="2.4"/></pattern></defs>'
    ).format(key)


def _box(x: float, y: float, width: float, height: float, hatch: str) -> Markup:
    fill = escape(f"url(#{hatch}-hatch)" if hatch else "currentColor")
    edge = Markup(' stroke="currentColor"') if hatch else Markup("")
    return Markup('<rect x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}" fill="{}"{}/>').format(
        x, y, width, height, fill, edge
    )


def _text(x: float, y: float, text: str, anchor: str) -> Markup:
    return Markup('<text x="{:.1f}" y="{:.1f}" text-anchor="{}">{}</text>').format(x, y, anchor, text)


def _scale(most: int, ground: int) -> list[Markup]:
    """The base line, and two grid lines with their values."""
    lines = []
    for value in (0, most // 2, most) if most > 1 else (0, most):
        y = ground - (ground - _TOP) * value / most
        lines.append(
            Markup(
                '<line x1="{}" y1="{:.1f}" x2="{}" y2="{:.1f}" stroke="currentColor" stroke-width="{}"/>'
            ).format(_LEFT, y, WIDTH, y, 1 if value == 0 else 0.3)
        )
        lines.append(_text(_LEFT - 5, y + 4, f"{value:,}", "end"))
    return lines


def _round_up(value: int) -> int:
    """The next easily read number whose half is whole as well: 2, 4, 10, 20, 40, 100 ..."""
    size = 1
    while True:
        for step in (1, 2, 4, 6, 8):
            if value <= step * size:
                return step * size
        size *= 10
