"""Closed-set reading of slates that the general decoder does not read.

A grid is fitted to each symbol, and its free modules, estimated through the blur, are compared with every
code of the shoot. Grids come from `symbol_search` and are fitted together with a point spread function
(`symbol_window`, `point_spread`), always to the modules that all slates of the shoot share. Nothing before
the comparison (`closed_set`) looks at a code, so trying many grids does not raise the probability of a wrong
code.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from PIL import Image

from onsite.slates.qr_symbol import MODULES
from onsite.slates.reader.closed_set import KnownSlates
from onsite.slates.reader.module_grid import Grid
from onsite.slates.reader.seen_symbol import ReadBy, SymbolSeen, symbol_seen_at
from onsite.slates.reader.symbol_window import FittedGrid, SymbolWindow, window_for

PLAIN = 1.4
"""Share explained plus twice the agreement of a slate that is seen whatever its code. Cloth, walls and print
reach 1.2 (bar codes, of 162 frames in 27 families), slates with glare over the middle of their symbols 1.5
(of 20)."""

_SURE = 0.75, 0.93
"""Agreement, or share explained, from which no other grid is tried in the same place: a symbol rotated
wrongly still agrees in three of its corners."""


def read_closed_set(
    picture: Image.Image,
    starts: Sequence[Grid],
    orientation: int,
    known: KnownSlates,
) -> tuple[SymbolSeen, ...]:
    """Read the slates in a grey picture: first those with an accepted code, then every symbol clearly seen.

    The second part repeats symbols of the first. The search begins at `starts`.
    """
    placed = _placed(picture, starts, known)
    if not placed:
        return ()
    seen = np.zeros((len(placed), MODULES, MODULES), np.float32)
    for values, each in zip(seen, placed, strict=True):
        values[:] = each.look.seen
        values[known.free] = each.evidence.values()
    read: dict[str, SymbolSeen] = {}
    for match in sorted(known.matches(seen), key=lambda match: -match.score):
        if match.accepted and match.code not in read:
            corners = placed[match.grid].grid.corners.tolist()
            read[str(match.code)] = symbol_seen_at(
                corners, picture.size, orientation, match.code, ReadBy.KNOWN, round(match.margin, 1)
            )
    plain = (each.grid.corners.tolist() for each in placed if each.likeness >= PLAIN)
    return (*read.values(), *(symbol_seen_at(corners, picture.size, orientation) for corners in plain))


def _placed(
    picture: Image.Image,
    starts: Sequence[Grid],
    known: KnownSlates,
) -> list[FittedGrid]:
    """Return the fitted grids of all possible symbols, clearest first.

    Nothing here looks at a code, only at the modules that all slates of the shoot share.
    """
    windows: list[SymbolWindow] = []
    placed: list[FittedGrid] = []

    for start in starts:
        window = None if _taken(start, placed) else window_for(picture, start, known.template, windows)
        fitted = window.fitted(start) if window else None
        if fitted and not any(fitted.grid.near(each.grid) for each in placed):
            placed.append(fitted)
    return sorted(placed, key=lambda each: -each.explained)


def _taken(grid: Grid, placed: Sequence[FittedGrid]) -> bool:
    """Whether a symbol was already placed with certainty at the centre of this grid."""
    middle = grid.corners.mean(axis=0)
    return any(
        (each.look.agreement >= _SURE[0] or each.explained >= _SURE[1])
        and np.abs(each.grid.corners.mean(axis=0) - middle).max() < 0.5 * MODULES * each.grid.module
        for each in placed
    )
