"""The camera body a file comes from, and its label."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count
from string import ascii_uppercase

from sqlmodel import Session, select

from onsite.frames.frame_exif import ExifFacts
from onsite.store.schema import Camera


def find_or_add_camera(session: Session, facts: ExifFacts, source: str, label: str = "") -> Camera:
    """Return the camera of a file, added to the store when it is new.

    A body is identified by its serial number; without one by the label given for the ingest, else by its
    model, else by the folder of the files: frames of two bodies must not share a lane. A label that belongs
    to another body is not reassigned; the new body gets the next free letter.
    """
    identity = _identity(facts, source, label)
    camera = session.exec(select(Camera).where(Camera.identity == identity)).first()
    holder = session.exec(select(Camera).where(Camera.label == label)).first() if label else None
    if camera is None and holder is not None and _may_be(holder, facts):
        camera = holder
        if facts.serial:
            camera.identity, camera.serial, camera.model = identity, facts.serial, facts.model
    if camera is None:
        camera = Camera(
            label=label if label and holder is None else _free_label(session),
            identity=identity,
            serial=facts.serial,
            model=facts.model,
        )
    elif label and holder is None:
        camera.label = label
    session.add(camera)
    session.flush()
    return camera


def _may_be(holder: Camera, facts: ExifFacts) -> bool:
    """Whether the camera `holder` may be the body of a file, by serial number and model."""
    if facts.serial and holder.serial:
        return False  # the same body would have been found by its serial number
    return not (facts.model and holder.model) or facts.model == holder.model


def _identity(facts: ExifFacts, source: str, label: str) -> str:
    """Return the key that identifies a body in the store."""
    if facts.serial:
        return f"body {facts.model} {facts.serial}"
    if label:
        return f"label {label} {facts.model}".rstrip()
    if facts.model:
        return f"model {facts.model}"
    return f"folder {source}"


def _free_label(session: Session) -> str:
    taken = set(session.exec(select(Camera.label)))
    return next(label for label in _labels() if label not in taken)


def _labels() -> Iterator[str]:
    """Yield A, B, … Z, A2, B2, …"""
    for lap in count(1):
        for letter in ascii_uppercase:
            yield letter if lap == 1 else f"{letter}{lap}"
