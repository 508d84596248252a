"""Files about batches in the shoot's folder, beside the record: what each file looked like when it went out,
and which returned files are held for a decision.

    retouch/batch-1/list.json    what went out, with the SHA-256 of file and pixels
    retouch/batch-1/f12.png      a small picture of it (in batches of earlier versions f12.jpg, in grey)
    retouch/returned.json        returned files that were not accepted

They are pictures of people: they travel with the folder, and must be deleted with a person's data.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Collection, Sequence
from contextlib import AbstractContextManager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from onsite.core.errors import Problem
from onsite.core.frame_ref import frame_id_text
from onsite.files.atomic_write import atomic_file
from onsite.files.exclusive_lock import exclusive_lock
from onsite.store.shoot import Shoot

if TYPE_CHECKING:
    from PIL import Image

FOLDER = "retouch"


@dataclass(frozen=True, slots=True)
class SentFile:
    """A file as it went out. Width and height are in pixels as displayed, 0 where it could not be decoded."""

    frame: int
    file: str
    sha256: str
    pixels: str
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class HeldFile:
    """A returned file that was not accepted."""

    frame: int  # the pick that it may be
    person: int
    batch: str
    version: int
    path: str
    sha256: str
    why: str
    sent_back: bool = False  # a person decided against it

    def data(self) -> dict[str, str]:
        """The file as a JSON object."""
        return {"frame": frame_id_text(self.frame), "file": self.path, "reason": self.why}


def retouch_lock(shoot: Shoot) -> AbstractContextManager[None]:
    """Locks the shoot's folder against other sends and receives. Raises Problem where one is running."""
    return exclusive_lock(shoot.folder / FOLDER, "Another batch of this shoot is being sent or received.")


def remember_batch(
    shoot: Shoot, batch: str, went: Sequence[SentFile], sights: dict[int, Image.Image]
) -> None:
    """Saves what a batch looked like, in place of the remains of an interrupted send. Raises OSError or
    Problem."""
    folder = shoot.folder / FOLDER / batch
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for frame, sight in sights.items():
        sight.save(folder / f"{frame_id_text(frame)}.png")
    _write(folder / "list.json", [asdict(sent_file) for sent_file in went])


def forget_batch(shoot: Shoot, batch: str) -> None:
    """Deletes what was saved of a batch that was not sent after all."""
    shutil.rmtree(shoot.folder / FOLDER / batch, ignore_errors=True)


def sent_files(shoot: Shoot, batch: str) -> dict[int, SentFile]:
    """The files of a batch as they went out, by frame. Raises Problem where that is lost."""
    path = shoot.folder / FOLDER / batch / "list.json"
    return {row["frame"]: SentFile(**row) for row in _read(path)}


def sent_picture_path(shoot: Shoot, batch: str, frame: int) -> Path | None:
    """The file of a small picture of a frame as it went out; None where there is none."""
    folder = shoot.folder / FOLDER / batch
    names = (f"{frame_id_text(frame)}.{ending}" for ending in ("png", "jpg"))
    return next((path for name in names if (path := folder / name).is_file()), None)


def sight_of(shoot: Shoot, batch: str, frame: int) -> Image.Image | None:
    """A small grey picture of a frame as it went out; None where it could not be decoded."""
    folder = shoot.folder / FOLDER / batch
    seen = _picture(folder / f"{frame_id_text(frame)}.png") or _picture(
        folder / f"{frame_id_text(frame)}.jpg"
    )
    return None if seen is None else seen.convert("L")


def picture_colours(shoot: Shoot, batch: str, frame: int) -> Image.Image | None:
    """The same in colour; None also for batches of earlier versions."""
    return _picture(shoot.folder / FOLDER / batch / f"{frame_id_text(frame)}.png")


def _picture(path: Path) -> Image.Image | None:
    from PIL import Image

    if not path.is_file():
        return None
    try:
        with Image.open(path) as picture:
            picture.load()
            return picture
    except Exception:  # a damaged picture raises many kinds of errors; it counts as missing
        return None


def held_files(shoot: Shoot) -> tuple[HeldFile, ...]:
    """All returned files that were not accepted, including those sent back. Raises Problem."""
    path = shoot.folder / FOLDER / "returned.json"
    return tuple(HeldFile(**row) for row in _read(path)) if path.is_file() else ()


def read_held_files(shoot: Shoot) -> tuple[HeldFile, ...]:
    """The held files that still need a decision. Raises Problem."""
    return tuple(held_file for held_file in held_files(shoot) if not held_file.sent_back)


def save_held_files(shoot: Shoot, files: Sequence[HeldFile]) -> None:
    """Writes all held files. Raises Problem."""
    _write(shoot.folder / FOLDER / "returned.json", [asdict(file) for file in files])


def lists_without(
    shoot: Shoot, person: int, frames: Collection[int], sent: Collection[tuple[str, int]]
) -> dict[Path, str]:
    """The lists that a person or their frames are in, and their texts without: held files are left out, and
    file names blanked in the rows of `sent`, which are (batch, frame). Raises Problem."""
    texts = {}
    for batch in sorted({batch for batch, _ in sent}):
        path = shoot.folder / FOLDER / batch / "list.json"
        if path.is_file():
            rows = [row | {"file": ""} if (batch, row["frame"]) in sent else row for row in _read(path)]
            texts[path] = _text(rows)
    held = held_files(shoot)
    kept = [file for file in held if file.person != person and file.frame not in frames]
    if len(kept) < len(held):
        texts[shoot.folder / FOLDER / "returned.json"] = _text([asdict(file) for file in kept])
    return texts


def _write(path: Path, content: Any) -> None:
    with atomic_file(path) as stream:
        stream.write(_text(content).encode())


def _text(content: Any) -> str:
    return json.dumps(content, ensure_ascii=False, indent=1)


def _read(path: Path) -> list[dict[str, Any]]:
    try:
        content = json.loads(path.read_bytes())
    except (OSError, ValueError) as error:
        raise Problem(f"{path} cannot be read.", "Put back a copy of the shoot's folder.") from error
    assert isinstance(content, list)
    return content
