"""A second camera, which nothing was tuned on: colour, a mosaic of sensels, a raw developer and JPEG.

It shares with `frame` the geometry of the held card alone (`paper`). Out of focus is a disc with a soft
edge, and shake a path along a curve at changing speed. Light falls through a Bayer mosaic with photon and
read-out noise; it is demosaiced, white balanced, given a tone curve, sharpened, and saved as JPEG at 4:2:0.
The frame is the part around the card of one of 6 megapixels from head to waist.
"""

from __future__ import annotations

import io
import random
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from tests.bench.trouble.paper import FACE, PIXELS, Bend, Held, see

SIZE = (960, 640)
STRENGTHS = (1, 2, 3, 4, 5)
KINDS = (
    "far",
    "defocus",
    "motion",
    "both",
    "tilt",
    "dark",
    "glare",
    "thumb",
    "curl",
    "shadow",
    "crease",
    "close",
)
_FINE = 2
_TINT = np.array([0.55, 1.0, 0.7], np.float32)  # what a sensor makes of white daylight (from memory)

Floats = NDArray[np.floating]


@dataclass(frozen=True)
class Taken:
    """How a frame is taken: lengths in pixels of the frame; `light` is 1 where white is just not clipped."""

    held: Held
    disc: float = 0.6
    """Radius of the disc of confusion."""
    path: float = 0.0
    """Length of the path of the shake."""
    light: float = 0.7
    glare: float = 0.0
    """Radius in mm."""
    thumb: float = 0.0
    """How far in mm a thumb reaches over the card."""
    shade: float = 1.0
    """Light that is left under a shadow over about half of the card."""
    worn: tuple[tuple[float, float], ...] = field(default=())
    """Cracks in the ink: offset from the middle and width, in mm, along the folds."""


def taken(kind: str, strength: int, seed: int) -> tuple[Taken, random.Random]:
    """How one frame is taken, and the generator for everything else about it."""
    rng = random.Random(f"camera/{kind}/{strength}/{seed}")
    step = strength - 1
    held = Held(
        rng.uniform(-15, 15), rng.uniform(-15, 15), rng.gauss(0, 10), rng.uniform(0.95, 1.3), (0.5, 0.5)
    )
    usual = Taken(held, disc=rng.uniform(0.5, 1.2), light=rng.uniform(0.35, 0.8))
    disc, path = (2.0, 4.0, 6.0, 8.0, 10.0)[step], (6, 10, 15, 21, 28)[step]
    sign = rng.choice((-1, 1))
    if kind == "far":
        return replace(usual, held=replace(held, farther=(1.5, 2.0, 2.6, 3.2, 3.8)[step])), rng
    if kind == "close":
        return replace(usual, held=replace(held, farther=0.55), disc=2 * disc), rng
    if kind in ("defocus", "both"):
        usual = replace(usual, disc=disc * rng.uniform(0.9, 1.1) * (0.8 if kind == "both" else 1))
    if kind in ("motion", "both"):
        usual = replace(usual, path=path * rng.uniform(0.9, 1.1) * (0.7 if kind == "both" else 1))
    if kind in ("dark", "both"):
        usual = replace(usual, light=(0.25, 0.15, 0.09, 0.05, 0.03)[step])
    if kind == "tilt":
        usual = replace(usual, held=replace(held, turn=sign * (25, 38, 48, 56, 62)[step]))
    if kind == "glare":
        usual = replace(usual, glare=(8, 12, 16, 21, 26)[step] * rng.uniform(0.9, 1.1))
    if kind == "thumb":
        usual = replace(usual, thumb=(15, 22, 29, 36, 43)[step])
    if kind == "shadow":
        usual = replace(usual, shade=(0.35, 0.2, 0.12, 0.07, 0.04)[step])
    if kind == "curl":
        half = sign * np.radians((40, 65, 90, 115, 140)[step]) / 2
        bend = Bend(rng.uniform(-40, 40), (-FACE[0] / 2, FACE[0] / 2), (-half, half * rng.uniform(0.6, 1)))
        usual = replace(usual, held=replace(held, bend=bend))
    if kind == "crease":
        kink, offset = sign * np.radians((15, 25, 35, 45, 55)[step]) / 2, rng.uniform(-35, 35)
        bend = Bend(rng.uniform(0, 180), (-200, offset - 2, offset + 2, 200), (-kink, -kink, kink, kink))
        worn = ((offset, 0.5 + 0.4 * step), (rng.uniform(-40, 40), 0.3 + 0.4 * step))
        usual = replace(usual, held=replace(held, bend=bend), worn=worn)
    return usual, rng


