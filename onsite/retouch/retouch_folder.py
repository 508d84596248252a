"""What the shoot's folder keeps about batches, beside the record: how each file looked when it went out, and
which returned files wait for somebody's decision.

    retouch/batch-1/list.json    what went out, with the SHA-256 of file and pixels
    retouch/batch-1/f12.png      how it looked, small (in batches of earlier versions f12.jpg, in grey)
    retouch/returned.json        files that came back and were not accepted

They are pictures of people: they go where the folder goes, and are to be removed with a person's data.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from onsite.core.errors import Problem
from onsite.files.atomic_write import atomic_file
from onsite.files.exclusive_lock import exclusive_lock
from onsite.store.shoot import Shoot

if TYPE_CHECKING:
    from PIL import Image

FOLDER = "retouch"


@dataclass(frozen=True, slots=True)
class SentFile:
    """A file as it went out: width and height in pixels as displayed, 0 where nobody could look at it."""

    frame: int
    file: str
    sha256: str
    pixels: str
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class HeldFile:
    """A returned file that was not accepted, and why. `frame` is the pick that it may be; `sent_back` where
    somebody decided against it."""

    frame: int
    person: int
    batch: str
    version: int
    path: str
    sha256: str
    why: str
    sent_back: bool = False


def retouch_lock(shoot: Shoot) -> AbstractContextManager[None]:
    """Holds off any other sending and receiving in this shoot's folder. Raises Problem where one is on."""
    return exclusive_lock(shoot.folder / FOLDER, "Another batch of this shoot is being sent or received.")


def remember_batch(
    shoot: Shoot, batch: str, went: Sequence[SentFile], sights: dict[int, Image.Image]
) -> None:
    """Keeps how a batch looked, in place of what a broken send of that name left. Raises OSError, Problem."""
    folder = shoot.folder / FOLDER / batch
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for frame, sight in sights.items():
        sight.save(folder / f"f{frame}.png")
    _write(folder / "list.json", [asdict(sent_file) for sent_file in went])


def forget_batch(shoot: Shoot, batch: str) -> None:
    shutil.rmtree(shoot.folder / FOLDER / batch, ignore_errors=True)


def sent_files(shoot: Shoot, batch: str) -> dict[int, SentFile]:
    """What went out with a batch, by frame. Raises Problem where that is not known any more."""
    path = shoot.folder / FOLDER / batch / "list.json"
    return {row["frame"]: SentFile(**row) for row in _read(path)}


def sight_of(shoot: Shoot, batch: str, frame: int) -> Image.Image | None:
    """How a frame looked when it went out, in grey; None where nobody could look at it."""
    folder = shoot.folder / FOLDER / batch
    seen = _picture(folder / f"f{frame}.png") or _picture(folder / f"f{frame}.jpg")
    return None if seen is None else seen.convert("L")


def picture_colours(shoot: Shoot, batch: str, frame: int) -> Image.Image | None:
    """The same in colour; None too for what went out with an earlier version."""
    return _picture(shoot.folder / FOLDER / batch / f"f{frame}.png")


def _picture(path: Path) -> Image.Image | None:
    from PIL import Image

    if not path.is_file():
        return None
    try:
        with Image.open(path) as picture:
            picture.load()
            return picture
    except Exception:  # a damaged picture fails in many ways; it is none then
        return None


def held_files(shoot: Shoot) -> tuple[HeldFile, ...]:
    path = shoot.folder / FOLDER / "returned.json"
    return tuple(HeldFile(**row) for row in _read(path)) if path.is_file() else ()


def read_held_files(shoot: Shoot) -> tuple[HeldFile, ...]:
    """The returned files on which somebody is to decide: not accepted, and not sent back. Raises Problem."""
    return tuple(held_file for held_file in held_files(shoot) if not held_file.sent_back)


def save_held_files(shoot: Shoot, files: Sequence[HeldFile]) -> None:
    """Writes all files that wait. Raises Problem."""
    _write(shoot.folder / FOLDER / "returned.json", [asdict(file) for file in files])


def _write(path: Path, content: Any) -> None:
    with atomic_file(path) as stream:
        stream.write(json.dumps(content, ensure_ascii=False, indent=1).encode())


def _read(path: Path) -> list[dict[str, Any]]:
    try:
        content = json.loads(path.read_bytes())
    except (OSError, ValueError) as error:
        raise Problem(f"{path} cannot be read.", "Put back a copy of the shoot's folder.") from error
    assert isinstance(content, list)
    return content
