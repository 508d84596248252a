"""Whether a returned file shows the picture that was sent, and not the frame beside it.

A hash of the whole picture cannot tell: it changes with a new background and hardly changes from one frame of
somebody to the next. What does not change in retouching is where things are. The returned picture is laid
over the pick (`placing`), and the pick's structure is looked for in it block by block. In the same picture
what is found lies still; in the frame beside it something has moved, be it only a head by a pixel in 480.
What is not found at all, such as a background that was replaced, says nothing of either.

Measured on 537 pairs (`python -m tests.bench.bench_same_picture 22`), at the limits below and with the
framing of the pick or a crop of it (`checks.framing`): of 392 retouched versions 12 are not taken for the
pick, 11 of them among the 84 with another background; of 117 frames beside the pick one is, before it is
compared with the person's other frames too (`compare.clearly`, not in these figures); of 28 other people or
things none. A perceptual hash of 64 bits, at its best limit, loses 196 of the versions and takes 42 of the
frames beside for the pick.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import atan2, degrees
from typing import TYPE_CHECKING, Any

from onsite.retouch.same_picture.block_matching import (
    BlockMatches,
    compare_blocks,
    fine_structure,
    refine_similarity,
    warp_onto,
)
from onsite.retouch.same_picture.registration import RegistrationTarget, RegistrationTemplate, Similarity

if TYPE_CHECKING:
    from PIL import Image

WORKING = 480
"""Pixels on the long side at which pictures are compared: that of the previews."""

KEPT = 0.45
"""The least share of the pick's structure that must be found again."""

MOVED = 0.08
"""The most that any part may gain by being moved."""

_HOPELESS = 0.12
"""Edges that fit no better than this anywhere are of another picture."""

_FOUND = 0.7
"""A block as alike as this is found."""

_CLEAR = 0.88
"""A block must be as alike as this elsewhere to have moved: the edge of somebody before a new background is
drawn to the new edge, but less like it."""

_SMOOTHED = 1.0
"""So much structure counts as lying still in every part: a single faint block decides nothing."""


@dataclass(frozen=True, slots=True)
class Likeness:
    """How two pictures agree. `kept` is the share of the pick's structure that is found in the other, 0 to 1;
    `moved` how much likelier the part that moved most lies elsewhere, 0 to about 1; `shown` the share of the
    pick's area in the other; `beyond` the share of the other that is outside the pick; `turn` in degrees."""

    kept: float
    moved: float
    shown: float
    beyond: float
    turn: float

    @property
    def same(self) -> bool:
        """The same picture, or a crop of it."""
        return self.kept >= KEPT and self.moved <= MOVED


def working_size(picture: Image.Image) -> Image.Image:
    """A picture as it is compared: grey, upright already, `WORKING` pixels on its long side."""
    from PIL.Image import Resampling

    grey = picture.convert("L")
    scale = WORKING / max(grey.size)
    size = max(round(grey.width * scale), 1), max(round(grey.height * scale), 1)
    return grey.resize(size, Resampling.LANCZOS if scale < 1 else Resampling.BICUBIC)


def likeness(pick: Image.Image, other: Image.Image) -> Likeness:
    """Compares two pictures as `working` makes them."""
    return Comparable(other).likeness(Compared(pick))


class Compared:
    """A pick as it is compared with other pictures: what is computed of it is kept."""

    def __init__(self, pick: Image.Image) -> None:
        self.sight = pick
        self.pattern = RegistrationTemplate(pick)

    @cached_property
    def half(self) -> Image.Image:
        return self.sight.reduce(2)

    @cached_property
    def structure(self) -> Any:
        return fine_structure(self.sight)

    @cached_property
    def half_structure(self) -> Any:
        return fine_structure(self.half)


class Comparable:
    """A returned picture as it is compared with one pick after the other."""

    def __init__(self, picture: Image.Image) -> None:
        self.sight = picture
        self._searched = RegistrationTarget(picture)

    def rough_fit(self, pick: Compared) -> float:
        """How well a pick of about the same framing fits, 0 to 1: to put many in an order, quickly."""
        return self._searched.rough_fit(pick.pattern)

    def likeness(self, pick: Compared) -> Likeness:
        place, fit = self._searched.place(pick.pattern)
        if fit < _HOPELESS:
            return Likeness(0.0, 0.0, 0.0, 1.0, 0.0)
        place = _step(pick.half, pick.half_structure, self._half, place.scaled(0.5), 4)[0].scaled(2)
        sight, structure = pick.sight, pick.structure
        for reach in (3, 2, 2):
            place = _step(sight, structure, self.sight, place, reach)[0]
        _, blocks, shown = _step(sight, structure, self.sight, place, 4)
        kept, moved = _judged(blocks)
        area = sight.width * sight.height * place.zoom**2 * shown
        beyond = max(1 - area / (self.sight.width * self.sight.height), 0.0)
        return Likeness(kept, moved, shown, beyond, degrees(atan2(place.b, place.a)))

    @cached_property
    def _half(self) -> Image.Image:
        return self.sight.reduce(2)


def _step(
    pick: Image.Image, structure: Any, other: Image.Image, place: Similarity, reach: int
) -> tuple[Similarity, BlockMatches, float]:
    """(a better place, what was compared at the one given, the share of the pick that is shown)."""
    drawn, covered, shown = warp_onto(other, place, pick.size)
    blocks = compare_blocks(structure, fine_structure(drawn), covered, reach)
    return refine_similarity(place, blocks), blocks, shown


def _judged(blocks: BlockMatches) -> tuple[float, float]:
    found = blocks.weight * (blocks.best > _FOUND)
    total = float(blocks.weight.sum())
    gain = _neighbourhoods(blocks.weight * (blocks.best > _CLEAR) * (blocks.best - blocks.still))
    there = _neighbourhoods(found)
    moved = float((gain / (there + _SMOOTHED)).max()) if there.size else 0.0
    return float(found.sum()) / total if total else 0.0, moved


def _neighbourhoods(values: Any) -> Any:
    """The sum over each block and the eight around it."""
    import numpy as np

    rows, columns = values.shape
    padded = np.pad(values, 1)
    return sum(padded[y : y + rows, x : x + columns] for y in range(3) for x in range(3))
