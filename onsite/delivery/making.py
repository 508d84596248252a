"""Making the files of a set, on all cores, each whole or not at all and read back."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from onsite.delivery.finish import Terms, finish
from onsite.delivery.made import Job, Kept, made_in
from onsite.delivery.whole import write_whole
from onsite.frames.examine import sha256_of
from onsite.frames.picture import CannotLook, NotAFrame
from onsite.problems import Problem

Progress = Callable[[int, int], None]
_END_OF_IMAGE = b"\xff\xd9"  # ITU-T T.81, table B.1


class NotKept(Exception):  # noqa: N818
    """A finished file could not be written, or does not read back: the whole delivery stops."""


def make_all(
    jobs: Sequence[Job], folder: Path, terms: Terms, step: Callable[[], None]
) -> tuple[list[Kept], list[tuple[Job, str]]]:
    """Makes the files in `folder`, in threads: decoders, encoders and hashes let go of Python's lock. No more
    pictures are in memory than there are cores. Returns what was made and (what was not, why).

    What an earlier delivery left there of the same making is taken as it is. Raises Problem where files
    cannot be written.
    """
    kept: list[Kept] = []
    refused: list[tuple[Job, str]] = []
    pool = ThreadPoolExecutor(os.cpu_count())
    try:
        for job, outcome in zip(jobs, pool.map(lambda job: _make(job, folder, terms), jobs), strict=True):
            step()
            if isinstance(outcome, Kept):
                kept.append(outcome)
            else:
                refused.append((job, outcome))
    except (NotKept, OSError) as error:
        raise cannot_write(folder.parent.parent, error) from error
    finally:
        pool.shutdown(cancel_futures=True)
    return kept, refused


def cannot_write(folder: Path, error: Exception) -> Problem:
    """What is said where a delivery cannot go on for want of a disk that takes it."""
    reason = getattr(error, "strerror", None) or str(error)
    return Problem(
        f"{folder} does not take the delivery: {reason}. Nothing was recorded as delivered.",
        "Free the disk or name another folder, and do it again: it goes on where it stopped.",
    )


def _make(job: Job, folder: Path, terms: Terms) -> Kept | str:
    """The file, or why it cannot be made."""
    place = folder / job.name
    there = _there(job, place)
    if there is not None:
        return there
    source = job.wanted.source
    try:
        if sha256_of(source) != job.wanted.sha256:
            return f"{source.name} is no longer what it was when it was accepted"
        finished = finish(source, terms, job.fields)
    except (CannotLook, NotAFrame) as error:
        return f"{source.name}: {error}"
    except OSError as error:
        return f"{source.name} cannot be read: {error.strerror or error}"
    sha256 = _write(place, finished.content)
    smaller = max(finished.size) < terms.long_side
    return Kept(job, job.name, len(finished.content), sha256, smaller=smaller)


def _there(job: Job, place: Path) -> Kept | None:
    if not place.is_file():
        return None
    with place.open("rb") as file:
        if made_in(file) != job.made:
            return None
    content = place.read_bytes()
    if not content.endswith(_END_OF_IMAGE):
        return None
    return Kept(job, job.name, len(content), hashlib.sha256(content).hexdigest())


def _write(place: Path, content: bytes) -> str:
    """Writes a file whole or not at all and returns its SHA-256, which it reads back with."""
    sha256 = hashlib.sha256(content).hexdigest()
    place.parent.mkdir(parents=True, exist_ok=True)
    write_whole(place, content)
    if sha256_of(place) != sha256:
        raise NotKept(f"{place.name} does not read back as it was written")
    return sha256
