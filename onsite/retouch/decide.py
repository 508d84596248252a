"""Decisions by hand on what came back: accepted after all, or to be done again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from onsite.files.saving import sha256_of
from onsite.frames.called import frame_labels
from onsite.frames.copies import CopyFailed
from onsite.frames.found import kind_of
from onsite.frames.picture import CannotLook, NotAFrame
from onsite.problems import Problem
from onsite.progress.batches import Out, outs_of, read_batches
from onsite.retouch.memory import Waiting, alone, keep_waiting, waiting
from onsite.retouch.pictured import pictured
from onsite.retouch.receive import keep_retouched, record_of, record_received
from onsite.store.record import Kind
from onsite.store.shoot import Shoot
from onsite.wrap.choose import choose
from onsite.wrap.current import stands


@dataclass(frozen=True, slots=True)
class Decided:
    """Frames on which somebody decided, with the file in the shoot's folder where one was accepted."""

    out: Out
    file: str = ""


def accept(
    shoot: Shoot, frames: Sequence[str], reason: str = "", file: Path | None = None, station: str = ""
) -> list[Decided]:
    """Accepts the returned files that wait for these frames, or that `file` for one frame.

    Raises Problem, with nothing accepted, where a frame is not out, where no file or several wait for it, or
    where the file is not what it was any more.
    """
    with alone(shoot):
        outs, labels = _outs(shoot, frames)
        now = stands(shoot)
        chosen = [
            (out, *_file_for(shoot, out, labels[out.frame], now[out.frame].person, file, len(outs)))
            for out in outs
        ]
        try:
            kept = [(out, keep_retouched(shoot, path, sha256, out), sha256) for out, path, sha256 in chosen]
        except CopyFailed as error:
            raise Problem(f"Nothing was accepted: {error}.", "Free the disk and do it again.") from error
        record_received(shoot, kept, station, reason)
        done = {out.frame for out, _, _ in kept}
        keep_waiting(shoot, [one for one in waiting(shoot) if one.sent_back or one.frame not in done])
    return [Decided(out, file_kept) for out, file_kept, _ in kept]


def again(shoot: Shoot, frames: Sequence[str], reason: str, station: str = "") -> list[Decided]:
    """These frames are to be retouched again, for that reason: what came back does not count any more.

    Raises Problem, with nothing changed, without a reason, or where nothing has come back of a frame.
    """
    if not reason.strip():
        raise Problem("Why is it to be done again?", "Say it with --reason TEXT; the retoucher reads it.")
    with alone(shoot):
        here = waiting(shoot)
        outs, labels = _outs(shoot, frames)
        back = {one.frame for one in here if not one.sent_back}
        for out in outs:
            if out.received is None and out.frame not in back:
                raise Problem(
                    f"Nothing has come back of {labels[out.frame]}.",
                    "Receive it first: onsite retouch receive",
                )
        now = shoot.now()
        with shoot.writing() as session:
            for out in outs:
                record_of(session, Kind.SENT_BACK, out, now, station, reason=reason.strip())
        chosen = {out.frame for out in outs}
        keep_waiting(shoot, [replace(w, sent_back=w.sent_back or w.frame in chosen) for w in here])
    return [Decided(out) for out in outs]


def _outs(shoot: Shoot, frames: Sequence[str]) -> tuple[list[Out], dict[int, str]]:
    """(the frames as they went out, what every frame is called)."""
    with shoot.reading() as session:
        labels = frame_labels(session)
        chosen = choose(session, frames)
        outs = outs_of(read_batches(session))
    for frame in chosen:
        if frame not in outs:
            raise Problem(f"{labels[frame]} did not go out to be retouched.", "See: onsite retouch list")
    return [outs[frame] for frame in chosen], labels


def _file_for(
    shoot: Shoot, out: Out, label: str, owner: int | None, file: Path | None, frames: int
) -> tuple[Path, str]:
    """(path, SHA-256) of the file that is to be accepted for a frame."""
    if owner != out.person:
        raise Problem(
            f"{label} is not under the name of the person who picked it any more.",
            "Give it back to them first, or leave it: onsite frames why",
        )
    if out.received is not None:
        raise Problem(f"{label} is back already.", "To have it done again: onsite retouch again")
    if file is not None:
        if frames > 1:
            raise Problem("--file is for one frame.", "Name one frame with it.")
        return _readable(file)
    files = [one for one in waiting(shoot) if one.frame == out.frame and not one.sent_back]
    if not files:
        raise Problem(f"No returned file waits for {label}.", "Receive it first, or name it with --file.")
    if len(files) > 1:
        names = ", ".join(one.path for one in files)
        raise Problem(f"{len(files)} files wait for {label}: {names}", "Name the one with --file.")
    return _unchanged(files[0])


def _readable(path: Path) -> tuple[Path, str]:
    kind = kind_of(path)
    try:
        if kind is None:
            raise NotAFrame("this is not a JPEG, TIFF or HEIC")
        pictured(path, kind)
        return path, sha256_of(path)
    except (CannotLook, NotAFrame) as error:
        raise Problem(f"{path}: {error}", "Ask for the file again.") from error
    except OSError as error:
        raise Problem(f"{path} cannot be read: {error.strerror or error}", "Check the path.") from error


def _unchanged(one: Waiting) -> tuple[Path, str]:
    path = Path(one.path)
    try:
        same = sha256_of(path) == one.sha256
    except OSError as error:
        raise Problem(f"{path} cannot be read: {error.strerror or error}", "Receive it again.") from error
    if not same:
        raise Problem(f"{path} has changed since it was received.", "Receive it again.")
    return path, one.sha256
