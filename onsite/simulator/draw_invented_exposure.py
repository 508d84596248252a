"""Draws an invented exposure: the person, the scene, and the JPEG file with its EXIF tags.

image = picture(exposure, day.seed)
save(exposure, image, folder / exposure.name)
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np
from PIL import ExifTags, Image, ImageChops, ImageFilter
from PIL.TiffImagePlugin import IFDRational

from onsite.simulator.draw_clothes import dress, hair_behind, hair_in_front, lanyard, scarf
from onsite.simulator.draw_photographed_slate import badge, grey_card, hold, stand
from onsite.simulator.draw_props import draw_prop
from onsite.simulator.draw_shapes import NOISE_TILE, Pencil, backdrop, both, noise, vignette
from onsite.simulator.invented_appearance import (
    Appearance,
    Hair,
    appearance_of,
    darker,
    lighter,
    mix_colours,
    without_jacket,
)
from onsite.simulator.invented_exposure import FrameConditions, SimulatedExposure

SIZE = (1800, 1200)
"""Stored width and height of a frame in pixels; always 3:2."""

ROTATED = {6: Image.Transpose.ROTATE_90, 8: Image.Transpose.ROTATE_270}
"""The turn from an upright picture to the stored one, by EXIF orientation (CIPA DC-008, Orientation)."""

SOFT = ImageFilter.Kernel((3, 3), (1, 2, 1, 2, 5, 2, 1, 2, 1))


def picture(exposure: SimulatedExposure, seed: int, size: tuple[int, int] = SIZE) -> Image.Image:
    """The frame as stored; all random choices come from the day's seed, so it is the same every time."""
    rng = random.Random(f"frame/{seed}/{exposure.camera.label}/{exposure.number}")
    passer_by = exposure.conditions.passer_by
    behind = None if passer_by is None else appearance_of(passer_by, 0, seed)
    if exposure.person is None:
        return draw(exposure, None, size, rng, behind)
    look = appearance_of(exposure.person, exposure.outfit, seed, exposure.dressed_as)
    if exposure.conditions.without_jacket:
        look = without_jacket(look)
    return draw(exposure, look, size, rng, behind)


def draw(
    exposure: SimulatedExposure,
    look: Appearance | None,
    size: tuple[int, int],
    rng: random.Random,
    behind: Appearance | None = None,
) -> Image.Image:
    """The frame as stored, in RGB, of `size` (width, height; landscape).

    `exposure.orientation` says how to turn it. `look` is None for an empty backdrop, `behind` somebody who
    passes. Pose comes from `rng`, and framing as far as `exposure.conditions` do not say it.
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
    if behind is not None:
        person(pencil.turned(0.0, exposure.conditions.passes_at, 0.06), behind, pose(rng))
    pencil = _zoomed(pencil, exposure.conditions.zoom)
    if look is not None:
        _person(pencil, exposure, look, rng)
    elif exposure.slate is not None:
        stand(pencil, exposure.slate, rng)
    elif exposure.grey_card:
        grey_card(pencil)
    scene = ImageChops.multiply(scene.filter(SOFT), vignette(upright))
    scene = _lit(scene, exposure.conditions)
    if turned:
        scene = scene.transpose(ROTATED[exposure.orientation])
    if scene.size != size:
        scene = scene.resize(size, Image.Resampling.BICUBIC)
    return _grainy(scene, rng)


_CROWN = 0.14
"""Where the top of the head is, in figure units: it stays in the frame however close the framing."""


def _zoomed(pencil: Pencil, zoom: float) -> Pencil:
    """The pencil for a figure `zoom` times as large, its head where it was."""
    if zoom == 1.0:
        return pencil
    top = pencil.top + _CROWN * pencil.unit * (1.0 - 0.6 * (zoom - 1.0))
    return replace(pencil, unit=pencil.unit * zoom, top=top - _CROWN * pencil.unit * zoom)


def _lit(scene: Image.Image, conditions: FrameConditions) -> Image.Image:
    """The scene in other light and white balance, both in linear light (IEC 61966-2-1)."""
    stops = [conditions.stops + channel for channel in (conditions.red, 0.0, conditions.blue)]
    if not any(stops):
        return scene
    return scene.point([level for by in stops for level in _levels(round(by, 3))])


@lru_cache(maxsize=256)
def _levels(stops: float) -> list[int]:
    """The levels 0 to 255 of sRGB with so many stops more light."""
    coded = np.arange(256) / 255
    light = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4) * 2.0**stops
    again = np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)
    levels: list[int] = np.clip(np.round(again * 255), 0, 255).astype(int).tolist()
    return levels


def _person(pencil: Pencil, exposure: SimulatedExposure, look: Appearance, rng: random.Random) -> None:
    how = pose(rng)
    person(pencil, look, how)
    body = pencil.turned(how.lean, 0, 0)
    if exposure.badge:
        lanyard(body, 0.63)
        badge(body, exposure.badge, rng)
    if exposure.slate:
        hold(body, exposure.slate, look.skin, look.cloth, rng)
    elif exposure.conditions.prop is not None:
        draw_prop(body, exposure.conditions.prop, look)


def _grainy(scene: Image.Image, rng: random.Random) -> Image.Image:
    x, y = rng.randrange(NOISE_TILE), rng.randrange(NOISE_TILE)
    whole = noise((scene.width + NOISE_TILE, scene.height + NOISE_TILE))
    return ImageChops.add(scene, whole.crop((x, y, x + scene.width, y + scene.height)), 1, -128)


def save(exposure: SimulatedExposure, image: Image.Image, path: Path, quality: int = 88) -> None:
    """Write the JPEG with the EXIF tags of its camera."""
    image.save(path, "JPEG", quality=quality, exif=tags(exposure))


@dataclass(frozen=True, slots=True)
class Pose:
    """A person's pose in one frame: lean, head tilt and turn, smile, blink."""

    lean: float
    tilt: float
    turn: float
    smile: float
    blink: bool


