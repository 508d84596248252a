"""The backdrop of the invented set, the fall-off of its light, and the noise of a sensor. Cached by size."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from PIL import Image

from onsite.demo.look import Colour

TONES: tuple[Colour, ...] = ((132, 142, 154), (150, 140, 126), (128, 142, 132), (146, 136, 144))
"""A mottled cloth for every camera's set."""

NOISE_TILE = 512

NOISE = 2.6
"""Standard deviation of the noise in grey levels: a clean sensor at a low sensitivity."""


@lru_cache(maxsize=8)
def backdrop(size: tuple[int, int], tone: int) -> Image.Image:
    """A mottled cloth, lit from the middle. Copy it before drawing on it."""
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
    """White in the middle, a little darker in the corners and away from the key light: to multiply with."""
    width, height = size
    y, x = np.mgrid[-1 : 1 : height * 1j, -1 : 1 : width * 1j].astype(np.float32)
    fall = 1 - 0.11 * (x**2 + y**2) - 0.05 * np.clip(x, -1, 1) - 0.03 * y
    return Image.fromarray(np.clip(fall * 255, 0, 255).astype(np.uint8)).convert("RGB")


@lru_cache(maxsize=4)
def noise(size: tuple[int, int]) -> Image.Image:
    """Noise around 128, to be added less 128; from one tile, so that large frames stay cheap."""
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
    """A round mask that fades out towards its edge: `strength` (0 to 255) in the middle."""
    y, x = np.mgrid[-1:1:64j, -1:1:64j]
    fade = np.clip(1 - (x**2 + y**2), 0, 1) ** 1.5 * strength
    return Image.fromarray(fade.astype(np.uint8)).resize(size, Image.Resampling.BILINEAR)
