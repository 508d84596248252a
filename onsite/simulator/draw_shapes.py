"""Drawing in figure units, placed, turned and scaled onto a frame; backdrop, light fall-off and sensor noise.

Backdrops, vignettes and noise are cached by size.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageChops, ImageDraw

from onsite.simulator.invented_appearance import Colour

Points = Sequence[tuple[float, float]] | NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Pencil:
    """A pen that maps figure units to pixels, and what it draws on.

    1.0 is about head to waist; x = 0 is the middle of the figure, y goes down. Everything is turned by `tilt`
    (radians) around the point (0, `pivot`).
    """

    image: Image.Image
    left: float
    top: float
    unit: float
    tilt: float = 0.0
    pivot: float = 0.45

    def turned(self, tilt: float, dx: float, dy: float) -> Pencil:
        """The same pencil with another tilt, moved by `dx` and `dy` figure units."""
        return replace(self, tilt=tilt, left=self.left + dx * self.unit, top=self.top + dy * self.unit)

    def place(self, points: Points) -> NDArray[np.float64]:
        """The points, given in figure units, in pixels: (n, 2)."""
        xy = np.asarray(points, float) - (0, self.pivot)
        c, s = math.cos(self.tilt), math.sin(self.tilt)
        xy = xy @ np.array([[c, s], [-s, c]]) + (0, self.pivot)
        return np.asarray(xy * self.unit + (self.left, self.top))

    def shape(self, points: Points, colour: Colour, smooth: bool = True) -> None:
        """Draw a filled outline; a smooth outline is rounded through its points."""
        outline = self.place(rounded(points) if smooth else points)
        ImageDraw.Draw(self.image).polygon([tuple(p) for p in outline], fill=colour)

    def line(self, points: Points, colour: Colour, width: float) -> None:
        """Draw an open line with round joints, its width in figure units."""
        pixels = [tuple(p) for p in self.place(points)]
        ImageDraw.Draw(self.image).line(
            pixels, fill=colour, width=max(1, round(width * self.unit)), joint="curve"
        )

    def dot(self, x: float, y: float, rx: float, ry: float, colour: Colour) -> None:
        """Draw a filled ellipse; only its centre turns with the pencil."""
        (cx, cy), w, h = self.place([(x, y)])[0], rx * self.unit, ry * self.unit
        ImageDraw.Draw(self.image).ellipse((cx - w, cy - h, cx + w, cy + h), fill=colour)

    def mask(self, points: Points) -> Image.Image:
        """The inside of a rounded outline as a mask of the whole frame."""
        mask = Image.new("L", self.image.size)
        ImageDraw.Draw(mask).polygon([tuple(p) for p in self.place(rounded(points))], fill=255)
        return mask

    def glow(
        self,
        x: float,
        y: float,
        rx: float,
        ry: float,
        colour: Colour,
        strength: int,
        within: Image.Image | None = None,
    ) -> None:
        """Paint a soft spot of light or shade, restricted to the mask `within` where one is given."""
        cx, cy = self.place([(x, y)])[0]
        w, h = max(1, round(rx * self.unit)), max(1, round(ry * self.unit))
        at = (round(cx) - w, round(cy) - h)
        spot = soft_spot((max(2 * w // 8 * 8, 8), max(2 * h // 8 * 8, 8)), strength)
        if within is not None:
            spot = ImageChops.multiply(spot, within.crop((*at, at[0] + spot.width, at[1] + spot.height)))
        self.image.paste(colour, at, spot)


def rounded(points: Points, steps: int = 6) -> NDArray[np.float64]:
    """A closed Catmull-Rom curve through the points: (n * steps, 2)."""
    p1 = np.asarray(points, float)
    p0, p2, p3 = np.roll(p1, 1, 0), np.roll(p1, -1, 0), np.roll(p1, -2, 0)
    t = np.linspace(0, 1, steps, endpoint=False)[:, None, None]
    curve = (
        2 * p1 + (p2 - p0) * t + (2 * p0 - 5 * p1 + 4 * p2 - p3) * t**2 + (3 * p1 - p0 - 3 * p2 + p3) * t**3
    )
    return np.asarray(curve.transpose(1, 0, 2).reshape(-1, 2) / 2)


def both(half: Points) -> list[tuple[float, float]]:
    """A symmetric outline: the right half from top to bottom, then the left half from bottom to top."""
    return [*half, *((-x, y) for x, y in reversed(half) if x)]


TONES: tuple[Colour, ...] = ((132, 142, 154), (150, 140, 126), (128, 142, 132), (146, 136, 144))
"""The colour of the backdrop of each camera's set."""

NOISE_TILE = 512  # pixels on a side; laid out over a frame, it is not seen to repeat

NOISE = 2.6
"""Standard deviation of the noise in grey levels: a clean sensor at low sensitivity."""


@lru_cache(maxsize=8)
def backdrop(size: tuple[int, int], tone: int) -> Image.Image:
    """A mottled cloth, lit from the middle. The picture is cached: copy it before drawing on it."""
    width, height = size
    rng = np.random.default_rng(tone)
    mottle = np.zeros((height, width), np.float32)
    for cells, strength in ((4, 9.0), (11, 7.0), (31, 3.5)):
        grid = max(2, cells * height // 1200), max(2, cells * width // 1200)
        coarse = rng.normal(0, strength, grid).astype(np.float32)
        mottle += np.asarray(Image.fromarray(coarse).resize(size, Image.Resampling.BICUBIC))
    y, x = np.mgrid[-1 : 1 : height * 1j, -1 : 1 : width * 1j].astype(np.float32)
    lit = 22 * np.exp(-((x + 0.15) ** 2 + (y + 0.1) ** 2) * 1.6) - 8
    colour = np.array(TONES[tone % len(TONES)], np.float32)
    return Image.fromarray(np.clip(colour + (mottle + lit)[..., None], 0, 255).astype(np.uint8))


@lru_cache(maxsize=8)
def vignette(size: tuple[int, int]) -> Image.Image:
    """The light fall-off, to multiply a frame with: white in the middle, darker in the corners."""
    width, height = size
    y, x = np.mgrid[-1 : 1 : height * 1j, -1 : 1 : width * 1j].astype(np.float32)
    fall = 1 - 0.11 * (x**2 + y**2) - 0.05 * np.clip(x, -1, 1) - 0.03 * y
    return Image.fromarray(np.clip(fall * 255, 0, 255).astype(np.uint8)).convert("RGB")


@lru_cache(maxsize=4)
def noise(size: tuple[int, int]) -> Image.Image:
    """Noise around 128: add it and subtract 128. Repeats one tile, so that large frames stay cheap."""
    grain = np.random.default_rng(0).normal(128, NOISE, (NOISE_TILE, NOISE_TILE, 1))
    colour = np.random.default_rng(1).normal(0, NOISE / 2, (NOISE_TILE, NOISE_TILE, 3))
    tile = Image.fromarray(np.clip(grain + colour, 0, 255).astype(np.uint8))
    whole = Image.new("RGB", size)
    for left in range(0, size[0], NOISE_TILE):
        for top in range(0, size[1], NOISE_TILE):
            whole.paste(tile, (left, top))
    return whole


@lru_cache(maxsize=64)
def soft_spot(size: tuple[int, int], strength: int) -> Image.Image:
    """A round mask that fades out towards its edge, `strength` (0 to 255) in the middle."""
    y, x = np.mgrid[-1:1:64j, -1:1:64j]
    fade = np.clip(1 - (x**2 + y**2), 0, 1) ** 1.5 * strength
    return Image.fromarray(fade.astype(np.uint8)).resize(size, Image.Resampling.BILINEAR)
