"""A choir whose pictures are chosen, retouched and delivered in the tests."""

from __future__ import annotations

import hashlib
import io
import subprocess
from dataclasses import dataclass, replace
from pathlib import Path

from PIL import Image

from onsite.checkin.check_in import check_in
from onsite.checkin.walk_ins_and_corrections import add_walk_in
from onsite.frames.ingest import ingest
from onsite.reconcile.overrides import give
from onsite.roster.load_roster import load_list
from onsite.roster.read_people import read_people
from onsite.store.events import EventKind, add_event
from onsite.store.settings import Agreement, Settings
from onsite.store.shoot import Shoot, create_shoot

PRIVATE = ("ana@example.org", "+43 1 2345", "nut allergy", "Lane 7")
ROSTER = f"""key,given,family,group,email,phone,consent,note,address
S-1,Ana,Horvat,Altos,{PRIVATE[0]},{PRIVATE[1]},yes,{PRIVATE[2]},{PRIVATE[3]}
S-2,Ελένη,Παπασταύρου,Altos,,,ναι,,
S-3,Bo,Lind,Tenors,,,no,,
S-4,Cleo,Marín,Tenors,,,"yes, not online",,
S-5,Ana,Horvat,Tenors,,,yes,,
"""
SIZE = (120, 80)


@dataclass(frozen=True)
class Choir:
    """The shoot; frames 1 and 2 are S-1's, 3 and 4 S-2's, and so on."""

    shoot: Shoot

    def agreed(self, **terms: object) -> Choir:
        settings = replace(self.shoot.settings, agreed=replace(self.shoot.settings.agreed, **terms))  # type: ignore[arg-type]
        return Choir(replace(self.shoot, settings=settings))

    def person(self, key: str) -> int:
        with self.shoot.reading() as session:
            return next(person.id for person in read_people(session) if person.key == key)

    def walked_in(self, given: str, family: str, group: str, frame: int, consent: str = "yes") -> str:
        """Somebody who is on no list, with a frame under their name. Returns their key."""
        key = add_walk_in(self.shoot, given, family, group, consent=consent, new_group=True).person.key
        give(self.shoot, [f"_A{frame:04}.JPG"], key)
        return key

    def pick(self, key: str, *frames: int) -> None:
        with self.shoot.writing() as session:
            person = self.person(key)
            add_event(
                session,
                EventKind.PICKED,
                self.shoot.now(),
                person_id=person,
                frames=list(frames),
                notes={},
                note="",
            )

    def accept(self, key: str, frame: int, content: bytes | None = None, ending: str = "jpg") -> Path:
        """An accepted retouched file of a frame."""
        content = drawn(frame) if content is None else content
        path = self.shoot.folder / "retouched" / f"{frame}.{ending}"
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content)
        details = {"batch": "B1", "version": 1, "file": f"retouched/{path.name}"}
        sha256 = hashlib.sha256(content).hexdigest()
        with self.shoot.writing() as session:
            person = self.person(key)
            add_event(
                session,
                EventKind.RECEIVED,
                self.shoot.now(),
                person_id=person,
                frame_id=frame,
                sha256=sha256,
                **details,
            )
        return path

    def all_accepted(self) -> None:
        for number in range(1, 6):
            self.pick(f"S-{number}", 2 * number - 1)
            self.accept(f"S-{number}", 2 * number - 1)


def made_choir(folder: Path) -> Choir:
    settings = Settings(
        "Spring concert",
        "Choir office",
        "2026-06-13",
        "Europe/Vienna",
        agreed=Agreement(long_side=100, quality=90),
    )
    shoot = create_shoot(folder, settings, "AAAA")
    (folder / "list.csv").write_text(ROSTER, encoding="utf-8")
    load_list(shoot, folder / "list.csv")
    card = folder / "cards" / "100CHOIR"
    card.mkdir(parents=True)
    for frame in range(1, 11):
        (card / f"_A{frame:04}.JPG").write_bytes(drawn(frame))
    ingest(shoot, [card], "A")
    for number in range(1, 6):
        check_in(shoot, f"S-{number}")
        give(shoot, [f"_A{frame:04}.JPG" for frame in (2 * number - 1, 2 * number)], f"S-{number}")
    return Choir(shoot)


def drawn(
    number: int, size: tuple[int, int] = SIZE, mode: str = "RGB", form: str = "JPEG", **how: object
) -> bytes:
    """A picture of which each part has another colour; another number is another content."""
    picture = Image.linear_gradient("L").resize(size)
    colours = Image.merge("RGB", [picture, picture.rotate(180), Image.new("L", size, 20 * number % 256)])
    content = io.BytesIO()
    colours.convert(mode).save(content, form, **how)  # type: ignore[arg-type]
    return content.getvalue()


def sha256sum(folder: Path, manifest: str = "manifest-sha256.txt") -> None:
    """What GNU coreutils say of a manifest: every file is there, and as it is listed."""
    done = subprocess.run(
        ["sha256sum", "--strict", "-c", manifest], cwd=folder, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout + done.stderr


def listing(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
