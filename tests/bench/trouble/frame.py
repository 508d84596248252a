"""A frame of somebody who holds a card, in grey, as a camera would give it."""

from __future__ import annotations

import random
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter

from tests.bench.trouble.kinds import Blob, Line, Trouble
from tests.bench.trouble.paper import FACE, PIXELS, Seen, see

SIZE = (3000, 2000)
"""6 megapixels."""

PAPER, INK, SKIN = 0.85, 0.04, 0.35
"""Reflectances: of white office paper, printed black and a hand (common practice, no source)."""

_FINE = 3
_LIGHT = np.array([-0.42, -0.45, -0.79])  # from the card to the key light, up and to the left

Floats = NDArray[np.floating]


def frame(face: Image.Image, trouble: Trouble, seed: int) -> Image.Image:
    """The 8-bit picture of a card, whose `face` is a grey picture of 3:2, black ink on white."""
    rng = np.random.default_rng(seed)
    light = scene(seed % 8) * np.float32(trouble.light / 0.6)
    seen = see(trouble.held, SIZE, fine=_FINE)
    patch, cover = _card(face, trouble, seen)
    left, top = seen.corner
    part = light[top : top + patch.shape[0], left : left + patch.shape[1]]
    part[:] = _lens(part * (1 - cover) + patch * cover, trouble)
    return Image.fromarray(_sensor(light, trouble, rng))


def sitter(trouble: Trouble, seed: int) -> Image.Image:
    """The 8-bit picture of a sitter without a card, in the same light."""
    light = scene(seed % 8) * np.float32(trouble.light / 0.6)
    return Image.fromarray(_sensor(light, trouble, np.random.default_rng(seed)))


@lru_cache(maxsize=8)
def _scene(seed: int) -> Floats:
    rng = random.Random(seed)
    width, height = SIZE
    y, x = np.mgrid[0:height, 0:width]
    backdrop = 0.16 + 0.08 * np.exp(-(((x - width / 2) / 1400) ** 2 + ((y - 700) / 1200) ** 2))
    cloth = (0.05, 0.1, 0.3, 0.55)[seed % 4] * np.ones_like(backdrop)
    pattern = seed // 2 % 4
    if pattern == 1:
        cloth = cloth * np.where(np.sin(x / rng.uniform(9, 30)) > 0, 1.0, 0.4)
    elif pattern == 2:
        cloth = cloth * np.where(np.sin(x / 14) * np.sin(y / 14) > 0, 1.0, 0.5)
    elif pattern == 3:
        cloth = cloth * (1 + 0.2 * np.sin((x + 2 * y) / 40))
    mask = Image.new("L", SIZE)
    draw = ImageDraw.Draw(mask)
    draw.ellipse((900, 780, 2100, 3200), fill=255)
    head = Image.new("L", SIZE)
    ImageDraw.Draw(head).ellipse((1310, 180, 1690, 720), fill=255)
    soft = ImageFilter.GaussianBlur(4)
    body, face = (np.asarray(image.filter(soft), np.float64) / 255 for image in (mask, head))
    light = backdrop * (1 - body) + cloth * body
    return np.asarray(light * (1 - face) + SKIN * face, np.float32)


def scene(seed: int) -> Floats:
    """Linear light of a sitter before a backdrop, without a card; eight of them, by `seed`."""
    return _scene(seed).copy()


def _card(face: Image.Image, trouble: Trouble, seen: Seen) -> tuple[Floats, Floats]:
    """The light that comes from the card to each pixel of the window, and the share of it that is card."""
    ink = _looked_up(face, seen, trouble)
    for line in trouble.worn:
        ink *= 1 - 0.85 * _along(line, seen, softness=0.4)
    reflected = PAPER * (1 - ink) + INK * ink
    shading = np.clip(seen.normal @ _LIGHT, 0.0, None) / 0.79
    light = reflected * (0.35 + 0.65 * shading)
    if trouble.grid:
        light *= _grid(seen, trouble.grid, trouble.gap)
    if trouble.shadow:
        light *= 1 - (1 - trouble.shade) * _beyond(trouble.shadow, seen)
    for blob in trouble.glare:
        light = light + 3.0 * _inside(blob, seen)
    cover = seen.on_card.astype(np.float64)
    for blob in trouble.fingers:
        finger = _inside(blob, seen)
        light = light * (1 - finger) + SKIN * 0.8 * finger
        cover = np.maximum(cover, finger)
    scale = trouble.light
    return _reduced(light * scale, cover)


def _looked_up(face: Image.Image, seen: Seen, trouble: Trouble) -> Floats:
    """Ink, 0 to 1, at every sample: the face reduced first to about the samples' spacing."""
    per_mm = _FINE * PIXELS / trouble.held.farther * 1.3
    width = max(min(round(FACE[0] * per_mm), face.width), 40)
    small = face.convert("L").resize((width, round(width * FACE[1] / FACE[0])), Image.Resampling.BOX)
    ink = 1 - np.asarray(small, np.float64) / 255
    u = np.clip((seen.x / FACE[0] + 0.5) * ink.shape[1] - 0.5, 0, ink.shape[1] - 1.001)
    v = np.clip((seen.y / FACE[1] + 0.5) * ink.shape[0] - 0.5, 0, ink.shape[0] - 1.001)
    left, top = u.astype(int), v.astype(int)
    right, below = u - left, v - top
    upper = ink[top, left] * (1 - right) + ink[top, left + 1] * right
    lower = ink[top + 1, left] * (1 - right) + ink[top + 1, left + 1] * right
    return np.asarray(upper * (1 - below) + lower * below)


