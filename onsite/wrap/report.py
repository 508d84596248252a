"""The wrap told: as data, and in words."""

from __future__ import annotations

import shlex
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from sqlmodel import select

from onsite.frames.called import frame_labels
from onsite.matching.doubts import NOBODY_SEEN
from onsite.roster.find import Someone
from onsite.roster.people import people
from onsite.store.shoot import Shoot
from onsite.store.tables import Camera
from onsite.times import duration
from onsite.words import counted
from onsite.wrap.choose import frame_name
from onsite.wrap.no_longer import NoLonger
from onsite.wrap.summary import Wrap

_SHOWN = 3


def wrap_data(shoot: Shoot, wrap: Wrap) -> dict[str, Any]:
    """The wrap as one JSON object; people by roster key, frames by id."""
    everybody, labels, _ = _names(shoot)
    return {
        "frames": wrap.frames,
        "named": wrap.named,
        "slates": wrap.slates,
        "loose": wrap.loose,
        "aside": wrap.aside,
        "equation": wrap.equation,
        "loose_runs": [
            {
                "frames": [frame_name(frame) for frame in run.frames],
                "doubt": run.doubt,
                "suggestions": [
                    {
                        "key": everybody[person].key,
                        "name": everybody[person].name,
                        "score": score,
                        "reasons": reasons,
                    }
                    for person, score, reasons in run.suggestions
                ],
            }
            for run in wrap.loose_runs
        ],
        "unread_slates": [
            {"frame": frame_name(frame), "doubt": doubt} for frame, doubt in wrap.unread_slates
        ],
        "slates_without_frames": [everybody[person].key for person in wrap.slates_without_frames],
        "cameras": [
            {
                "camera": labels[line.camera],
                "frames": line.frames,
                "clocks": line.clocks,
                "jumps": line.jumps,
                "gaps": [f"{first}-{last}" for first, last in line.gaps],
                "correction": line.correction,
                "drift": round(line.drift, 2),
            }
            for line in wrap.cameras
        ],
        "no_longer_named": _taken_data(wrap.no_longer, everybody),
        "warnings": _warnings(wrap, labels),
    }


def print_wrap(shoot: Shoot, wrap: Wrap, say: Callable[..., None]) -> None:
    """The wrap in words."""
    everybody, labels, counters = _names(shoot)
    say(wrap.equation, "bold")
    for line in wrap.cameras:
        say(f"Camera {labels[line.camera]}: {line.frames} frames; clock {', then '.join(line.clocks)}")
        for jump in line.jumps:
            say(f"  {jump}")
        for first, last in line.gaps:
            say(f"  counters {first:04} to {last:04} are missing: deleted, or still on a card?")
    for warning in _warnings(wrap, labels):
        say(f"  {warning}", "bold")
    _print_taken(wrap.no_longer, everybody, counters, say)
    if wrap.loose_runs:
        say("Loose, for a person to settle:", "bold")
    for run in wrap.loose_runs:
        say(f"  {_frames(run.frames, counters)}: {run.doubt}")
        if run.doubt == NOBODY_SEEN:
            say(f"      to set aside: onsite frames aside {_reference(run.frames, counters)}")
        for person, score, reasons in run.suggestions[:_SHOWN]:
            who = everybody[person]
            say(f"      {_called(who)}, {counted(score, 'point')}: {'; '.join(reasons)}")
    for frame, doubt in wrap.unread_slates:
        say(f"  Slate {counters[frame]}: {doubt}")
    if wrap.slates_without_frames:
        names = ", ".join(everybody[person].name for person in wrap.slates_without_frames)
        say(f"Slate shot, no frames under their name: {names}")


def taken_data(shoot: Shoot, taken: Sequence[NoLonger]) -> list[dict[str, Any]]:
    """Names that were taken away, as data."""
    return _taken_data(taken, _names(shoot)[0]) if taken else []


def print_taken(shoot: Shoot, taken: Sequence[NoLonger], say: Callable[..., None]) -> None:
    """Names that were taken away, in words; nothing where there are none."""
    if taken:
        everybody, _, counters = _names(shoot)
        _print_taken(taken, everybody, counters, say)


def taken_told(shoot: Shoot, taken: Sequence[NoLonger]) -> str:
    """The same in one line: whose names, and how many frames of each; empty where there are none."""
    everybody = _names(shoot)[0] if taken else {}
    frames: Counter[int] = Counter()
    for one in taken:
        frames[one.person] += len(one.frames)
    told = [f"{everybody[who].name} ({counted(count, 'frame')})" for who, count in frames.most_common()]
    more = f" and {len(told) - _SHOWN} more" if len(told) > _SHOWN else ""
    return f"{', '.join(told[:_SHOWN])}{more}"


def _taken_data(taken: Sequence[NoLonger], everybody: Mapping[int, Someone]) -> list[dict[str, Any]]:
    return [
        {
            "frames": [frame_name(frame) for frame in one.frames],
            "key": everybody[one.person].key,
            "name": everybody[one.person].name,
            "now": None if one.now is None else everybody[one.now].key,
        }
        for one in taken
    ]


def _print_taken(
    taken: Sequence[NoLonger],
    everybody: Mapping[int, Someone],
    counters: dict[int, str],
    say: Callable[..., None],
) -> None:
    if taken:
        say("Named until now, and not any more:", "bold")
    for one in taken:
        now = "nobody's now" if one.now is None else f"now {_called(everybody[one.now])}"
        say(f"  {_called(everybody[one.person])}: {_frames(one.frames, counters)}, {now}")


def _warnings(wrap: Wrap, labels: dict[int, str]) -> list[str]:
    return [
        f"The clocks of {labels[one]} and {labels[other]} disagree: {labels[other]} is"
        f" {duration(abs(ahead))} {'ahead' if ahead > 0 else 'behind'}. Times shown are put right; set them"
        " alike before the next day."
        for one, other, ahead in wrap.disagreeing
    ]


def _called(person: Someone) -> str:
    return f"{person.name} ({person.key})"


def _frames(frames: Sequence[int], counters: dict[int, str]) -> str:
    first, last = counters[frames[0]], counters[frames[-1]]
    count = counted(len(frames), "frame")
    return f"{first} ({count})" if first == last else f"{first} to {last} ({count})"


def _reference(frames: Sequence[int], counters: dict[int, str]) -> str:
    """Frames as commands take them: as a range where their counters follow each other."""
    label, _, first = counters[frames[0]].rpartition(":")
    last = counters[frames[-1]].rpartition(":")[2]
    in_a_row = label and last.isdecimal() and int(last) - int(first) == len(frames) - 1
    names = [f"{label}:{first}-{last}"] if in_a_row and last != first else [counters[f] for f in frames]
    return shlex.join(names)


def _names(shoot: Shoot) -> tuple[dict[int, Someone], dict[int, str], dict[int, str]]:
    """People, camera labels, and what each frame is called."""
    with shoot.reading() as session:
        everybody = {person.id: person for person in people(session, removed_too=True)}
        labels = {camera: label for camera, label in session.exec(select(Camera.id, Camera.label)) if camera}
        return everybody, labels, frame_labels(session)
