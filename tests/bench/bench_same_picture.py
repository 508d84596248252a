"""How well retouched versions of a picture are told from the frame beside it and from other people.

    python -m tests.bench.bench_same_picture [PICKS]

Picks are frames drawn for the invented day, and photographs of people and things that come with scikit-image.
Each is retouched in many ways and saved as a retoucher would, then read back and compared with the pick; so
are the frames beside it: drawn ones as the day has them, photographs with a subject that moved by 1 to 5
pixels in 1000, turned its head and changed in a small place, by hand (the whole frame moves too) and from a
tripod (nothing else moves). How far people move is our own choice. Prints the distributions of what is
measured and the error rates at the limits that the program uses, and those of a perceptual hash beside them
where the package imagehash is installed.

`python -m tests.bench.bench_same_picture 22`, 537 pairs of drawn frames and
of photographs that come with scikit-image, the frames beside these simulated:

| pairs | taken for the pick | by a perceptual hash at its best limit |
| --- | ---: | ---: |
| 392 retouched versions (14 ways) | 380 | 196 |
| – of these 84 with another background | 73 | |
| 117 frames beside the pick | 1 | 42 |
| 28 other people and things | 0 | |

The limits were chosen on this run. Where something moved a little, the person's other frames are asked as
well, and the file is held where one of them could be it; the table leaves that out. What is not taken for the
pick waits for somebody; nothing is lost. One comparison takes about 0.2 s of one core.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from itertools import chain
from pathlib import Path

import numpy as np
import skimage.data
import tifffile
from PIL import Image, ImageChops, ImageDraw, ImageEnhance, ImageFilter
from scipy.ndimage import map_coordinates

from onsite.frames.find_frame_files import file_kind
from onsite.frames.frame_pixels import turn_upright
from onsite.retouch.check_returned import framing
from onsite.retouch.decode_returned_file import picture_facts
from onsite.retouch.same_picture.picture_likeness import KEPT, MOVED, likeness
from onsite.simulator.draw_invented_exposure import SIZE, draw
from onsite.simulator.invented_appearance import appearance_of
from tests.simulator.invented import invented

Picture = Image.Image


def main(picks: int) -> None:
    began = time.perf_counter()
    results: dict[str, list[tuple[str, float, float, bool, int]]] = defaultdict(list)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for number, (label, pick, mask, beside, other) in enumerate(chain(drawn(picks), photographs())):
            rng = random.Random(number)
            sent = saved(folder / "pick.jpg", pick)
            for way, retouch in WAYS.items():
                back = saved(folder / f"back{ENDINGS.get(way, '.jpg')}", retouch(pick, mask, rng), way)
                note(results, "same", way, sent, back)
            for way, frame in beside:
                note(results, "beside", f"{label}, {way}", sent, saved(folder / "beside.jpg", frame))
            note(results, "other", label, sent, saved(folder / "other.jpg", other))
    print_all(results)
    print(f"{time.perf_counter() - began:.0f} s")


def note(results, kind: str, way: str, sent, back) -> None:  # type: ignore[no-untyped-def]
    like = likeness(sent[0], back[0])
    framed = not framing(like)
    apart = -1 if sent[1] is None else sent[1] - back[1]
    results[kind].append((way, like.kept, like.moved, framed, apart))
    told = f"{like.kept:.3f} {like.moved:.4f} beyond {like.beyond:.3f} turn {like.turn:.2f} hash {apart}"
    print(f"  {kind:7} {way:26} {told}", file=sys.stderr, flush=True)


def saved(path: Path, picture: Picture, way: str = ""):  # type: ignore[no-untyped-def]
    if way == "16-bit TIFF":
        deep = np.asarray(picture).astype(np.uint16) * 257
        tifffile.imwrite(path, deep, photometric="rgb")
    else:
        picture.save(path, quality=60 if way == "JPEG 60" else 92)
    seen = picture_facts(path, file_kind(path))  # type: ignore[arg-type]
    return seen.sight, hashed(seen.sight)


def hashed(sight: Picture):  # type: ignore[no-untyped-def]
    try:
        import imagehash
    except ImportError:
        return None
    return imagehash.phash(sight)


def drawn(picks: int) -> Iterator[tuple[str, Picture, Picture, list[tuple[str, Picture]], Picture]]:
    day = invented(people=max(picks // 3, 4), seed=1).day
    frames = defaultdict(list)
    for exposure in day.exposures:
        if exposure.person and not exposure.slate:
            frames[exposure.person].append(exposure)
    people = [exposures for exposures in frames.values() if len(exposures) >= 4]
    for number in range(picks):
        theirs = people[number % len(people)]
        at = 1 + number // len(people) % (len(theirs) - 2)
        others = people[(number + 1) % len(people)]
        pick, mask = figure(theirs[at])
        beside = [("drawn", figure(theirs[at + step])[0]) for step in (-1, 1)]
        yield "drawn", pick, mask, beside, figure(others[min(at, len(others) - 1)])[0]


def figure(exposure) -> tuple[Picture, Picture]:  # type: ignore[no-untyped-def]
    """(a frame of the day upright, where the person is in it)."""
    seed = f"{exposure.camera.label}/{exposure.number}"
    with_them = draw(exposure, appearance_of(exposure.person, exposure.outfit, 1), SIZE, random.Random(seed))
    without = draw(exposure, None, SIZE, random.Random(seed))
    apart = ImageChops.difference(with_them, without).convert("L").filter(ImageFilter.GaussianBlur(3))
    mask = apart.point(lambda value: 255 if value > 14 else 0).filter(ImageFilter.GaussianBlur(1.5))
    return turn_upright(with_them, exposure.orientation), turn_upright(mask, exposure.orientation)


PHOTOGRAPHS = ("astronaut", "camera", "cat", "coffee", "rocket")


def photographs() -> Iterator[tuple[str, Picture, Picture, list[tuple[str, Picture]], Picture]]:
    pictures = {name: enlarged(Image.fromarray(getattr(skimage.data, name)())) for name in PHOTOGRAPHS}
    pictures["motorcycle"] = enlarged(Image.fromarray(skimage.data.stereo_motorcycle()[0]))
    names = list(pictures)
    for number, name in enumerate(names):
        pick = pictures[name]
        mask = Image.new("L", pick.size, 0)
        wide, high = pick.size
        ImageDraw.Draw(mask).ellipse((wide * 0.2, high * 0.1, wide * 0.8, high * 1.1), 255)
        rng = random.Random(name)
        beside = [("by hand", moved(pick, rng, by_hand=True)) for _ in range(6)]
        beside += [("tripod", moved(pick, rng, by_hand=False)) for _ in range(6)]
        if name == "motorcycle":
            beside.append(("the other eye", enlarged(Image.fromarray(skimage.data.stereo_motorcycle()[1]))))
        yield name, pick, mask.filter(ImageFilter.GaussianBlur(4)), beside, pictures[names[number - 1]]


def enlarged(picture: Picture) -> Picture:
    scale = 1000 / max(picture.size)
    size = round(picture.width * scale), round(picture.height * scale)
    return picture.convert("RGB").resize(size, Image.Resampling.LANCZOS)


def moved(picture: Picture, rng: random.Random, by_hand: bool) -> Picture:
    """A frame beside this one."""
    wide, high = picture.size
    long = max(picture.size)
    angle = rng.uniform(0, 2 * np.pi)
    step = rng.uniform(0.001, 0.005) * long
    tilt = np.radians(rng.choice((-1, 1)) * rng.uniform(0.7, 3))
    smile = rng.uniform(0.002, 0.004) * long
    hand = [rng.uniform(-0.01, 0.01) * long for _ in range(2)] if by_hand else [0.0, 0.0]
    lean = np.radians(rng.uniform(-1, 1)) if by_hand else 0.0

    at_y, at_x = np.indices((high, wide), np.float32)
    x, y = at_x - wide / 2, at_y - high / 2
    x, y = x * np.cos(lean) - y * np.sin(lean) + hand[0], x * np.sin(lean) + y * np.cos(lean) + hand[1]
    body = np.exp(-((x / (0.3 * wide)) ** 4 + ((y - 0.1 * high) / (0.5 * high)) ** 4))
    head = np.exp(-((x / (0.18 * wide)) ** 4 + ((y + 0.2 * high) / (0.22 * high)) ** 4))
    mouth = np.exp(-((x / (0.04 * long)) ** 2 + ((y + 0.12 * high) / (0.03 * long)) ** 2))
    to_x = x + body * step * np.cos(angle) - head * tilt * (y + 0.02 * high) + wide / 2
    to_y = y + body * step * np.sin(angle) + head * tilt * x + mouth * smile + high / 2
    channels = (
        map_coordinates(channel, (to_y, to_x), order=1, mode="reflect")
        for channel in np.moveaxis(np.asarray(picture, np.float32), 2, 0)
    )
    frame = np.stack(list(channels), 2)
    frame += np.random.default_rng(rng.randrange(1 << 30)).normal(0, 3, frame.shape)
    return Image.fromarray(np.clip(frame, 0, 255).astype(np.uint8))


def blemishes(picture: Picture, _mask: Picture, rng: random.Random) -> Picture:
    done = picture.copy()
    soft = picture.filter(ImageFilter.GaussianBlur(6))
    spots = Image.new("L", picture.size, 0)
    pencil = ImageDraw.Draw(spots)
    for _ in range(14):
        x, y = rng.uniform(0.3, 0.7) * picture.width, rng.uniform(0.1, 0.8) * picture.height
        size = rng.uniform(0.004, 0.012) * max(picture.size)
        pencil.ellipse((x - size, y - size, x + size, y + size), 255)
        pencil.line((x, y, x + 6 * size, y - 8 * size), 255, 3)
    done.paste(soft, mask=spots.filter(ImageFilter.GaussianBlur(2)))
    return done


def skin(picture: Picture, mask: Picture, _rng: random.Random) -> Picture:
    soft = Image.blend(picture, picture.filter(ImageFilter.GaussianBlur(2.5)), 0.7)
    return Image.composite(soft, picture, mask)


def light(picture: Picture, _mask: Picture, rng: random.Random) -> Picture:
    bright = ImageEnhance.Brightness(picture).enhance(rng.uniform(1.15, 1.35))
    red, green, blue = ImageEnhance.Contrast(bright).enhance(rng.uniform(0.9, 1.25)).split()
    return Image.merge(
        "RGB", (red.point(lambda v: min(v * 1.06, 255)), green, blue.point(lambda v: v * 0.92))
    )


def dark(picture: Picture, _mask: Picture, rng: random.Random) -> Picture:
    return ImageEnhance.Brightness(picture).enhance(rng.uniform(0.55, 0.75))


def grey(picture: Picture, _mask: Picture, _rng: random.Random) -> Picture:
    return ImageEnhance.Contrast(picture.convert("L")).enhance(1.2).convert("RGB")


def plain_background(picture: Picture, mask: Picture, rng: random.Random) -> Picture:
    colour = tuple(rng.randrange(30, 250) for _ in range(3))
    return Image.composite(picture, Image.new("RGB", picture.size, colour), mask)


def busy_background(picture: Picture, mask: Picture, rng: random.Random) -> Picture:
    scene = Image.new("RGB", picture.size, tuple(rng.randrange(40, 160) for _ in range(3)))
    pencil = ImageDraw.Draw(scene)
    for _ in range(160):
        x, y = rng.uniform(0, picture.width), rng.uniform(0, picture.height)
        size = rng.uniform(0.01, 0.06) * max(picture.size)
        colour = tuple(rng.randrange(256) for _ in range(3))
        pencil.ellipse((x - size, y - size, x + size, y + size), colour)
        pencil.line((x, y, x + rng.uniform(-9, 9) * size, y + rng.uniform(-9, 9) * size), colour, 4)
    return Image.composite(picture, scene.filter(ImageFilter.GaussianBlur(rng.uniform(0, 6))), mask)


def crop(picture: Picture, _mask: Picture, rng: random.Random) -> Picture:
    high = picture.height if picture.height * 4 < picture.width * 5 else picture.width * 5 // 4
    wide = high * 4 // 5
    left = (picture.width - wide) // 2 + int(rng.uniform(-0.05, 0.05) * (picture.width - wide))
    return picture.crop((left, 0, left + wide, high))


def tight_crop(picture: Picture, _mask: Picture, rng: random.Random) -> Picture:
    wide, high = int(picture.width * 0.6), int(picture.height * 0.6)
    left, top = int(picture.width * rng.uniform(0.15, 0.25)), int(picture.height * rng.uniform(0.0, 0.1))
    return picture.crop((left, top, left + wide, top + high))


def sharpened(picture: Picture, _mask: Picture, _rng: random.Random) -> Picture:
    return picture.filter(ImageFilter.UnsharpMask(2, 150, 2))


def smaller(picture: Picture, _mask: Picture, _rng: random.Random) -> Picture:
    return picture.reduce(2)


def as_it_is(picture: Picture, mask: Picture, rng: random.Random) -> Picture:
    return light(picture, mask, rng)


def everything(picture: Picture, mask: Picture, rng: random.Random) -> Picture:
    done = blemishes(skin(picture, mask, rng), mask, rng)
    return crop(busy_background(light(done, mask, rng), mask, rng), mask, rng)


WAYS: dict[str, Callable[[Picture, Picture, random.Random], Picture]] = {
    "blemishes": blemishes,
    "skin": skin,
    "light and colour": light,
    "darker": dark,
    "black and white": grey,
    "background, plain": plain_background,
    "background, busy": busy_background,
    "crop 4:5": crop,
    "crop to 60 %": tight_crop,
    "sharpened": sharpened,
    "half the size": smaller,
    "JPEG 60": as_it_is,
    "16-bit TIFF": as_it_is,
    "all of it": everything,
}
ENDINGS = {"16-bit TIFF": ".tif"}


def print_all(results) -> None:  # type: ignore[no-untyped-def]
    print(f"limits: kept at least {KEPT}, moved at most {MOVED}, the same framing or a crop")
    print(f"{'':34} pairs  kept: least median   moved: median most   taken for the same")
    for kind, rows in results.items():
        ways = defaultdict(list)
        for row in rows:
            ways[row[0]].append(row)
        for way, some in [*sorted(ways.items()), ("all", rows)]:
            kept, shifted = ([row[n] for row in some] for n in (1, 2))
            same = sum(row[1] >= KEPT and row[2] <= MOVED and row[3] for row in some)
            alone = sum(row[1] >= KEPT and row[2] <= MOVED for row in some)
            print(
                f"{kind:7} {way:26} {len(some):5}   {min(kept):9.3f} {np.median(kept):6.3f}"
                f"   {np.median(shifted):12.4f} {max(shifted):6.4f}   {same:5} ({alone} without framing)"
            )
    same, beside = ([row[4] for row in results[kind]] for kind in ("same", "beside"))
    if min(same) >= 0:
        best = min(
            range(65),
            key=lambda at: sum(d > at for d in same) / len(same) + sum(d <= at for d in beside) / len(beside),
        )
        lost, taken = sum(d > best for d in same), sum(d <= best for d in beside)
        print(f"perceptual hash at its best limit, {best} of 64 bits: {lost} of {len(same)} versions lost,")
        print(f"{taken} of {len(beside)} frames beside taken for the pick")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 24)
