"""Drawing in a figure's own units, placed, turned and scaled onto a frame."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageChops, ImageDraw

from onsite.demo.light import soft_spot
from onsite.demo.look import Colour

Points = Sequence[tuple[float, float]] | NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Pencil:
    """Figure units to pixels: 1.0 is about head to waist; x = 0 is the middle of the figure, y goes down.

    Everything is turned by `tilt` (radians) around the point (0, `pivot`).
    """

    image: Image.Image
    left: float
    top: float
    unit: float
    tilt: float = 0.0
    pivot: float = 0.45

    def turned(self, tilt: float, dx: float, dy: float) -> Pencil:
        """The same with another tilt, moved by figure units."""
        return replace(self, tilt=tilt, left=self.left + dx * self.unit, top=self.top + dy * self.unit)

    def place(self, points: Points) -> NDArray[np.float64]:
        """Pixels of points in figure units: (n, 2)."""
        xy = np.asarray(points, float) - (0, self.pivot)
        c, s = math.cos(self.tilt), math.sin(self.tilt)
        xy = xy @ np.array([[c, s], [-s, c]]) + (0, self.pivot)
        return np.asarray(xy * self.unit + (self.left, self.top))

    def shape(self, points: Points, colour: Colour, smooth: bool = True) -> None:
        """A filled outline; smooth ones are rounded through their points."""
        outline = self.place(rounded(points) if smooth else points)
        ImageDraw.Draw(self.image).polygon([tuple(p) for p in outline], fill=colour)

    def line(self, points: Points, colour: Colour, width: float) -> None:
        """An open line of a width in figure units, with round joints."""
        pixels = [tuple(p) for p in self.place(points)]
        ImageDraw.Draw(self.image).line(
            pixels, fill=colour, width=max(1, round(width * self.unit)), joint="curve"
        )

    def dot(self, x: float, y: float, rx: float, ry: float, colour: Colour) -> None:
        """A filled ellipse; it does not turn, only its centre does."""
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
        """A soft spot of light or shade, if wanted only `within` a mask."""
        cx, cy = self.place([(x, y)])[0]
        w, h = max(1, round(rx * self.unit)), max(1, round(ry * self.unit))
        at = (round(cx) - w, round(cy) - h)
        spot = soft_spot((2 * w // 8 * 8, 2 * h // 8 * 8), strength)
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
    """A mirrored outline: the right half from top to bottom, then the left half from bottom to top."""
    return [*half, *((-x, y) for x, y in reversed(half) if x)]
