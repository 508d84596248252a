"""The summary of a match as data and in words."""

from __future__ import annotations

import shlex
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

from sqlmodel import select

from onsite.core.file_counter import counter_text
from onsite.core.frame_ref import frame_id_text
from onsite.core.text import format_chance, listed, plural
from onsite.core.times import format_duration
from onsite.frames.find_frames import frame_labels
from onsite.matching.evidence import Suggestion
from onsite.matching.match_frames import NOBODY_SEEN
from onsite.reconcile.match_summary import LostName, MatchSummary
from onsite.roster.find_people import RosterPerson
from onsite.roster.read_people import read_people
from onsite.store.schema import Camera
from onsite.store.shoot import Shoot

_SHOWN = 3  # of the suggestions, or of whatever else is listed


class SuggestedPerson(NamedTuple):
    """A suggestion with its person; its fields are those of the JSON object."""

    key: str
    name: str
    score: float
    certainty: float
    reasons: tuple[str, ...]

    @property
    def text(self) -> str:
        """The suggestion in one line."""
        return f"{self.name} ({self.key}), {format_chance(self.certainty)}: {'; '.join(self.reasons)}"


def suggested_people(
    suggestions: Sequence[Suggestion], everybody: Mapping[int, RosterPerson]
) -> tuple[SuggestedPerson, ...]:
    """The suggestions for a run, likeliest first."""
    people = ((everybody[suggestion.person], suggestion) for suggestion in suggestions)
    return tuple(
        SuggestedPerson(p.key, p.name, round(100 * s.certainty, 1), s.certainty, s.reasons) for p, s in people
    )


def match_summary_data(shoot: Shoot, summary: MatchSummary) -> dict[str, Any]:
    """The summary as a JSON object; people by roster key, frames by id."""
    everybody, labels, _ = _names(shoot)
    return {
        "frames": summary.frames,
        "named": summary.named,
        "slates": summary.slates,
        "loose": summary.loose,
        "aside": summary.set_aside,
        "equation": summary.frame_counts_text,
        "loose_runs": [
            {
                "frames": [frame_id_text(frame) for frame in run.frames],
                "doubt": run.doubt,
                "suggestions": suggested_people(run.suggestions, everybody),
            }
            for run in summary.loose_runs
        ],
        "unread_slates": [
            {"frame": frame_id_text(frame), "doubt": doubt} for frame, doubt in summary.unread_slates
        ],
        "slates_without_frames": [everybody[person].key for person in summary.slates_without_frames],
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
            for line in summary.cameras
        ],
        "no_longer_named": _lost_names_data(summary.lost_names, everybody),
        "warnings": _warnings(summary, labels),
    }


def print_match_summary(shoot: Shoot, summary: MatchSummary, say: Callable[..., None]) -> None:
    """Print the summary in words."""
    everybody, labels, counters = _names(shoot)
    say(summary.frame_counts_text, "bold")
    for line in summary.cameras:
        say(f"Camera {labels[line.camera]}: {line.frames} frames; clock {', then '.join(line.clocks)}")
        for jump in line.jumps:
            say(f"  {jump}")
        for first, last in line.gaps:
            span = f"{counter_text(first)} to {counter_text(last)}"
            say(f"  counters {span} are missing: deleted, or still on a memory card?")
    for warning in _warnings(summary, labels):
        say(f"  {warning}", "bold")
    _print_lost_names(summary.lost_names, everybody, counters, say)
    if summary.loose_runs:
        say("Loose, for a person to settle:", "bold")
    for run in summary.loose_runs:
        say(f"  {_frames(run.frames, counters)}: {run.doubt}")
        if run.doubt == NOBODY_SEEN:
            say(f"      to set aside: onsite frames aside {_frame_reference(run.frames, counters)}")
        for suggested in suggested_people(run.suggestions[:_SHOWN], everybody):
            say(f"      {suggested.text}")
    for frame, doubt in summary.unread_slates:
        say(f"  Slate {counters[frame]}: {doubt}")
    if summary.slates_without_frames:
        names = ", ".join(everybody[person].name for person in summary.slates_without_frames)
        say(f"Slate shot, no frames under their name: {names}")


