"""Draws objects in a frame: a slate in the hands, a badge on the chest, a grey card on a stand."""

from __future__ import annotations

import random
from functools import lru_cache
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont

import onsite.slates
from onsite.core.codes import parse_clock_code, spaced_code
from onsite.simulator.draw_shapes import Pencil, soft_spot
from onsite.simulator.invented_appearance import Colour, darker, lighter
from onsite.simulator.invented_exposure import SimulatedSlate, SlateDamage, SlateForm
from onsite.slates.qr_symbol import CLOCK_VERSION, MODULES, QUIET_ZONE, qr_modules, with_quiet_zone

WIDE, HIGH = 37, 46
"""Width and height of a slate in modules of its symbol, including the light margin."""

TOP = 12
"""Modules above the symbol: the name, then the quiet zone."""

SIDE = (WIDE - MODULES) // 2
PAPER: Colour = (240, 239, 235)
INK: Colour = (28, 27, 29)
FONT = Path(onsite.slates.__file__).parent / "fonts" / "DejaVuSans-Bold.ttf"


def slate_picture(slate: SimulatedSlate, module: int, skin: Colour) -> Image.Image:
    """The slate seen straight on, with its damage, `module` pixels to a module, RGBA."""
    picture = _card(slate.code, slate.caption, slate.shown, module).copy()
    if slate.spoilt is SlateDamage.COVERED:
        _fingers_over(picture, module, skin)
    elif slate.spoilt is SlateDamage.GLARE:
        _glare_over(picture, module)
    elif slate.spoilt is SlateDamage.SHAKEN:
        picture = _shaken(picture, 6 * module)
    return picture.transpose(Image.Transpose.ROTATE_180) if slate.upside_down else picture