def photograph(face: Image.Image | None, how: Taken, rng: random.Random) -> Image.Image:
    """Return the grey picture that a card's `face`, or no card, leaves in the JPEG."""
    chance = np.random.default_rng(rng.getrandbits(32))
    light = _sitter(rng, chance)
    if face is not None:
        ink, cover, corner = _card(face, how, rng)
        rows, columns = slice(corner[1], corner[1] + len(ink)), slice(corner[0], corner[0] + ink.shape[1])
        light[rows, columns] = (
            light[rows, columns] * (1 - cover[..., None]) + ink[..., None] * cover[..., None]
        )
    light = _spread(light, _kernel(how, rng)) * np.float32(how.light)
    developed = _demosaiced(_mosaic(light, how.light, chance)) / _TINT
    coded = np.clip(developed / max(how.light / 0.7, 1.0), 0, 1) ** np.float32(1 / rng.uniform(2.0, 2.4))
    picture = Image.fromarray((coded * 255 + 0.5).astype(np.uint8))
    picture = picture.filter(ImageFilter.UnsharpMask(rng.uniform(0.8, 1.6), rng.randint(40, 150), 2))
    stream = io.BytesIO()
    picture.save(stream, "JPEG", quality=rng.randint(72, 93), subsampling="4:2:0")
    return Image.open(stream).convert("L")