def lost_names_data(shoot: Shoot, taken: Sequence[LostName]) -> list[dict[str, Any]]:
    """Names that were lost, as data."""
    return _lost_names_data(taken, _names(shoot)[0]) if taken else []


def print_lost_names(shoot: Shoot, taken: Sequence[LostName], say: Callable[..., None]) -> None:
    """Print the names that were lost; nothing where there are none."""
    if taken:
        everybody, _, counters = _names(shoot)
        _print_lost_names(taken, everybody, counters, say)


def lost_names_text(shoot: Shoot, taken: Sequence[LostName]) -> str:
    """Names that were lost, in one line: the people, and how many frames of each; empty where
    there are none."""
    everybody = _names(shoot)[0] if taken else {}
    frames: Counter[int] = Counter()
    for lost in taken:
        frames[lost.person] += len(lost.frames)
    texts = [f"{everybody[who].name} ({plural(count, 'frame')})" for who, count in frames.most_common()]
    return listed(texts, _SHOWN)


def _lost_names_data(
    taken: Sequence[LostName], everybody: Mapping[int, RosterPerson]
) -> list[dict[str, Any]]:
    return [
        {
            "frames": [frame_id_text(frame) for frame in lost.frames],
            "key": everybody[lost.person].key,
            "name": everybody[lost.person].name,
            "now": None if lost.now is None else everybody[lost.now].key,
        }
        for lost in taken
    ]


def _print_lost_names(
    taken: Sequence[LostName],
    everybody: Mapping[int, RosterPerson],
    counters: dict[int, str],
    say: Callable[..., None],
) -> None:
    if taken:
        say("Named until now, and not any more:", "bold")
    for lost in taken:
        now = "nobody's now" if lost.now is None else f"now {_person_text(everybody[lost.now])}"
        say(f"  {_person_text(everybody[lost.person])}: {_frames(lost.frames, counters)}, {now}")


def _warnings(summary: MatchSummary, labels: dict[int, str]) -> list[str]:
    return [
        f"The clocks of {labels[camera]} and {labels[other]} disagree: {labels[other]} is"
        f" {format_duration(abs(ahead))} {'ahead' if ahead > 0 else 'behind'}. Times shown are put right; set"
        " them alike before the next day."
        for camera, other, ahead in summary.disagreeing
    ]


def _person_text(person: RosterPerson) -> str:
    return f"{person.name} ({person.key})"


def _frames(frames: Sequence[int], counters: dict[int, str]) -> str:
    first, last = counters[frames[0]], counters[frames[-1]]
    count = plural(len(frames), "frame")
    return f"{first} ({count})" if first == last else f"{first} to {last} ({count})"


def _frame_reference(frames: Sequence[int], counters: dict[int, str]) -> str:
    """Frame references as commands accept them: a range where the counters are consecutive."""
    label, _, first = counters[frames[0]].rpartition(":")
    last = counters[frames[-1]].rpartition(":")[2]
    in_a_row = label and last.isdecimal() and int(last) - int(first) == len(frames) - 1
    names = [f"{label}:{first}-{last}"] if in_a_row and last != first else [counters[f] for f in frames]
    return shlex.join(names)


def _names(shoot: Shoot) -> tuple[dict[int, RosterPerson], dict[int, str], dict[int, str]]:
    """People, camera labels, and the label of each frame."""
    with shoot.reading() as session:
        everybody = {person.id: person for person in read_people(session, removed_too=True)}
        labels = {camera: label for camera, label in session.exec(select(Camera.id, Camera.label)) if camera}
        return everybody, labels, frame_labels(session)
