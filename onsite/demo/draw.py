"""An exposure of the invented day as a picture, and as a file such as a camera writes.

image = picture(exposure, day.seed)
save(exposure, image, folder / exposure.name)
"""

from __future__ import annotations

import random
from pathlib import Path

from PIL import Image, ImageChops, ImageFilter

from onsite.demo.clothes import lanyard
from onsite.demo.exif import tags
from onsite.demo.exposure import SimulatedExposure
from onsite.demo.figure import person, pose
from onsite.demo.held import badge, grey_card, hold
from onsite.demo.light import NOISE_TILE, backdrop, noise, vignette
from onsite.demo.look import Appearance, appearance_of
from onsite.demo.pencil import Pencil

SIZE = (1800, 1200)
"""Stored width and height of a frame; always 3:2."""

LARGE = (6000, 4000)
"""24 megapixels: drawn at `SIZE` and enlarged, with noise of its own."""

ROTATED = {6: Image.Transpose.ROTATE_90, 8: Image.Transpose.ROTATE_270}
"""How an upright picture is turned to be stored, by EXIF orientation (CIPA DC-008, Orientation)."""

SOFT = ImageFilter.Kernel((3, 3), (1, 2, 1, 2, 5, 2, 1, 2, 1))


def picture(exposure: SimulatedExposure, seed: int, size: tuple[int, int] = SIZE) -> Image.Image:
    """The frame with everything chosen by the day's seed: the same every time."""
    look = None if exposure.person is None else appearance_of(exposure.person, exposure.outfit, seed)
    return draw(
        exposure, look, size, random.Random(f"frame/{seed}/{exposure.camera.label}/{exposure.number}")
    )


def draw(
    exposure: SimulatedExposure, look: Appearance | None, size: tuple[int, int], rng: random.Random
) -> Image.Image:
    """The frame as stored, RGB, of `size` (width, height; landscape): `orientation` says how to turn it.

    `look` is None for an empty backdrop. Pose and framing come from `rng`.
    """
    width, height = size if size[1] <= SIZE[1] else SIZE
    turned = exposure.orientation in ROTATED
    upright = (height, width) if turned else (width, height)
    scene = backdrop(upright, sum(map(ord, exposure.camera.label))).copy()
    unit = (1.28 * upright[0] if turned else upright[1]) * rng.uniform(0.97, 1.03)
    left = upright[0] * (0.5 + rng.uniform(-0.02, 0.02))
    pencil = Pencil(
        scene, left, upright[1] * (0.08 if turned else 0.0) + rng.uniform(-0.01, 0.01) * unit, unit
    )
    if look is not None:
        _person(pencil, exposure, look, rng)
    elif exposure.grey_card:
        grey_card(pencil)
    scene = ImageChops.multiply(scene.filter(SOFT), vignette(upright))
    if turned:
        scene = scene.transpose(ROTATED[exposure.orientation])
    if scene.size != size:
        scene = scene.resize(size, Image.Resampling.BICUBIC)
    return _grainy(scene, rng)


def _person(pencil: Pencil, exposure: SimulatedExposure, look: Appearance, rng: random.Random) -> None:
    how = pose(rng)
    person(pencil, look, how)
    body = pencil.turned(how.lean, 0, 0)
    if exposure.badge:
        lanyard(body, 0.63)
        badge(body, exposure.badge, rng)
    if exposure.slate:
        hold(body, exposure.slate, look.skin, look.cloth, rng)


def _grainy(scene: Image.Image, rng: random.Random) -> Image.Image:
    x, y = rng.randrange(NOISE_TILE), rng.randrange(NOISE_TILE)
    whole = noise((scene.width + NOISE_TILE, scene.height + NOISE_TILE))
    return ImageChops.add(scene, whole.crop((x, y, x + scene.width, y + scene.height)), 1, -128)


def save(exposure: SimulatedExposure, image: Image.Image, path: Path, quality: int = 88) -> None:
    """Writes the JPEG with the tags that the camera gives it."""
    image.save(path, "JPEG", quality=quality, exif=tags(exposure))
