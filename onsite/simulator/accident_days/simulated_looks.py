"""Colour signatures without pictures: clothes of real life's few colours, hair and skin before a backdrop.

A person is a few parts, each of one colour, shaded; a part's colours are counted into the bins of
`onsite.frames.measure_colours` once, and a frame mixes the parts. From frame to frame pose and framing
change their shares, and light what the backdrop does not share of it; a slate covers part of the clothes and
brings the hands in. Fitted to drawn frames: `tests/bench/bench_looks.py` has the distances of both.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from onsite.core.colour_signature import BAND_BINS, BANDS
from onsite.frames.measure_colours import (
    colour_axes,
    foreground_weights,
    log_light,
    signature_of,
    soft_bins,
)
from onsite.simulator.accident_days.simulated_turns import Worn
from onsite.simulator.draw_props import BRASS, LEATHER, SILVER, WOOD
from onsite.simulator.invented_exposure import STILL, FrameConditions, Prop

Colour = tuple[int, int, int]

CLOTHES: dict[Colour, int] = {
    (28, 28, 32): 20,
    (34, 42, 66): 13,
    (232, 230, 226): 12,
    (62, 64, 70): 8,
    (128, 130, 134): 7,
    (146, 172, 200): 6,
    (70, 92, 126): 6,
    (206, 190, 162): 6,
    (120, 38, 52): 5,
    (52, 78, 62): 5,
    (176, 48, 48): 4,
    (96, 70, 52): 4,
    (218, 170, 172): 3,
    (98, 72, 112): 2,
    (222, 186, 84): 2,
    (60, 128, 136): 2,
}
"""Black, navy, white and grey are what most people wear; with how many in a hundred wear each. Common sense,
no source."""

HAIR: dict[Colour, int] = {
    (30, 26, 26): 25,
    (52, 38, 32): 25,
    (86, 60, 44): 18,
    (140, 104, 68): 12,
    (196, 168, 120): 8,
    (146, 82, 50): 3,
    (150, 148, 146): 9,
}
SKIN: tuple[Colour, ...] = (
    (240, 208, 188),
    (230, 192, 166),
    (214, 170, 138),
    (190, 142, 110),
    (150, 106, 80),
    (104, 74, 58),
)
GOWN: Colour = (92, 30, 44)
WHITE: Colour = (236, 234, 230)

PROPS: dict[Prop, Colour] = {
    Prop.VIOLIN: WOOD,
    Prop.FLUTE: SILVER,
    Prop.TRUMPET: BRASS,
    Prop.FOLDER: LEATHER,
}

_HEAD, _BODY = range(BANDS)
_SHADES = np.array([0.55, 0.8, 0.92, 1.04])  # of a colour's level: folds, the far cheek, the lit side
_GRAIN = 5.0  # of 255: standard deviation within a shade
_SAMPLES = 8  # within each shade
_STEP = np.array([0.3, 0.12, 0.06])  # stops on the three axes: shifts for which a part is counted
_STRAY = np.array([0.03, 0.012, 0.005])  # stops: what the backdrop does not share of a change of light
_POSE = 0.07  # how far, in logarithms, a part's share changes in the middle pose; some frames are wilder
_WILD = 0.5  # spread of that change from frame to frame, in logarithms
_HANDS = 0.06  # of what is seen below the head: skin of hands and arms
_COVERED = 0.5  # of the clothes, by a slate that was masked out
_HELD = 0.1  # of what is seen below the head: an instrument
_FILLED = 0.8  # of the picture's middle, by a figure
_CLOSE = 0.8  # zoom above 1 at which the framing is head and shoulders


@dataclass(frozen=True, slots=True)
class Part:
    """A colour somewhere on a person: `share` of its band at head-to-waist framing, `close` at head and
    shoulders."""

    band: int
    colour: Colour
    share: float
    close: float
    cloth: bool = False


@lru_cache(maxsize=20_000)
def parts_of(seed: int, worn: Worn, uniform: bool, without_jacket: bool = False) -> tuple[Part, ...]:
    """The parts of somebody, the same every time. In uniform all wear one gown; helpers never do."""
    body = np.random.default_rng([seed, abs(worn.person), worn.person < 0, 11])
    dressed = worn.person if worn.dressed_as is None else worn.dressed_as
    dress = np.random.default_rng([seed, abs(dressed), dressed < 0, worn.outfit, 12])
    skin = SKIN[int(body.integers(len(SKIN)))]
    hair = skin if body.random() < 0.06 else _worn(HAIR, body)
    long = float(body.choice([0.0, 0.08, 0.2]))
    cloth, second = _worn(CLOTHES, dress), _worn(CLOTHES, dress)
    patterned = float(dress.choice([0.0, 0.0, 0.12, 0.25, 0.4]))
    if uniform and worn.person >= 0:
        cloth, second, patterned = GOWN, WHITE, 0.08
    if without_jacket:
        cloth, patterned = second, 0.0
    return (
        Part(_HEAD, hair, 0.55, 0.75),
        Part(_HEAD, skin, 0.45, 0.25),
        Part(_BODY, skin, 0.16, 0.42),
        Part(_BODY, hair, long, long),
        Part(_BODY, cloth, (0.84 - long) * (1 - patterned), (0.58 - long) * (1 - patterned), True),
        Part(_BODY, second, (0.84 - long) * patterned, (0.58 - long) * patterned, True),
    )


def signature(
    parts: tuple[Part, ...],
    rng: np.random.Generator,
    backdrop: float = 50.0,
    lit: float = 1.0,
    with_slate: bool = False,
    conditions: FrameConditions = STILL,
) -> bytes:
    """A frame's signature. `backdrop` is the lightness of the backdrop, CIE L*; `lit` the part of the light
    that is there; without `parts` nobody is before the backdrop."""
    if not parts:
        return _empty(rng)
    prop = None if with_slate else conditions.prop
    scene = _scene(parts, with_slate, prop, round(backdrop), lit)
    close = min(max((conditions.zoom - 1) / _CLOSE, 0.0), 1.0)
    shares = scene.shares * (1 - close) + scene.close * close
    pose = _POSE * np.exp(rng.normal(0, _WILD / 2 if with_slate else _WILD))  # one holds still with a slate
    shares = shares * np.exp(rng.normal(0, pose, len(shares)))
    if with_slate:
        shares = shares * (1 - scene.covered * _COVERED * rng.uniform(0.7, 1.3))
    stray = rng.normal(0, _STRAY * (1.0 if conditions is STILL else 2.0)) / _STEP
    mixed = scene.bins[0] + sum(
        abs(by) * (scene.bins[1 + 2 * axis + (by < 0)] - scene.bins[0]) for axis, by in enumerate(stray)
    )
    weighted = mixed.clip(0.0) * shares[:, None]
    bands = [weighted[scene.band == band].sum(axis=0) for band in range(BANDS)]
    presence = sum(
        weighted[scene.band == band].sum() / shares[scene.band == band].sum() for band in range(BANDS)
    )
    return signature_of(bands, float(_FILLED * presence / BANDS))


def _empty(rng: np.random.Generator) -> bytes:
    """An empty backdrop: a little lighter or darker here and there than the plane through its edges."""
    bands = [np.zeros(BAND_BINS) for _ in range(BANDS)]
    for band in bands:
        bins, parts = soft_bins(rng.normal(0, [[0.5], [0.03], [0.02]], (3, 50)).astype(np.float32))
        np.add.at(band, bins.ravel(), parts.ravel())
    return signature_of(bands, float(rng.uniform(0.008, 0.035)))


@dataclass(frozen=True, slots=True)
class _Scene:
    """What is before the camera, ready for many frames: of each part its shares in the two framings, its
    band, whether a slate covers it, and its weight in each bin as it is and shifted on each axis, up and
    down: (7, parts, bins)."""

    shares: NDArray[np.float64]
    close: NDArray[np.float64]
    band: NDArray[np.int64]
    covered: NDArray[np.float64]
    bins: NDArray[np.float64]


@lru_cache(maxsize=4096)
def _scene(parts: tuple[Part, ...], with_slate: bool, prop: Prop | None, backdrop: int, lit: float) -> _Scene:
    if with_slate:
        parts = (*parts, Part(_BODY, parts[1].colour, _HANDS, _HANDS), Part(_BODY, WHITE, 0.03, 0.03))
    if prop is not None:
        parts = (*parts, Part(_BODY, PROPS[prop], _HELD, _HELD / 2))
    return _Scene(
        np.array([part.share for part in parts]),
        np.array([part.close for part in parts]),
        np.array([part.band for part in parts]),
        np.array([float(part.cloth) for part in parts]),
        _binned([part.colour for part in parts], backdrop, lit),
    )


def _binned(colours: Sequence[Colour], backdrop: int, lit: float) -> NDArray[np.float64]:
    """The weight of each colour in each bin, unshifted and shifted: (7, colours, bins)."""
    grain = np.random.default_rng(5).normal(0, _GRAIN, (len(_SHADES), _SAMPLES, 1))
    levels = np.array(colours)[:, None, None, :] * _SHADES[None, :, None, None] + grain
    dimmed = log_light(lit)
    stops = dimmed[np.clip(np.round(levels), 0, 255).astype(int)].reshape(-1, 3)
    axes = colour_axes((stops - dimmed[grey_level(backdrop)]).T)
    shifts = np.zeros((7, 3, 1), np.float32)
    for axis, step in enumerate(_STEP):
        shifts[1 + 2 * axis, axis], shifts[2 + 2 * axis, axis] = step, -step
    shifted = (axes[None] + shifts).transpose(1, 0, 2).reshape(3, -1)
    bins, share = soft_bins(shifted)
    row = np.arange(7 * len(colours)).repeat(len(_SHADES) * _SAMPLES)
    flat = np.bincount(
        (bins + row * BAND_BINS).ravel(),
        (share * foreground_weights(shifted)).ravel(),
        7 * len(colours) * BAND_BINS,
    )
    return flat.reshape(7, len(colours), BAND_BINS) / (len(_SHADES) * _SAMPLES)


def grey_level(lightness: float) -> int:
    """The level of sRGB, 0 to 255, of a neutral grey of this CIE L* (CIE 15:2004, IEC 61966-2-1)."""
    light = ((lightness + 16) / 116) ** 3 if lightness > 8 else lightness / 903.3
    coded = light * 12.92 if light <= 0.0031308 else 1.055 * light ** (1 / 2.4) - 0.055
    return round(coded * 255)


def _worn(colours: dict[Colour, int], rng: np.random.Generator) -> Colour:
    shares = np.array(list(colours.values()), dtype=float)
    return list(colours)[int(rng.choice(len(shares), p=shares / shares.sum()))]