def _reduced(light: Floats, cover: Floats) -> tuple[Floats, Floats]:
    height, width = (length // _FINE for length in light.shape)

    def mean(values: Floats) -> Floats:
        return np.asarray(values.reshape(height, _FINE, width, _FINE).mean(axis=(1, 3)))

    share = mean(cover)
    return mean(light * cover) / np.maximum(share, 1e-6), share


def _distance(line: Line, seen: Seen) -> Floats:
    angle = np.radians(line.angle)
    return np.asarray(seen.x * np.cos(angle) + seen.y * np.sin(angle) - line.offset)


def _beyond(line: Line, seen: Seen) -> Floats:
    return np.asarray(np.clip(_distance(line, seen) / line.width + 0.5, 0, 1))


def _along(line: Line, seen: Seen, softness: float) -> Floats:
    return np.asarray(np.clip((line.width / 2 - np.abs(_distance(line, seen))) / softness + 0.5, 0, 1))


def _inside(blob: Blob, seen: Seen) -> Floats:
    angle = np.radians(blob.turned)
    x, y = seen.x - blob.x, seen.y - blob.y
    along, across = x * np.cos(angle) + y * np.sin(angle), y * np.cos(angle) - x * np.sin(angle)
    beyond = (np.hypot(along / blob.wide, across / blob.high) - 1) * min(blob.wide, blob.high)
    return np.asarray(np.clip(0.5 - beyond / blob.soft, 0, 1))


def _grid(seen: Seen, pitch: float, gap: float) -> Floats:
    """A screen's pixels: dark gaps between them, whose beat with the sensor's pixels is the moiré."""
    wave = (1 - np.cos(2 * np.pi * seen.x / pitch)) * (1 - np.cos(2 * np.pi * seen.y / pitch)) / 4
    return np.asarray(1 - gap + gap * np.minimum(2.2 * wave, 1.0))


def _lens(light: Floats, trouble: Trouble) -> Floats:
    """Defocus as a disc and shake as a line, both as the light falls: before anything clips."""
    height, width = light.shape
    reach = int(max(trouble.blur, trouble.shake / 2)) + 2
    padded = np.pad(light, reach, mode="edge")
    fine = 4
    side = 2 * reach + 1
    y, x = (np.mgrid[0 : side * fine, 0 : side * fine] + 0.5) / fine - side / 2
    spread = (np.hypot(x, y) <= max(trouble.blur, 0.6)).astype(np.float64)
    kernel = spread.reshape(side, fine, side, fine).mean(axis=(1, 3))
    spectrum = np.fft.rfft2(padded) * np.fft.rfft2(_centred(kernel, padded.shape))
    if trouble.shake:
        angle = np.radians(trouble.shake_angle)
        along, across = x * np.cos(angle) + y * np.sin(angle), y * np.cos(angle) - x * np.sin(angle)
        line = ((np.abs(along) <= trouble.shake / 2) & (np.abs(across) <= 0.5)).astype(np.float64)
        kernel = line.reshape(side, fine, side, fine).mean(axis=(1, 3))
        spectrum *= np.fft.rfft2(_centred(kernel, padded.shape))
    blurred = np.fft.irfft2(spectrum, padded.shape)
    return np.asarray(blurred[reach : reach + height, reach : reach + width])


def _centred(kernel: Floats, shape: tuple[int, ...]) -> Floats:
    whole = np.zeros(shape)
    side = kernel.shape[0]
    whole[:side, :side] = kernel / kernel.sum()
    return np.roll(whole, (-(side // 2), -(side // 2)), axis=(0, 1))


def _sensor(light: Floats, trouble: Trouble, rng: np.random.Generator) -> NDArray[np.uint8]:
    """Exposure, photon and read-out noise, clipping, and sRGB's curve (IEC 61966-2-1) in 8 bits."""
    exposed = light * np.float32(2.0**trouble.stops)
    np.maximum(exposed, 0, out=exposed)
    noise = np.roll(_grain(int(rng.integers(4))), int(rng.integers(light.size)))
    exposed += noise * (np.float32(trouble.noise) * np.sqrt(exposed) + np.float32(0.0004))
    return np.asarray(_srgb()[(np.clip(exposed, 0, 1) * 65535).astype(np.uint16)], np.uint8)


@lru_cache(maxsize=4)
def _grain(seed: int) -> Floats:
    return np.random.default_rng(seed).standard_normal((SIZE[1], SIZE[0]), np.float32)


@lru_cache(maxsize=1)
def _srgb() -> NDArray[np.uint8]:
    light = np.arange(65536) / 65535
    coded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.round(coded * 255).astype(np.uint8)