def pose(rng: random.Random) -> Pose:
    """A random pose, similar in every frame and never the same."""
    return Pose(
        lean=rng.uniform(-0.02, 0.02),
        tilt=rng.uniform(-0.07, 0.07),
        turn=rng.uniform(-0.012, 0.012),
        smile=rng.uniform(0.0, 1.0),
        blink=rng.random() < 0.04,
    )


def person(pencil: Pencil, look: Appearance, how: Pose) -> None:
    """Draw the person: hair at the back, body, head, hair in front."""
    body = pencil.turned(how.lean, 0, 0)
    head = pencil.turned(how.lean + how.tilt, how.turn * 0.5, 0)
    hair_behind(head, look)
    body.shape(both([(0.048, 0.38), (0.05, 0.45), (0.075, 0.5), (0, 0.6)]), darker(look.skin, 0.12))
    body.glow(
        0.01, 0.44, 0.075, 0.06, darker(look.skin, 0.55), 150, body.mask(both([(0.05, 0.39), (0.055, 0.49)]))
    )
    dress(body, look)
    if look.worn is Hair.SCARF:
        scarf(head, look)
    _head(head, look, how)
    hair_in_front(head, look)
    if look.glasses:
        _glasses(head, look, how)


def _outline(look: Appearance) -> list[tuple[float, float]]:
    f = look.face
    return both(
        [
            (0, 0.168),
            (0.055 * f, 0.178),
            (0.086 * f, 0.225),
            (0.09 * f, 0.295),
            (0.083 * f, 0.355),
            (0.06 * f, 0.405),
            (0.026, 0.428),
            (0, 0.431),
        ]
    )


def _head(head: Pencil, look: Appearance, how: Pose) -> None:
    skin, f = look.skin, look.face
    if look.worn not in (Hair.LONG, Hair.BOB, Hair.SCARF):
        for side in (-1, 1):
            head.dot(side * 0.091 * f, 0.315, 0.013, 0.027, darker(skin, 0.12))
    head.shape(_outline(look), skin)
    inside = head.mask(_outline(look))
    head.glow(0.11, 0.31, 0.085, 0.2, darker(skin, 0.6), 120, inside)
    head.glow(-0.045, 0.25, 0.075, 0.08, lighter(skin, 0.5), 80, inside)
    head.glow(0, 0.44, 0.1, 0.05, darker(skin, 0.5), 90, inside)
    blush = mix_colours(skin, (196, 92, 84), 0.5)
    for side in (-1, 1):
        head.glow(side * 0.048 + how.turn, 0.35, 0.032, 0.024, blush, 70, inside)
    if look.beard:
        _beard(head, look, inside)
    _features(head, look, how)


