"""Frames that hold no slate: cloth, walls, print and people, drawn by a seed as the reader would see them.

    frame = FAMILIES["tartan"](random.Random(1))

Each is a grey picture of 480 x 320, about what is left of a 24-megapixel frame at a twelfth of its scale.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from onsite.slates.slate_fonts import bundled_typeface

SIZE = (480, 320)

Floats = NDArray[np.float32]
Draw = Callable[[random.Random], Image.Image]

WORDS = ("the", "choir", "of", "Saint", "Anne", "sings", "Sunday", "at", "seven", "ALTO", "II", "notes")


@lru_cache(maxsize=1)
def _places() -> tuple[Floats, Floats]:
    y, x = np.mgrid[0 : SIZE[1], 0 : SIZE[0]].astype(np.float32)
    return x, y


@lru_cache(maxsize=1)
def _grain() -> Floats:
    return np.random.default_rng(1).standard_normal((SIZE[1], SIZE[0]), np.float32)


def _turned(rng: random.Random, most: float = 90) -> tuple[Floats, Floats]:
    """Along and across a cloth that lies in the frame at any angle, counted in pixels."""
    x, y = _places()
    angle = np.float32(np.radians(rng.uniform(-most, most)))
    bend = np.float32(rng.choice((0, 0, rng.uniform(2, 8))))
    fold = bend * np.sin(x / np.float32(rng.uniform(30, 90)))
    return x * np.cos(angle) + y * np.sin(angle) + fold, y * np.cos(angle) - x * np.sin(angle)


def _period(rng: random.Random) -> float:
    """Pixels from one thread, stripe or square to the next."""
    return float(np.exp(rng.uniform(np.log(2.5), np.log(60))))


def _picture(shares: Any, rng: random.Random) -> Image.Image:
    """Shares of light, 0 to 1, in some contrast, under a light that falls off, by a lens and a sensor."""
    x, _ = _places()
    dark, light = sorted((rng.uniform(5, 250), rng.uniform(5, 250)))
    uneven = 1 - np.float32(rng.uniform(0, 0.5)) * x / SIZE[0]
    grey = (np.float32(dark) + np.float32(light - dark) * shares) * uneven
    grey += np.float32(rng.uniform(0, 5)) * np.roll(_grain(), rng.randrange(SIZE[0] * SIZE[1]))
    picture = Image.fromarray(np.clip(grey, 0, 255).astype(np.uint8))
    return picture.filter(ImageFilter.BoxBlur(rng.choice((0, 0.3, 0.6, 1.0))))


def _drawn(paint: Callable[[ImageDraw.ImageDraw, random.Random], None], rng: random.Random) -> Image.Image:
    """What is painted on white, turned a little, as a picture."""
    page = Image.new("L", SIZE, 255)
    paint(ImageDraw.Draw(page), rng)
    if rng.random() < 0.5:
        page = page.rotate(rng.uniform(-20, 20), Image.Resampling.BILINEAR, fillcolor=255)
    shares = np.asarray(page, np.float32) / 255
    return _picture(1 - shares if rng.random() < 0.3 else shares, rng)


def stripes(rng: random.Random) -> Image.Image:
    along, _ = _turned(rng)
    wave = np.sin(along * np.float32(2 * np.pi / _period(rng)))
    return _picture(wave > rng.uniform(-0.8, 0.8) if rng.random() < 0.6 else wave / 2 + 0.5, rng)


def checks(rng: random.Random) -> Image.Image:
    along, across = _turned(rng)
    side = _period(rng)
    other = side * rng.choice((1, 1, rng.uniform(0.5, 2)))
    return _picture((along // side + across // other) % 2, rng)


def gingham(rng: random.Random) -> Image.Image:
    along, across = _turned(rng)
    side = _period(rng)
    return _picture((along // side % 2 + across // side % 2) / 2, rng)


def tartan(rng: random.Random) -> Image.Image:
    """The same sequence of widths both ways, mirrored at its ends, as such cloth is woven."""
    along, across = _turned(rng)
    widths = [rng.choice((1, 1, 2, 3, 4, 6, 9)) for _ in range(rng.randint(2, 6))]
    shades = np.repeat([rng.random() for _ in widths], widths).astype(np.float32)
    sett = np.concatenate([shades, shades[::-1]])
    thread = rng.uniform(1, 6)
    return _picture(
        (sett[(along // thread).astype(int) % len(sett)] + sett[(across // thread).astype(int) % len(sett)])
        / 2,
        rng,
    )


def herringbone(rng: random.Random) -> Image.Image:
    along, across = _turned(rng)
    wide = rng.uniform(8, 60)
    zigzag = np.abs(along % wide - wide / 2)
    return _picture((across + zigzag * rng.uniform(0.5, 2)) // (_period(rng) / 2 + 1) % 2, rng)


def houndstooth(rng: random.Random) -> Image.Image:
    along, across = _turned(rng)
    thread = rng.uniform(1, 6)
    a, b = (along // thread).astype(int), (across // thread).astype(int)
    over = (a + b) % 4 < 2
    return _picture(np.where(over, a % 8 < 4, b % 8 < 4), rng)


def knitting(rng: random.Random) -> Image.Image:
    along, across = _turned(rng)
    wide = rng.uniform(4, 24)
    stitch = np.abs(np.sin((across + np.abs(along % wide - wide / 2)) * np.float32(np.pi / wide)))
    rows = rng.choice((0, rng.randint(3, 12)))
    if rows:  # a figure knitted in: squares, diamonds, borders
        a, b = (np.abs((way // wide).astype(int) % (2 * rows) - rows) for way in (along, across))
        ring = np.maximum(a, b) if rng.random() < 0.5 else a + b
        stitch = stitch * (0.3 + 0.7 * (ring // rng.randint(1, 3) % 2))
    return _picture(stitch, rng)


def dots(rng: random.Random) -> Image.Image:
    along, across = _turned(rng)
    step = max(_period(rng), 5)
    shift = np.where(across // step % 2, step / 2, 0) if rng.random() < 0.5 else 0
    far = np.hypot((along + shift) % step - step / 2, across % step - step / 2)
    return _picture(np.clip(step * rng.uniform(0.15, 0.45) - far + 0.5, 0, 1), rng)


def lace(rng: random.Random) -> Image.Image:
    """Rings within rings, row by row."""
    along, across = _turned(rng)
    step = rng.uniform(10, 90)
    far = np.hypot(along % step - step / 2, across % step - step / 2)
    return _picture(far // max(step * rng.uniform(0.05, 0.25), 1) % 2, rng)


def rings(rng: random.Random) -> Image.Image:
    x, y = _places()
    far = np.hypot(x - rng.uniform(0, SIZE[0]), (y - rng.uniform(0, SIZE[1])) * rng.uniform(0.6, 1.6))
    return _picture(far // (_period(rng) / 2 + 1) % 2, rng)


def diamonds(rng: random.Random) -> Image.Image:
    along, across = _turned(rng)
    step = rng.uniform(10, 90)
    far = np.abs(along % step - step / 2) + np.abs(across % step - step / 2) * rng.uniform(0.5, 1.5)
    return _picture(far // max(step * rng.uniform(0.05, 0.3), 1) % 2, rng)


def squares(rng: random.Random) -> Image.Image:
    """Squares within squares, as on tiles and cushions, of any proportions."""
    along, across = _turned(rng)
    step = rng.uniform(12, 120)
    far = np.maximum(np.abs(along % step - step / 2), np.abs(across % step - step / 2))
    return _picture(far // max(step * rng.uniform(0.04, 0.3), 1) % 2, rng)


def finder_alone(rng: random.Random) -> Image.Image:
    """One square with the proportions of a finder pattern, or two apart from each other as chance has it."""

    def paint(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
        for _ in range(rng.choice((1, 1, 2))):
            module = rng.uniform(1.2, 9)
            x, y = rng.uniform(0, SIZE[0] - 7 * module), rng.uniform(0, SIZE[1] - 7 * module)
            for ring, shade in ((0, 0), (1, 255), (2, 0)):
                low, high = ring * module, (7 - ring) * module
                draw.rectangle((x + low, y + low, x + high, y + high), fill=shade)

    return _drawn(paint, rng)


def bull_eyes(rng: random.Random) -> Image.Image:
    """Buttons, eyes, loudspeakers: round ones with such proportions, wherever chance has put them."""

    def paint(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
        for _ in range(rng.randint(1, 8)):
            module = rng.uniform(1.2, 9)
            x, y = rng.uniform(0, SIZE[0]), rng.uniform(0, SIZE[1])
            for reach, shade in ((3.5, 0), (2.5, 255), (1.5, 0)):
                far = reach * module
                draw.ellipse((x - far, y - far, x + far, y + far), fill=shade)

    return _drawn(paint, rng)


def noise(rng: random.Random) -> Image.Image:
    """Leaves, gravel, stubble: noise of one scale or of several together."""
    chance = np.random.default_rng(rng.randrange(2**32))
    whole = np.zeros((SIZE[1], SIZE[0]), np.float32)
    for _ in range(rng.randint(1, 3)):
        side = rng.choice((1, 2, 3, 4, 6, 9, 14, 20))
        coarse = chance.random((SIZE[1] // side + 1, SIZE[0] // side + 1), np.float32)
        if rng.random() < 0.5:
            whole += coarse.repeat(side, 0).repeat(side, 1)[: SIZE[1], : SIZE[0]]
        else:
            whole += np.asarray(Image.fromarray(coarse).resize(SIZE, Image.Resampling.BICUBIC))
    whole = (whole - whole.min()) / np.ptp(whole)
    return _picture(whole > rng.uniform(0.3, 0.7) if rng.random() < 0.5 else whole, rng)


def pixels(rng: random.Random) -> Image.Image:
    """Black and white blocks at random, as on a mosaic or a shirt with pixels: the modules of no symbol."""
    along, across = _turned(rng)
    side = rng.uniform(2, 12)
    chance = np.random.default_rng(rng.randrange(2**32)).random((64, 64)) < rng.uniform(0.3, 0.7)
    return _picture(chance[(across // side).astype(int) % 64, (along // side).astype(int) % 64], rng)


@lru_cache(maxsize=32)
def _font(size: int, bold: bool) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(bundled_typeface(bold).path), size)


def _line(rng: random.Random, words: int) -> str:
    return " ".join(rng.choice(WORDS) for _ in range(words))


def text(rng: random.Random) -> Image.Image:
    """A page, a banner, a printed shirt."""

    def paint(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
        size = rng.choice((6, 8, 10, 13, 18, 26, 40, 64))
        font, y = _font(size, rng.random() < 0.5), rng.randint(0, 20)
        while y < SIZE[1]:
            draw.text((rng.randint(0, 20), y), _line(rng, 800 // (6 * size) + 1), 0, font)
            y += round(size * rng.uniform(1.15, 1.5))

    return _drawn(paint, rng)


def capitals(rng: random.Random) -> Image.Image:
    """Letters with counters and bars: a single word or figures, large."""

    def paint(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
        for _ in range(rng.randint(1, 30)):
            font = _font(rng.choice((13, 18, 26, 40, 64, 120)), True)
            marks = "".join(rng.choice("OQ0DB8E#@H%&") for _ in range(rng.randint(1, 6)))
            draw.text((rng.randint(-20, SIZE[0]), rng.randint(-20, SIZE[1])), marks, 0, font)

    return _drawn(paint, rng)


def sheet_music(rng: random.Random) -> Image.Image:
    def paint(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
        gap = rng.uniform(2, 10)
        top = rng.uniform(0, 20)
        while top < SIZE[1]:
            for line in range(5):
                draw.line((0, top + line * gap, SIZE[0], top + line * gap), 0, max(round(gap / 6), 1))
            x = 2 * gap
            while x < SIZE[0]:
                y = top + rng.randint(0, 8) * gap / 2
                open_head = rng.random() < 0.3
                head = (x, y - gap / 2, x + 1.3 * gap, y + gap / 2)
                draw.ellipse(head, None if open_head else 0, 0, max(round(gap / 5), 1))
                draw.line((x + 1.3 * gap, y, x + 1.3 * gap, y - 3.5 * gap), 0, max(round(gap / 6), 1))
                if rng.random() < 0.15:
                    draw.line((x - gap, top, x - gap, top + 4 * gap), 0, max(round(gap / 6), 1))
                x += gap * rng.uniform(2, 5)
            top += gap * rng.uniform(8, 12)

    return _drawn(paint, rng)


def piano(rng: random.Random) -> Image.Image:
    def paint(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
        wide, high, top = rng.uniform(6, 40), rng.uniform(60, 200), rng.uniform(0, 120)
        draw.rectangle((0, 0, SIZE[0], top), 20)
        draw.rectangle((0, top + high, SIZE[0], SIZE[1]), 60)
        for key in range(int(SIZE[0] / wide) + 1):
            x = key * wide
            draw.line((x, top, x, top + high), 0, max(round(wide / 16), 1))
            if key % 7 not in (0, 3):
                draw.rectangle((x - 0.3 * wide, top, x + 0.3 * wide, top + 0.62 * high), 0)

    return _drawn(paint, rng)


def buttons(rng: random.Random) -> Image.Image:
    """Computer keyboards, accordions' basses, mixing desks: rows of keys with a mark on each."""

    def paint(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
        side, gap = rng.uniform(8, 40), rng.uniform(0.1, 0.5)
        shade = rng.choice((0, 60, 200))
        for row in range(int(SIZE[1] / side) + 1):
            for column in range(int(SIZE[0] / side) + 1):
                x, y = (column + row % 3 * 0.3) * side, row * side
                box = (x, y, x + side * (1 - gap), y + side * (1 - gap))
                draw.rounded_rectangle(
                    box, side * 0.1, 255, shade, max(round(side * rng.choice((0.05, 0.1))), 1)
                )
                inner = (x + side * 0.3, y + side * 0.3, x + side * (0.7 - gap), y + side * (0.7 - gap))
                if inner[0] < inner[2] and rng.random() < 0.7:
                    draw.rectangle(inner, shade)

    return _drawn(paint, rng)


def windows(rng: random.Random) -> Image.Image:
    """A front of windows: panes with frames and glazing bars, some lit."""

    def paint(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
        wide, high = rng.uniform(14, 90), rng.uniform(14, 90)
        draw.rectangle((0, 0, *SIZE), 170)
        frame, panes = rng.uniform(0.05, 0.2), rng.randint(1, 4)
        for row in range(int(SIZE[1] / high) + 1):
            for column in range(int(SIZE[0] / wide) + 1):
                x, y = column * wide, row * high
                draw.rectangle((x + wide * 0.15, y + high * 0.15, x + wide * 0.85, y + high * 0.85), 250)
                left, top = x + wide * (0.15 + frame), y + high * (0.15 + frame)
                across, down = wide * (0.7 - 2 * frame) / panes, high * (0.7 - 2 * frame) / panes
                for pane in range(panes * panes):
                    px, py = left + pane % panes * across, top + pane // panes * down
                    draw.rectangle(
                        (px, py, px + across * 0.85, py + down * 0.85), rng.choice((20, 20, 40, 150))
                    )

    return _drawn(paint, rng)


def books(rng: random.Random) -> Image.Image:
    def paint(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
        shelf, y = rng.uniform(40, 180), 0.0
        while y < SIZE[1]:
            x = 0.0
            while x < SIZE[0]:
                wide, high = shelf * rng.uniform(0.06, 0.3), shelf * rng.uniform(0.7, 0.95)
                shade = rng.randint(0, 220)
                draw.rectangle((x, y + shelf - high, x + wide, y + shelf), shade, 0)
                for _ in range(rng.randint(0, 3)):
                    band, ink = y + shelf - high * rng.random(), rng.randint(0, 255)
                    draw.rectangle((x + 1, band, x + wide - 1, band + high * rng.uniform(0.02, 0.15)), ink)
                x += wide + rng.choice((0, 1))
            draw.rectangle((0, y + shelf, SIZE[0], y + shelf * 1.08), 40)
            y += shelf * 1.08

    return _drawn(paint, rng)


def barcodes(rng: random.Random) -> Image.Image:
    """Price tags and tickets: bars in threes of widths, none of them in a square."""

    def paint(draw: ImageDraw.ImageDraw, rng: random.Random) -> None:
        for _ in range(rng.randint(1, 6)):
            x, y, bar, high = (
                rng.uniform(0, 400),
                rng.uniform(0, 330),
                rng.uniform(1, 4),
                rng.uniform(15, 120),
            )
            end = x + 95 * bar
            while x < end:
                wide = rng.randint(1, 4) * bar
                draw.rectangle((x, y, x + wide, y + high), 0)
                x += wide + rng.randint(1, 4) * bar

    return _drawn(paint, rng)


def meander(rng: random.Random) -> Image.Image:
    """Greek keys and mazes: lines and gaps of one width, turning at right angles."""
    along, across = _turned(rng)
    side = rng.uniform(2, 10)
    n = 7
    tile = np.zeros((n + 1, n + 1), bool)
    for ring in range(0, n // 2 + 1, 2):
        tile[ring : n - ring, ring] = tile[ring : n - ring, n - 1 - ring] = True
        tile[ring, ring : n - ring] = tile[n - 1 - ring, ring : n - ring] = True
        gap = rng.randint(ring + 1, n - 2 - ring) if ring + 1 <= n - 2 - ring else ring
        tile[ring, gap] = rng.random() < 0.2
    if rng.random() < 0.5:
        tile = tile.T
    a, b = (along // side).astype(int) % (n + 1), (across // side).astype(int) % (n + 1)
    return _picture(tile[b, a], rng)


@lru_cache(maxsize=16)
def _portrait(which: int) -> Image.Image:
    from onsite.simulator.draw_invented_exposure import picture
    from onsite.simulator.invented_exposure import ExposureKind
    from tests.simulator.invented import invented

    day = invented().day
    portraits = [
        exposure
        for exposure in day.exposures
        if exposure.kind is ExposureKind.PORTRAIT and not exposure.badge
    ]
    return picture(portraits[which * 7 % len(portraits)], day.seed + which, (900, 600)).convert("L")


def portraits(rng: random.Random) -> Image.Image:
    """People of the invented day, each frame cut and lit otherwise."""
    whole = _portrait(rng.randrange(16))
    wide = rng.uniform(0.4, 1.0) * whole.width
    high = wide * SIZE[1] / SIZE[0]
    if high > whole.height:
        high, wide = whole.height, whole.height * SIZE[0] / SIZE[1]
    x, y = rng.uniform(0, whole.width - wide), rng.uniform(0, whole.height - high)
    part = whole.resize(SIZE, Image.Resampling.BILINEAR, box=(x, y, x + wide, y + high))
    stops = rng.uniform(-2, 1)
    return part.point(lambda value: min(round(value * 2**stops), 255))


def dressed(rng: random.Random) -> Image.Image:
    """Somebody before a wall, with cloth of one kind on and another behind."""
    cloths = (stripes, checks, gingham, tartan, herringbone, houndstooth, knitting, dots, noise)
    wall, shirt = rng.choice((stripes, books, windows, noise, checks))(rng), rng.choice(cloths)(rng)
    mask = Image.new("L", SIZE)
    draw = ImageDraw.Draw(mask)
    middle = rng.uniform(0.35, 0.65) * SIZE[0]
    draw.ellipse((middle - 120, 150, middle + 120, 560), 255)
    whole = Image.composite(shirt, wall, mask)
    ImageDraw.Draw(whole).ellipse((middle - 44, 40, middle + 44, 160), rng.randint(40, 200))
    return whole


FAMILIES: dict[str, Draw] = {
    draw.__name__.replace("_", " "): draw
    for draw in (
        stripes,
        checks,
        gingham,
        tartan,
        herringbone,
        houndstooth,
        knitting,
        dots,
        lace,
        rings,
        diamonds,
        squares,
        finder_alone,
        bull_eyes,
        noise,
        pixels,
        text,
        capitals,
        sheet_music,
        piano,
        buttons,
        windows,
        books,
        barcodes,
        meander,
        portraits,
        dressed,
    )
}