@lru_cache(maxsize=32)
def _card(code: str, caption: str, shown: SlateForm, module: int) -> Image.Image:
    card = Image.new("RGBA", (WIDE * module, HIGH * module), (*PAPER, 255))
    pen = ImageDraw.Draw(card)
    _print(pen, caption, (WIDE * module // 2, 4 * module), (WIDE - 5) * module, 4 * module)
    is_clock = parse_clock_code(code) is not None
    if not is_clock:
        code_at = (WIDE * module // 2, (TOP + MODULES + QUIET_ZONE + 4) * module)
        _print(pen, spaced_code(code), code_at, (WIDE - 10) * module, 3 * module)
    modules = with_quiet_zone(qr_modules(code, CLOCK_VERSION if is_clock else 1))
    printed = _symbol_picture(modules, module)
    card.paste(printed, ((WIDE - len(modules)) // 2 * module, (TOP - QUIET_ZONE) * module))
    if shown in (SlateForm.SCREEN, SlateForm.DOOR):
        pen.rectangle(
            (0, 0, card.width - 1, card.height - 1), outline=(30, 31, 34, 255), width=3 * module // 2
        )
    return card


def _symbol_picture(modules: np.ndarray[tuple[int, int], np.dtype[np.bool_]], module: int) -> Image.Image:
    colours = np.where(modules[..., None], np.array(INK), np.array(PAPER))
    size = (modules.shape[1] * module, modules.shape[0] * module)
    return Image.fromarray(colours.astype(np.uint8)).resize(size, Image.Resampling.NEAREST)


def _print(pen: ImageDraw.ImageDraw, text: str, middle: tuple[int, int], width: int, height: int) -> None:
    """Print a line as large as fits; a text that the font lacks becomes a grey bar."""
    x, y = middle
    if not all(ord(letter) < 0x530 or 0x1E00 <= ord(letter) < 0x2030 for letter in text):
        pen.rectangle(
            (x - width * 2 // 5, y - height // 3, x + width * 2 // 5, y + height // 3), fill=(120, 120, 122)
        )
        return
    font = ImageFont.truetype(FONT, height)
    if font.getlength(text) > width:
        font = ImageFont.truetype(FONT, max(6, int(height * width / font.getlength(text))))
    pen.text(middle, text, fill=INK, font=font, anchor="mm")


def _fingers_over(card: Image.Image, module: int, skin: Colour) -> None:
    """Draw fingers across the middle and lower right, away from the finder patterns."""
    pen = ImageDraw.Draw(card)
    left = (SIDE + 7) * module
    for i, reach in enumerate((1.4, 0.3, 0.0, 0.8)):
        y = (TOP + 8.6 + i * 3.3) * module
        box = (left + reach * module, y, card.width + 4 * module, y + 3.4 * module)
        pen.rounded_rectangle(box, radius=1.7 * module, fill=darker(skin, 0.08), outline=darker(skin, 0.4))
        nail = (box[0] + 0.5 * module, y + 0.8 * module, box[0] + 2.1 * module, y + 2.4 * module)
        pen.rounded_rectangle(nail, radius=module, fill=lighter(skin, 0.25))


def _glare_over(card: Image.Image, module: int) -> None:
    """Draw a lamp's reflection in the middle of the symbol; the finder patterns stay clear of it."""
    reach = 16 * module
    spot = soft_spot((2 * reach // 8 * 8, 2 * reach // 8 * 8), 255).point(lambda v: min(255, v * 5 // 2))
    middle = (SIDE + 13) * module, (TOP + 13) * module
    core = Image.new("L", card.size)
    core.paste(spot, (middle[0] - reach, middle[1] - reach))
    keep = ImageDraw.Draw(core)
    for x, y in ((0, 0), (MODULES - 8, 0), (0, MODULES - 8)):
        corner = ((SIDE + x) * module, (TOP + y) * module)
        keep.rectangle((*corner, corner[0] + 8 * module - 1, corner[1] + 8 * module - 1), fill=0)
    card.paste((252, 252, 250, 255), (0, 0), core)


def _shaken(card: Image.Image, length: int) -> Image.Image:
    """The slate blurred by motion of `length` pixels along a slant while the shutter was open."""
    margin = length // 2 + 1
    still = np.zeros((card.height + 2 * margin, card.width + 2 * margin, 4), np.float32)
    still[margin:-margin, margin:-margin] = np.asarray(card)
    still[..., :3] *= still[..., 3:] / 255
    steps = max(8, length // 2)
    moved = sum(
        np.roll(still, (round(s * 0.7), round(s)), (0, 1))
        for s in np.linspace(-margin + 1, margin - 1, steps)
    )
    mean = np.asarray(moved) / steps
    mean[..., :3] /= np.maximum(mean[..., 3:], 1) / 255
    return Image.fromarray(np.clip(mean, 0, 255).astype(np.uint8))


def hold(body: Pencil, slate: SimulatedSlate, skin: Colour, sleeve: Colour, rng: random.Random) -> None:
    """Draw the slate before the chest, not quite parallel to the sensor, with the hands that hold it."""
    module = rng.uniform(0.0066, 0.0078)
    wide, high = WIDE * module / 2, HIGH * module / 2
    y = rng.uniform(0.735, 0.765)
    card = body.turned(body.tilt + rng.uniform(-0.09, 0.09), rng.uniform(-0.02, 0.02), 0)
    pinch = rng.uniform(0.94, 1.0), rng.uniform(0.94, 1.0)
    corners = [
        (-wide, y - high * pinch[0]),
        (wide, y - high * pinch[1]),
        (wide, y + high),
        (-wide, y + high * pinch[0]),
    ]
    for side in (-1, 1):
        body.shape(
            [(side * 0.3, 0.93), (side * 0.3, 1.1), (side * wide, y + 0.13), (side * wide, y + 0.05)], sleeve
        )
        card.dot(side * (wide + 0.004), y + 0.055, 0.04, 0.045, darker(skin, 0.14))
    flat = slate_picture(slate, max(4, round(module * body.unit)), skin)
    grown = flat.width / (WIDE * max(4, round(module * body.unit)))
    corners = [(x * grown, y + (v - y) * grown) for x, v in corners]
    _paste_flat(body.image, flat, [tuple(p) for p in card.place(corners)])
    for side in (-1, 1):
        for i in range(2):
            tip = (side * (wide - 0.014 + i * 0.006), y + 0.035 + i * 0.021)
            card.line([(side * (wide + 0.02), tip[1] + 0.008), tip], darker(skin, 0.3), 0.02)
            card.line([(side * (wide + 0.02), tip[1] + 0.008), tip], skin, 0.016)
            card.dot(*tip, 0.008, 0.008, skin)


def stand(pencil: Pencil, slate: SimulatedSlate, rng: random.Random) -> None:
    """Draw a screen that stands where people will sit."""
    wide, high = 0.24, 0.24 * HIGH / WIDE
    screen = pencil.turned(rng.uniform(-0.05, 0.05), 0, 0)
    flat = slate_picture(slate, max(4, round(2 * wide / WIDE * pencil.unit)), INK)
    corners = [(-wide, 0.5 - high), (wide, 0.5 - high), (wide, 0.5 + high), (-wide, 0.5 + high)]
    _paste_flat(pencil.image, flat, [tuple(p) for p in screen.place(corners)])


def badge(body: Pencil, text: str, rng: random.Random) -> None:
    """Draw a badge with a QR code on the chest."""
    modules = _foreign(text)
    y, half = 0.7 + rng.uniform(-0.006, 0.006), 0.062
    module = max(2, round(0.0033 * body.unit))
    picture = Image.new("RGBA", ((len(modules) + 2) * module, (len(modules) + 10) * module), (*PAPER, 255))
    picture.paste(_symbol_picture(modules, module), (module, 7 * module))
    ImageDraw.Draw(picture).rectangle((0, 0, picture.width, 6 * module), fill=(64, 78, 96, 255))
    tall = half * picture.height / picture.width
    tag = body.turned(body.tilt + rng.uniform(-0.05, 0.05), 0, 0)
    corners = [(-half, y - tall), (half, y - tall), (half, y + tall), (-half, y + tall)]
    _paste_flat(body.image, picture, [tuple(p) for p in tag.place(corners)])


@lru_cache(maxsize=32)
def _foreign(text: str) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
    """A QR code of any text with its quiet zone, as booleans (True is dark)."""
    import qrcode

    drawing = qrcode.QRCode(error_correction=qrcode.constants.ERROR_CORRECT_M, border=QUIET_ZONE)
    drawing.add_data(text)
    drawing.make(fit=True)
    return np.array(drawing.get_matrix(), dtype=bool)


def grey_card(pencil: Pencil) -> None:
    """Draw a grey card on a stand where people will sit; 18 % as is common practice."""
    pencil.line([(0, 0.4), (0, 1.3)], (44, 45, 48), 0.02)
    pencil.shape([(-0.16, 0.28), (0.16, 0.28), (0.16, 0.7), (-0.16, 0.7)], (119, 119, 119), smooth=False)
    pencil.line([(-0.16, 0.705), (0.16, 0.705)], (60, 61, 64), 0.012)


def _paste_flat(image: Image.Image, flat: Image.Image, corners: list[tuple[float, ...]]) -> None:
    """Paste a flat RGBA picture so that its corners, clockwise from top left, land on `corners`."""
    to = np.asarray(corners, float)
    left, top = np.floor(to.min(0)).astype(int) - 1
    right, bottom = np.ceil(to.max(0)).astype(int) + 1
    w, h = flat.size
    coefficients = _perspective(to - (left, top), np.array([(0, 0), (w, 0), (w, h), (0, h)], float))
    size = (int(right - left), int(bottom - top))
    seen = flat.transform(size, Image.Transform.PERSPECTIVE, coefficients, Image.Resampling.BICUBIC)
    image.paste(seen.convert("RGB"), (int(left), int(top)), seen.getchannel("A"))


def _perspective(
    seen: np.ndarray[tuple[int, int], np.dtype[np.float64]],
    flat: np.ndarray[tuple[int, int], np.dtype[np.float64]],
) -> tuple[float, ...]:
    """The eight coefficients of the homography from points in the frame to points of the flat picture.

    `seen` and `flat` are (4, 2).
    """
    rows, values = [], []
    for (x, y), (u, v) in zip(seen, flat, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        values += [u, v]
    return tuple(float(c) for c in np.linalg.solve(np.array(rows), np.array(values)))