def _sitter(rng: random.Random, chance: np.random.Generator) -> Floats:
    """Linear light of cloth: smooth folds, a weave and a print of random blots, in some colour."""
    width, height = SIZE

    def blots(cells: int) -> Floats:
        coarse = Image.fromarray(chance.random((max(cells * 2 // 3, 2), cells), np.float32))
        return np.asarray(coarse.resize(SIZE, Image.Resampling.BICUBIC))

    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    turn, pitch = rng.uniform(0, np.pi), rng.uniform(3, 40)
    weave = np.sin(
        (x * np.float32(np.cos(turn)) + y * np.float32(np.sin(turn))) * np.float32(2 * np.pi / pitch)
    )
    grey = rng.uniform(0.05, 0.5) * (0.6 + 0.8 * blots(6)) * (1 + rng.choice((0, 0.1, 0.5)) * weave)
    if rng.random() < 0.5:
        grey = np.where(blots(rng.randint(15, 90)) > 0.6, rng.uniform(0.03, 0.7), grey)
    colour = np.array([rng.uniform(0.6, 1), rng.uniform(0.6, 1), rng.uniform(0.6, 1)], np.float32)
    return np.asarray(grey[..., None] * colour, np.float32)


def _card(face: Image.Image, how: Taken, rng: random.Random) -> tuple[Floats, Floats, tuple[int, int]]:
    """Return light and cover of the card's window, and the window's corner."""
    seen = see(how.held, SIZE, fine=_FINE)
    per_mm = _FINE * PIXELS / how.held.farther
    width = max(min(round(FACE[0] * per_mm), face.width), 40)
    small = face.convert("L").resize((width, width * 2 // 3), Image.Resampling.BOX)
    u = np.clip((seen.x / FACE[0] + 0.5) * small.width, 0, small.width - 1).astype(int)
    v = np.clip((seen.y / FACE[1] + 0.5) * small.height, 0, small.height - 1).astype(int)
    ink = 1 - np.asarray(small, np.float32)[v, u] / 255
    angle = np.radians(how.held.bend.angle)
    for offset, wide in how.worn:
        ink = ink * (np.abs(seen.x * np.cos(angle) + seen.y * np.sin(angle) - offset) > wide / 2)
    light = (0.9 - 0.85 * ink) * np.clip(0.3 - 0.7 * seen.normal[..., 2] + 0.2 * seen.normal[..., 0], 0, None)
    turn = rng.uniform(0, 2 * np.pi)
    beyond = seen.x * np.cos(turn) + seen.y * np.sin(turn) - rng.uniform(-15, 15)
    light = light * np.where(beyond > 0, how.shade, 1)
    if how.glare:
        off = np.hypot(seen.x - rng.gauss(0, 20), (seen.y - rng.gauss(0, 15)) * rng.uniform(0.6, 1.6))
        light = light + 2.5 / (1 + np.exp((off - how.glare) / 1.5))
    cover = seen.on_card.astype(np.float32)
    if how.thumb:
        side, row = rng.choice((-1, 1)), rng.uniform(-35, 15)
        inner = side * (FACE[0] / 2 - how.thumb + 9)
        past = np.maximum(side * (inner - seen.x), 0)
        finger = np.hypot(past, seen.y - row) < 9
        light, cover = np.where(finger, 0.3, light), np.maximum(cover, finger)
    height, width = (length // _FINE for length in light.shape)
    light, cover = (
        each[: height * _FINE, : width * _FINE].reshape(height, _FINE, width, _FINE).mean(axis=(1, 3))
        for each in (light * cover, cover)
    )
    return light / np.maximum(cover, 1e-6), cover, seen.corner


def _kernel(how: Taken, rng: random.Random) -> Floats:
    """Return the point spread: a disc with a soft edge, drawn along a curved path at changing speed."""
    reach = int(how.disc * 1.6 + how.path / 2) + 3
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1].astype(np.float64)
    turn, bow, haste = rng.uniform(0, 2 * np.pi), rng.uniform(-0.5, 0.5), rng.uniform(0.6, 1.7)
    spread = np.zeros_like(x)
    for time in np.linspace(0, 1, 1 if how.path == 0 else 25):
        along = (time**haste - 0.5) * how.path if how.path else 0.0
        across = bow * how.path * (4 * (along / how.path) ** 2 - 0.5) if how.path else 0.0
        left = along * np.cos(turn) - across * np.sin(turn)
        down = along * np.sin(turn) + across * np.cos(turn)
        off = np.hypot(x - left, y - down)
        spread += 1 / (1 + np.exp(np.minimum((off - how.disc) / (0.12 * how.disc + 0.15), 50)))
    return spread / spread.sum()


def _spread(light: Floats, kernel: Floats) -> Floats:
    """Convolve each colour by the kernel."""
    reach = len(kernel) // 2
    sides = [(reach, reach + -(length + 2 * reach) % 32) for length in light.shape[:2]]  # quick to transform
    padded = np.pad(light, (*sides, (0, 0)), mode="edge")
    whole = np.zeros(padded.shape[:2], np.float32)
    whole[: len(kernel), : len(kernel)] = kernel
    whole = np.roll(whole, (-reach, -reach), (0, 1))
    spectrum = np.fft.rfft2(padded, axes=(0, 1)) * np.fft.rfft2(whole)[..., None]
    soft = np.fft.irfft2(spectrum, padded.shape[:2], axes=(0, 1))
    return np.asarray(
        np.maximum(soft[reach : reach + len(light), reach : reach + light.shape[1]], 0), np.float32
    )


def _mosaic(light: Floats, exposure: float, chance: np.random.Generator) -> Floats:
    """Return what each sensel of a Bayer mosaic counts, as a share of its full well at the chosen gain."""
    tinted = light * _TINT
    sensels = tinted[..., 1].copy()
    sensels[::2, ::2], sensels[1::2, 1::2] = tinted[::2, ::2, 0], tinted[1::2, 1::2, 2]
    electrons = 4000.0 * max(exposure, 0.02) ** 0.5  # darker frames at a higher gain, as automatic ISO does
    counted = chance.poisson(np.minimum(sensels, 4) * electrons) + chance.normal(0, 4, sensels.shape)
    return np.asarray(np.round(np.clip(counted / electrons, 0, 1) * 4095) / 4095, np.float32)


def _demosaiced(sensels: Floats) -> Floats:
    """Interpolate each colour bilinearly from the sensels that have it: (height, width, 3)."""
    height, width = sensels.shape
    colours = np.zeros((height, width, 3), np.float32)
    rows, columns = np.mgrid[:height, :width] % 2
    for colour, has in enumerate(((rows + columns == 0), (rows != columns), (rows + columns == 2))):
        both = np.stack([sensels * has, has.astype(np.float32)])
        for axis in (1, 2):
            both = (np.roll(both, 1, axis) + 2 * both + np.roll(both, -1, axis)) / 4
        colours[..., colour] = both[0] / both[1]
    return colours
