"""Small pictures of an invented singer, and shoots with picks, for the tests of retouching."""

from __future__ import annotations

import random
from collections.abc import Sequence
from pathlib import Path

from PIL import Image, ImageDraw, ImageEnhance, ImageFilter
from sqlmodel import select

from onsite.frames.ingest import ingest
from onsite.reconcile.overrides import give_frames
from onsite.store.events import EventKind, add_event
from onsite.store.schema import Frame, Person, SequenceNumber
from onsite.store.shoot import Shoot
from tests.frames.pictures import exif

SIZE = (640, 960)


def portrait(person: int, pose: int = 0, size: tuple[int, int] = SIZE) -> Image.Image:
    """A patterned figure before a plain backdrop; another `pose` is the frame beside it."""
    rng = random.Random(person)
    shift = random.Random(f"{person} {pose}")
    wide, high = SIZE
    picture = Image.new("RGB", SIZE, (96, 102, 104))
    pencil = ImageDraw.Draw(picture)
    x = wide / 2 + (shift.uniform(6, 12) * shift.choice((-1, 1)) if pose else 0)
    colours = [tuple(rng.randrange(30, 230) for _ in range(3)) for _ in range(5)]
    shoulders = rng.uniform(110, 190)
    pencil.polygon(
        [(x - shoulders - 50, high), (x - shoulders, 440), (x + shoulders, 440), (x + shoulders + 50, high)],
        colours[0],
    )
    for _ in range(60):
        at_x, at_y = x + rng.uniform(-150, 150), rng.uniform(460, 950)
        side = rng.uniform(5, 26)
        pencil.rectangle(
            (at_x, at_y, at_x + side, at_y + side * rng.uniform(0.5, 2)), rng.choice(colours[1:])
        )
    head = x + (shift.uniform(4, 8) if pose else 0)
    broad, chin = rng.uniform(80, 115), rng.uniform(400, 440)
    pencil.ellipse((head - broad, 160, head + broad, chin), (214, 170, 140))
    for _ in range(40):
        at_x, at_y = head + rng.uniform(-95, 95), rng.uniform(130, 230)
        pencil.line((at_x, at_y, at_x + rng.uniform(-20, 20), at_y + 60), colours[4], 3)
    eyes = rng.uniform(30, 55)
    for side in (-eyes, eyes):
        pencil.ellipse((head + side - 14, 270, head + side + 14, 290), (40, 40, 50))
    pencil.arc((head - 40, chin - 110, head + 40, chin - 50), 20, 160, (120, 40, 40), 6)
    return picture.filter(ImageFilter.GaussianBlur(1)).resize(size)


def retouched(picture: Image.Image) -> Image.Image:
    """The same picture a little brighter and more colourful, with something healed."""
    done = ImageEnhance.Color(ImageEnhance.Brightness(picture).enhance(1.1)).enhance(1.2)
    wide, high = done.size
    spot = (wide // 2 - 6, high // 3, wide // 2 + 6, high // 3 + 12)
    done.paste(done.crop(spot).filter(ImageFilter.GaussianBlur(4)), spot[:2])
    return done


def shoot_day(shoot: Shoot, folder: Path, people: int = 3, poses: int = 2) -> dict[int, list[int]]:
    """Frames of some people, given to them by hand. Returns frame ids by person id."""
    folder.mkdir(parents=True, exist_ok=True)
    for person in range(1, people + 1):
        for pose in range(poses):
            path = folder / f"_FCA{person * 10 + pose:04}.JPG"
            tags = exif(taken=f"2026:06:13 10:{person:02}:{pose:02}", serial="7", model="Model")
            portrait(person, pose).save(path, quality=92, exif=tags)
    ingest(shoot, [folder])
    with shoot.writing() as session:
        for person in range(1, people + 1):
            code = f"AAAA0000000{person}"
            who = Person(
                id=person,
                key=f"C-{person}",
                name=f"Singer {person}",
                family=f"Singer{person}",
                given="Ana",
                group="Altos" if person % 2 else "Basses",
                code=code,
            )
            session.add(who)
        session.flush()
        for person in range(1, people + 1):
            session.add(SequenceNumber(number=person, person_id=person))
        frames = {name: frame for frame, name in session.exec(select(Frame.id, Frame.name)) if frame}
    theirs: dict[int, list[int]] = {}
    for name, frame in sorted(frames.items()):
        person = int(name.removeprefix("_FCA")) // 10
        theirs.setdefault(person, []).append(frame)
    for person, ids in theirs.items():
        give_frames(shoot, ids, person)
    return theirs


def pick(shoot: Shoot, person: int, frames: Sequence[int], notes: dict[int, str] | None = None) -> None:
    """These frames are the person's choice."""
    said = {str(frame): text for frame, text in (notes or {}).items()}
    with shoot.writing() as session:
        add_event(
            session, EventKind.PICKED, shoot.now(), person_id=person, frames=list(frames), notes=said, note=""
        )