def _features(head: Pencil, look: Appearance, how: Pose) -> None:
    skin, x0 = look.skin, how.turn
    brow = darker(look.hair if look.worn is not Hair.SCARF else (60, 46, 40), 0.35)
    for side in (-1, 1):
        x = x0 + side * 0.037
        head.glow(x, 0.303, 0.03, 0.022, darker(skin, 0.45), 90)
        if how.blink:
            head.line([(x - 0.015, 0.309), (x, 0.313), (x + 0.015, 0.309)], darker(skin, 0.6), 0.003)
        else:
            open_eye = [(x - 0.0165, 0.308), (x, 0.299), (x + 0.0165, 0.308), (x, 0.314)]
            head.shape(open_eye, mix_colours((240, 236, 230), skin, 0.15))
            head.dot(x, 0.3065, 0.0072, 0.0078, (70, 54, 44))
            head.dot(x, 0.3065, 0.0035, 0.0038, (18, 16, 16))
            head.dot(x - 0.0025, 0.304, 0.0016, 0.0016, (250, 250, 250))
            lid = [(x - 0.0175, 0.308), (x - 0.008, 0.3), (x + 0.006, 0.2995), (x + 0.0175, 0.3075)]
            head.line(lid, darker(skin, 0.65), 0.0028)
        arch = [(x - side * 0.02, 0.285), (x, 0.279), (x + side * 0.021, 0.284)]
        head.line(arch, mix_colours(brow, skin, 0.2), 0.0055)
    head.glow(x0 + 0.012, 0.335, 0.014, 0.034, darker(skin, 0.4), 90)
    head.glow(x0 - 0.004, 0.338, 0.009, 0.03, lighter(skin, 0.5), 90)
    nostrils = [(x0 - 0.014, 0.353), (x0 - 0.006, 0.3575), (x0 + 0.006, 0.3575), (x0 + 0.014, 0.353)]
    head.line(nostrils, darker(skin, 0.32), 0.003)
    _mouth(head, look, how)


def _mouth(head: Pencil, look: Appearance, how: Pose) -> None:
    x, wide, up = how.turn, 0.027 + 0.006 * how.smile, 0.006 * how.smile
    lips = mix_colours(darker(look.skin, 0.2), (168, 76, 76), 0.45)
    upper = [
        (x - wide, 0.384 - up),
        (x - 0.008, 0.3785),
        (x, 0.3805),
        (x + 0.008, 0.3785),
        (x + wide, 0.384 - up),
    ]
    lower = [(x + 0.012, 0.3945), (x, 0.3965), (x - 0.012, 0.3945)]
    head.shape([*upper, *lower], lips)
    if how.smile > 0.7:
        teeth = [(x - wide * 0.7, 0.384 - up * 0.4), (x + wide * 0.7, 0.384 - up * 0.4), (x, 0.3905)]
        head.shape(teeth, (236, 230, 222))
    else:
        parting = [(x - wide, 0.384 - up), (x - 0.01, 0.3868), (x + 0.01, 0.3868), (x + wide, 0.384 - up)]
        head.line(parting, darker(lips, 0.45), 0.0025)


def _beard(head: Pencil, look: Appearance, inside: Image.Image) -> None:
    f = look.face
    outer = [(0.093 * f, 0.32), (0.087 * f, 0.375), (0.05 * f, 0.43), (0, 0.442)]
    inner = [(0, 0.366), (0.03, 0.366), (0.05 * f, 0.36), (0.075 * f, 0.335)]
    head.shape(both([*inner, *outer]), mix_colours(look.hair, look.skin, 0.22))
    head.glow(0.09, 0.38, 0.08, 0.09, darker(look.hair, 0.5), 110, inside)


def _glasses(head: Pencil, look: Appearance, how: Pose) -> None:
    frame = (52, 44, 42)
    for side in (-1, 1):
        x = how.turn + side * 0.038
        ring = [
            (x - 0.026, 0.296),
            (x + 0.026, 0.296),
            (x + 0.024, 0.324),
            (x - 0.024, 0.324),
            (x - 0.026, 0.296),
        ]
        head.line(ring, frame, 0.0035)
        head.line([(x + side * 0.026, 0.3), (side * 0.09 * look.face, 0.303)], frame, 0.003)
    head.line([(how.turn - 0.012, 0.302), (how.turn + 0.012, 0.302)], frame, 0.0035)


DATE_TIME = "%Y:%m:%d %H:%M:%S"


def tags(exposure: SimulatedExposure) -> Image.Exif:
    """Body, clock, orientation and a studio flash exposure as EXIF tags (CIPA DC-008).

    The exposure values are common practice, no source.
    """
    taken = exposure.camera_time.strftime(DATE_TIME)
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = exposure.camera.make
    exif[ExifTags.Base.Model] = exposure.camera.model
    exif[ExifTags.Base.Orientation] = exposure.orientation
    exif[ExifTags.Base.DateTime] = taken
    photo = exif.get_ifd(ExifTags.IFD.Exif)
    photo[ExifTags.Base.DateTimeOriginal] = taken
    photo[ExifTags.Base.DateTimeDigitized] = taken
    photo[ExifTags.Base.SubsecTimeOriginal] = exposure.subsec
    if exposure.offset is not None:
        photo[ExifTags.Base.OffsetTimeOriginal] = exposure.offset
    photo[ExifTags.Base.BodySerialNumber] = exposure.camera.serial
    photo[ExifTags.Base.ExposureTime] = IFDRational(1, 160)
    photo[ExifTags.Base.FNumber] = IFDRational(8, 1)
    photo[ExifTags.Base.ISOSpeedRatings] = 100
    photo[ExifTags.Base.FocalLength] = IFDRational(85, 1)
    return exif
