"""Wording of events after the shoot, for a person's history."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from onsite.core.text import escaped, plural
from onsite.store.events import EventKind

_LONGEST = 60


def picture_event_text(kind: EventKind, details: Mapping[str, Any], frames: str, other: str = "") -> str:
    """An event in words. `frames` names its frames, such as "frame A:1043"; `other` is the person of the
    event where that is somebody else, who had the frame then.

    >>> picture_event_text(EventKind.SENT, {"batch": "B1", "version": 2}, "frame A:1043")
    'frame A:1043 sent to retouch in batch B1, version 2'
    """
    if kind is EventKind.PROOFED:
        text = f"proofs made of {_counted(details.get('frames', ()))}"
        text += "" if details.get("page") else ", no page"
    elif kind is EventKind.PICKED:
        text = _picked(details)
    elif kind is EventKind.BATCH:
        text = f"batch {_text(details, 'batch')} sent to retouch"
    elif kind is EventKind.SENT:
        text = f"{frames} sent to retouch in batch {_text(details, 'batch')}{_version(details)}"
    elif kind is EventKind.RECEIVED:
        text = f"{frames} back from retouch in batch {_text(details, 'batch')}{_version(details)}"
    elif kind is EventKind.SENT_BACK:
        reason = _text(details, "reason")
        text = f"{frames} to be retouched again{': ' + reason if reason else ''}"
    elif kind is EventKind.DELIVERED:
        text = f"{frames} delivered{_delivery(details)}"
    elif kind is EventKind.INVITED:
        text = "mail written that the proofs are ready"
    else:
        of = _text(details, "of")
        text = f"reminder written{' of ' + of if of else ''}"
    return f"{text} (for {other})" if other else text


def _picked(details: Mapping[str, Any]) -> str:
    frames = details.get("frames", ())
    if not frames:
        return "picks taken back"
    notes = [str(note) for note in (details.get("note"), *dict(details.get("notes") or {}).values()) if note]
    text = f"picked {_counted(frames)}"
    if source := _text(details, "from"):
        text += f", from {source}"
    return text + (f"; note: {escaped('; '.join(notes), _LONGEST)}" if notes else "")


def _delivery(details: Mapping[str, Any]) -> str:
    number, name = details.get("delivery"), _text(details, "set")
    return (f", delivery {number}" if number else "") + (f", set {name}" if name else "")


def _version(details: Mapping[str, Any]) -> str:
    version = details.get("version", 1)
    return f", version {version}" if version != 1 else ""


def _counted(frames: Any) -> str:
    return plural(len(frames), "frame")


def _text(details: Mapping[str, Any], name: str) -> str:
    return escaped(str(details.get(name) or ""), _LONGEST)
