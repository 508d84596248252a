"""Measures whether a returned picture is the pick, retouched, and not the frame next to it.

The picture is registered to the pick, and the pick's structure is matched in it block by block. In the same
picture what is found has not moved; in the next frame something has, be it a head by a pixel in 480. What is
not found, such as a replaced background, is no evidence for either. The error rates at these limits are in
README.md.
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
from onsite.retouch.same_picture.image_registration import (
    RegistrationTarget,
    RegistrationTemplate,
    Similarity,
)

if TYPE_CHECKING:
    from PIL import Image
    from PIL.Image import Resampling

WORKING = 480
"""Pixels on the long side at which pictures are compared: those of the previews."""

KEPT = 0.45
"""Least share of the pick's structure that must be found."""

MOVED = 0.08
"""Most motion that any part of the picture may show."""

_HOPELESS = 0.12
"""Pictures whose edges correlate no better than this at any place and scale are different."""

_FOUND = 0.7
"""Correlation above which a block counts as found."""

_CLEAR = 0.88
"""Correlation that a block must have at another place to count as moved. The outline of a person before a
replaced background is drawn to the new edge, but fits less well."""

_SMOOTHED = 1.0
"""Structure added to each part as if it lay still, so that a single faint block decides nothing."""


@dataclass(frozen=True, slots=True)
class Likeness:
    """How two pictures agree."""

    kept: float  # share of the pick's structure that is found, 0 to 1
    moved: float  # largest gain in correlation that any part has by moving, 0 to about 1
    shown: float  # share of the pick's area that is in the other picture
    beyond: float  # share of the other picture that is outside the pick
    turn: float  # rotation in degrees

    @property
    def same(self) -> bool:
        """Whether it is the same picture, or a crop of it."""
        return self.kept >= KEPT and self.moved <= MOVED


def working_size(picture: Image.Image) -> Image.Image:
    """A picture as it is compared: grey, `WORKING` pixels on its long side. It must be upright already."""
    from PIL.Image import Resampling

    smaller = max(picture.size) > WORKING
    return _resized(picture.convert("L"), Resampling.LANCZOS if smaller else Resampling.BICUBIC)


def small_copy(picture: Image.Image) -> Image.Image:
    """A picture as its colours are compared: `WORKING` pixels on its long side."""
    from PIL.Image import Resampling

    return _resized(picture, Resampling.LANCZOS)


def _resized(picture: Image.Image, by: Resampling) -> Image.Image:
    scale = WORKING / max(picture.size)
    return picture.resize((max(round(picture.width * scale), 1), max(round(picture.height * scale), 1)), by)


def likeness(pick: Image.Image, other: Image.Image) -> Likeness:
    """Compares two pictures made by `working_size`."""
    return Comparable(other).likeness(Compared(pick))


class Compared:
    """A pick, with a cache of what comparing it needs."""

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
    """A returned picture, with a cache for comparing it with one pick after another."""

    def __init__(self, picture: Image.Image) -> None:
        self.sight = picture
        self._searched = RegistrationTarget(picture)

    def rough_fit(self, pick: Compared) -> float:
        """How well a pick of about the same framing fits, 0 to 1: quick, for sorting many candidates."""
        return self._searched.rough_fit(pick.pattern)

    def likeness(self, pick: Compared) -> Likeness:
        """Registers and compares the picture with a pick."""
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
    """(refined registration, block matches at `place`, share of the pick that is covered)."""
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
    """The sum over each block and its eight neighbours."""
    import numpy as np

    rows, columns = values.shape
    padded = np.pad(values, 1)
    return sum(padded[y : y + rows, x : x + columns] for y in range(3) for x in range(3))


# Files that were only saved again

_AREA, _COLOUR_AREA = 2, 8
"""Sides of the areas whose means are compared, in pixels of the small pictures. Compression keeps colour at a
lower resolution."""

_BRIGHTNESS, _COLOUR = 3, 3
"""Tolerated difference of an area, in levels of 255. Measured on eight photographs and drawn portraits of 0.3
to 12 megapixels: JPEGs of quality 60 to 98, of all but the smallest, differ by at most 3 in brightness and 2
in colour; healed skin differs by 15, smoothed skin by 4 and more, a grey version by 30 in colour."""


def is_only_resaved(sent: Image.Image, back: Image.Image) -> bool:
    """Whether two pictures made by `small_copy`, in sRGB, show no visible difference: the file was only saved
    again. Compression changes single pixels but no area; retouching changes at least a small area. A crop
    counts as a difference."""
    if any(abs(sent_side - other) > 1 for sent_side, other in zip(sent.size, back.size, strict=True)):
        return False
    if sent.size != back.size:
        back = back.resize(sent.size)
    bright, *colours = zip(sent.convert("YCbCr").split(), back.convert("YCbCr").split(), strict=True)
    return _largest_difference(*bright, _AREA) <= _BRIGHTNESS and all(
        _largest_difference(*pair, _COLOUR_AREA) <= _COLOUR for pair in colours
    )


def _largest_difference(first: Image.Image, other: Image.Image, area: int) -> int:
    """The largest difference between the means of corresponding areas."""
    from PIL import ImageChops

    histogram = ImageChops.difference(first.reduce(area), other.reduce(area)).histogram()
    return max(level for level, count in enumerate(histogram) if count)
