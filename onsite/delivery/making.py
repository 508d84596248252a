"""Making the files of a set, on all cores, each whole or not at all and read back."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

from onsite.delivery.finish import FinishTerms, finish_picture
from onsite.delivery.made import DeliveredFile, DeliveryJob, delivered_file, whole_jpeg
from onsite.files.saving import sha256_of, write_atomic
from onsite.frames.picture import NotAPicture, UnreadablePicture
from onsite.problems import Problem

Progress = Callable[[int, int], None]


class NotWritten(Exception):  # noqa: N818
    """A finished file could not be written, or does not read back: the whole delivery stops."""


def make_all(
    jobs: Sequence[tuple[DeliveryJob, Path]], terms: FinishTerms, step: Progress
) -> list[DeliveredFile | str]:
    """Makes files, each in its folder, in threads: decoders, encoders and hashes let go of Python's lock. No
    more pictures are in memory than there are cores. Returns for each the file, or why it was not made.

    What an earlier delivery left there of the same making is taken as it is. Raises NotKept or OSError where
    files cannot be written.
    """
    outcomes: list[DeliveredFile | str] = []
    pool = ThreadPoolExecutor(os.cpu_count())

    def make(job: tuple[DeliveryJob, Path]) -> DeliveredFile | str:
        return _make(job[0], job[1], terms)

    try:
        for outcome in pool.map(make, jobs):
            outcomes.append(outcome)
            step(len(outcomes), len(jobs))
    finally:
        pool.shutdown(cancel_futures=True)
    return outcomes


def cannot_write(folder: Path, error: Exception) -> Problem:
    """What is said where a delivery cannot go on for want of a disk that takes it."""
    reason = getattr(error, "strerror", None) or str(error)
    return Problem(
        f"{folder} does not take the delivery: {reason}. Nothing was recorded as delivered.",
        "Free the disk or name another folder, and do it again: it goes on where it stopped.",
    )


def _make(job: DeliveryJob, folder: Path, terms: FinishTerms) -> DeliveredFile | str:
    """The file, or why it cannot be made."""
    place = folder / job.name
    there = _existing(job, place)
    if there is not None:
        return there
    source = job.wanted.source
    try:
        if sha256_of(source) != job.wanted.sha256:
            return f"{source.name} is no longer what it was when it was accepted or read in"
        finished = finish_picture(source, terms, job.fields)
    except (UnreadablePicture, NotAPicture) as error:
        return f"{source.name}: {error}"
    except OSError as error:
        return f"{source.name} cannot be read: {error.strerror or error}"
    kept = delivered_file(job, job.name, finished.content)
    _write(place, finished.content, kept.sha256)
    return replace(kept, smaller=max(finished.size) < terms.long_side)


def _existing(job: DeliveryJob, place: Path) -> DeliveredFile | None:
    if not place.is_file():
        return None
    content = whole_jpeg(place.read_bytes(), job.made)
    return None if content is None else delivered_file(job, job.name, content)


def _write(place: Path, content: bytes, sha256: str) -> None:
    """Writes a file whole or not at all, and reads it back."""
    place.parent.mkdir(parents=True, exist_ok=True)
    write_atomic(place, content)
    if sha256_of(place) != sha256:
        raise NotWritten(f"{place.name} does not read back as it was written")
