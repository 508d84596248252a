"""Looks without pictures: clothes of real life's few colours, hair, skin, as `onsite.frames.picture_measures`
has them.

A look is counted from pixels drawn out of a person's colours: shaded, in the three bands from top to bottom,
in 4 × 4 × 4 colours each. From frame to frame pose shifts the shares and light the colours; a slate covers
part of the clothes and brings the hands in.

Calibrated against drawn frames of the demo (60 people, a slate and five portraits each, on two backdrops,
read back through `onsite.frames.examine_file`). Hellinger distances there, percentiles 1, 5, 25, 50, 75, 95,
99:

    one person, frame to frame     .03 .04 .05 .07 .09 .15 .19
    one person, slate to portrait  .11 .13 .16 .18 .21 .24 .26
    different people, portraits    .33 .49 .72 .82 .88 .94 .97

Of the 60 people 3 wear the backdrop's colour, so that nobody is to be seen in any of their frames, and 3 more
in their slate frame only (the accident `like_backdrop`). What is drawn here (run this file to print it) is as
near for one person, and nearer for different people, who buy their clothes in the same shops:

    one person, frame to frame     .05 .06 .07 .08 .09 .14 .16
    one person, slate to portrait  .09 .12 .17 .20 .22 .26 .26
    different people, portraits    .23 .34 .49 .61 .72 .82 .87
    one person in another outfit   .07 .17 .39 .53 .66 .77 .79
    different people in uniform    .09 .15 .25 .30 .35 .44 .48
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

BANDS = 3
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

_SHADES = np.array([0.5, 0.8, 1.04])
_SHADE_WEIGHTS = np.array([0.28, 0.5, 0.22])
_SPREAD = 9.0  # of 255, within a shade
_PIXELS = 4000
_NEAR = 0.06  # how far the light strays
_EDGES = np.array([64.0, 128.0, 192.0])
_SHARES = (0.17, 0.37, 0.46)  # of the bands
_POSE = 0.1  # how far, in logarithms, a part's share changes in the middle pose; some frames are wilder
_WILD = 0.65
_HANDS = 0.05
_COVERED = 0.4  # of the clothes, by a slate that was masked out


@dataclass(frozen=True, slots=True)
class Part:
    """A colour somewhere on a person: `share` of what is seen of them."""

    band: int
    colour: Colour
    share: float
    cloth: bool = False


@lru_cache(maxsize=20_000)
def parts_of(seed: int, person: int, outfit: int, uniform: bool) -> tuple[Part, ...]:
    """What somebody looks like, the same every time. In uniform all wear one gown; helpers never do."""
    body = np.random.default_rng([seed, abs(person), person < 0, 11])
    dress = np.random.default_rng([seed, abs(person), person < 0, outfit, 12])
    skin = SKIN[int(body.integers(len(SKIN)))]
    hair = skin if body.random() < 0.06 else _worn(HAIR, body)
    long = float(body.choice([0.0, 0.1, 0.25]))
    cloth, second = _worn(CLOTHES, dress), _worn(CLOTHES, dress)
    patterned = float(dress.choice([0.0, 0.0, 0.12, 0.25, 0.4]))
    if uniform and person >= 0:
        cloth, second, patterned = GOWN, WHITE, 0.08
    top, middle, bottom = _SHARES
    return (
        Part(0, hair, top * 0.62),
        Part(0, skin, top * 0.38),
        Part(1, skin, middle * (0.5 - long)),
        Part(1, hair, middle * long),
        Part(1, cloth, middle * 0.5 * (1 - patterned), True),
        Part(1, second, middle * 0.5 * patterned, True),
        Part(2, cloth, bottom * (1 - patterned), True),
        Part(2, second, bottom * patterned, True),
    )


def look(
    parts: tuple[Part, ...], rng: np.random.Generator, light: float = 1.0, with_slate: bool = False
) -> bytes:
    """A frame's look. `light` multiplies all colours: 1.0 as metered."""
    scene = _scene(parts, with_slate, round(light, 1))
    pose = _POSE * np.exp(rng.normal(0, _WILD / 2 if with_slate else _WILD))  # one holds still with a slate
    shares = scene.shares * np.exp(rng.normal(0, pose, len(scene.shares)))
    if with_slate:
        shares = shares * (1 - scene.covered * _COVERED * rng.uniform(0.7, 1.3))
    brighter = (light * np.exp(rng.normal(0, 0.012)) / scene.light - 1 + _NEAR) / (2 * _NEAR)
    bands = scene.bands * shares
    counted = (bands @ scene.dim * (1 - brighter) + bands @ scene.bright * brighter).clip(0.0).ravel()
    pixels = rng.multinomial(_PIXELS, counted / counted.sum()) / _PIXELS
    return bytes(np.round(np.sqrt(pixels) * 255).astype(np.uint8).tobytes())


