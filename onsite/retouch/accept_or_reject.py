"""Decisions of a person on returned files: accept them after all, or have them done again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from onsite.core.errors import Problem
from onsite.files.atomic_write import sha256_of
from onsite.files.verified_copies import CopyFailed
from onsite.frames.find_frame_files import file_kind
from onsite.frames.find_frames import find_frames, frame_labels
from onsite.frames.open_frame_picture import NotAPicture, UnreadablePicture
from onsite.reconcile.current_match import current_verdicts
from onsite.retouch.decode_returned_file import picture_facts
from onsite.retouch.receive_batch import add_retouch_event, keep_retouched, record_received
from onsite.retouch.retouch_folder import HeldFile, held_files, retouch_lock, save_held_files
from onsite.status.batch_status import BatchFrame, frames_at_retouch, read_batches
from onsite.store.events import EventKind
from onsite.store.shoot import Shoot


@dataclass(frozen=True, slots=True)
class RetouchDecision:
    """A frame that was decided on. `file` is the accepted file's path in the shoot's folder, or empty."""

    out: BatchFrame
    file: str = ""


def accept(
    shoot: Shoot, frames: Sequence[str], reason: str = "", file: Path | None = None, station: str = ""
) -> list[RetouchDecision]:
    """Accepts the returned files held for these frames, or `file` for a single frame.

    Raises Problem, and accepts nothing, where a frame is not out, where no file or several are held for it,
    or where the file has changed.
    """
    with retouch_lock(shoot):
        outs, labels = _outs(shoot, frames)
        now = current_verdicts(shoot)
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
        save_held_files(
            shoot, [held for held in held_files(shoot) if held.sent_back or held.frame not in done]
        )
    return [RetouchDecision(out, file_kept) for out, file_kept, _ in kept]


def again(shoot: Shoot, frames: Sequence[str], reason: str, station: str = "") -> list[RetouchDecision]:
    """Sends these frames back to be retouched again, for `reason`: what was returned no longer counts.

    Raises Problem, and changes nothing, without a reason, or where nothing was returned for a frame.
    """
    if not reason.strip():
        raise Problem("Why is it to be done again?", "Say it with --reason TEXT; the retoucher reads it.")
    with retouch_lock(shoot):
        here = held_files(shoot)
        outs, labels = _outs(shoot, frames)
        back = {held.frame for held in here if not held.sent_back}
        for out in outs:
            if out.received is None and out.frame not in back:
                raise Problem(
                    f"Nothing has come back of {labels[out.frame]}.",
                    "Receive it first: onsite retouch receive",
                )
        now = shoot.now()
        with shoot.writing() as session:
            for out in outs:
                add_retouch_event(session, EventKind.SENT_BACK, out, now, station, reason=reason.strip())
        chosen = {out.frame for out in outs}
        save_held_files(shoot, [replace(w, sent_back=w.sent_back or w.frame in chosen) for w in here])
    return [RetouchDecision(out) for out in outs]


def _outs(shoot: Shoot, frames: Sequence[str]) -> tuple[list[BatchFrame], dict[int, str]]:
    """(the frames as they went out, the labels of all frames)."""
    with shoot.reading() as session:
        labels = frame_labels(session)
        chosen = find_frames(session, frames)
        outs = frames_at_retouch(read_batches(session))
    for frame in chosen:
        if frame not in outs:
            raise Problem(f"{labels[frame]} did not go out to be retouched.", "See: onsite retouch list")
    return [outs[frame] for frame in chosen], labels


def _file_for(
    shoot: Shoot, out: BatchFrame, label: str, owner: int | None, file: Path | None, frames: int
) -> tuple[Path, str]:
    """(path, SHA-256) of the file to accept for a frame."""
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
    files = [held for held in held_files(shoot) if held.frame == out.frame and not held.sent_back]
    if not files:
        raise Problem(f"No returned file waits for {label}.", "Receive it first, or name it with --file.")
    if len(files) > 1:
        names = ", ".join(held.path for held in files)
        raise Problem(f"{len(files)} files wait for {label}: {names}", "Name the one with --file.")
    return _unchanged(files[0])


def _readable(path: Path) -> tuple[Path, str]:
    kind = file_kind(path)
    try:
        if kind is None:
            raise NotAPicture("this is not a JPEG, TIFF or HEIC")
        picture_facts(path, kind)
        return path, sha256_of(path)
    except (UnreadablePicture, NotAPicture) as error:
        raise Problem(f"{path}: {error}", "Ask for the file again.") from error
    except OSError as error:
        raise Problem(f"{path} cannot be read: {error.strerror or error}", "Check the path.") from error


def _unchanged(waiting: HeldFile) -> tuple[Path, str]:
    path = Path(waiting.path)
    try:
        same = sha256_of(path) == waiting.sha256
    except OSError as error:
        raise Problem(f"{path} cannot be read: {error.strerror or error}", "Receive it again.") from error
    if not same:
        raise Problem(f"{path} has changed since it was received.", "Receive it again.")
    return path, waiting.sha256