@dataclass(frozen=True, slots=True)
class _Scene:
    """What is before the camera, ready for many frames: for each part its share, its band (a column of
    `bands`), whether a slate covers it, and its colour bins in light a little dimmer and brighter."""

    light: float
    shares: NDArray[np.float64]
    bands: NDArray[np.float64]
    covered: NDArray[np.float64]
    dim: NDArray[np.float64]
    bright: NDArray[np.float64]


@lru_cache(maxsize=4096)
def _scene(parts: tuple[Part, ...], with_slate: bool, light: float) -> _Scene:
    if with_slate:
        parts = (*parts, Part(2, parts[1].colour, _HANDS), Part(2, WHITE, 0.025), Part(1, WHITE, 0.01))
    colours = np.array([part.colour for part in parts]) * light
    return _Scene(
        light,
        np.array([part.share for part in parts]),
        np.array([[float(part.band == band) for part in parts] for band in range(BANDS)]),
        np.array([float(part.cloth and part.band == BANDS - 1) for part in parts]),
        _spread(colours * (1 - _NEAR)),
        _spread(colours * (1 + _NEAR)),
    )


def _spread(colours: NDArray[np.float64]) -> NDArray[np.float64]:
    """For each colour its shares of the 4 × 4 × 4 bins: three shades, each spread a little."""
    shaded = colours[:, None, :] * _SHADES[None, :, None]
    below = 1 / (1 + np.exp(-1.702 * (_EDGES - shaded[..., None]) / _SPREAD))  # about a normal distribution
    inside = np.diff(below, axis=-1, prepend=0.0, append=1.0)
    red, green, blue = inside[:, :, 0, :], inside[:, :, 1, :], inside[:, :, 2, :]
    bins: NDArray[np.float64] = np.einsum("psr,psg,psb,s->prgb", red, green, blue, _SHADE_WEIGHTS)
    return bins.reshape(len(colours), -1)


def _worn(colours: dict[Colour, int], rng: np.random.Generator) -> Colour:
    shares = np.array(list(colours.values()), dtype=float)
    return list(colours)[int(rng.choice(len(shares), p=shares / shares.sum()))]


def distance(one: bytes, other: bytes) -> float:
    """Hellinger's."""
    a, b = (np.frombuffer(look, np.uint8).astype(float) ** 2 for look in (one, other))
    return float(np.sqrt(max(1 - np.sqrt(a / a.sum() * b / b.sum()).sum(), 0.0)))


def measured(uniform: bool = False, people: int = 200) -> str:
    """The percentiles of the docstring, for what is drawn here."""
    rng = np.random.default_rng(1)
    who = [parts_of(1, person, 0, uniform) for person in range(people)]
    frames = [[look(p, rng, with_slate=number == 0) for number in range(4)] for p in who]
    kinds = {
        "one person, frame to frame": [distance(f[1], f[2]) for f in frames],
        "one person, slate to portrait": [distance(f[0], f[1]) for f in frames],
        "different people, portraits": [
            distance(frames[a][1], frames[b][2]) for a in range(people) for b in range(0, people, 7) if a != b
        ],
        "one person in another outfit": [
            distance(f[1], look(parts_of(1, person, 1, uniform), rng)) for person, f in enumerate(frames)
        ],
    }
    return "\n".join(
        f"{kind:<30} "
        + " ".join(f"{v:.2f}".lstrip("0") for v in np.percentile(d, [1, 5, 25, 50, 75, 95, 99]))
        for kind, d in kinds.items()
    )


if __name__ == "__main__":
    print(measured())
    print("in uniform")
    print(measured(uniform=True))
