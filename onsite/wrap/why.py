"""Why a frame has its name, or none: the evidence, the rule, and what would change it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timezone
from shlex import quote
from typing import Any

from sqlmodel import Session, col, select

from onsite.frames.called import frame_labels
from onsite.matching.evidence import How
from onsite.problems import Problem
from onsite.roster.find import Someone
from onsite.roster.people import people
from onsite.slate.code import SlateKind
from onsite.slate.verdict import SlateVerdict, verdict
from onsite.store.record import Happening, Kind, happened
from onsite.store.shoot import Shoot
from onsite.store.tables import Card, File, Frame, Reading
from onsite.times import clock_time
from onsite.words import counted, day_told
from onsite.wrap.choose import choose_one, frame_name
from onsite.wrap.current import bring_up_to_date
from onsite.wrap.gather import BY_HAND, camera_zone
from onsite.wrap.lanes import Lanes, lanes_now
from onsite.wrap.runs import LaneRun, RunKind
from onsite.wrap.timing import corrected


@dataclass(frozen=True, slots=True)
class Why:
    """One frame. `called` is how people name it, `A:1043`; `taken_at` is what its camera wrote, `shoot_time`
    that put right; `slate` what was seen of slates in it; `decisions` are those by hand, the oldest first;
    `would_change` are commands, each with what it does."""

    frame: int
    called: str
    files: tuple[str, ...]
    taken_at: str
    shoot_time: str
    kind: str
    slate: SlateVerdict
    person: Someone | None
    doubt: str
    rule: str
    evidence: tuple[str, ...]
    decisions: tuple[str, ...]
    suggestions: tuple[tuple[Someone, int, tuple[str, ...]], ...]
    would_change: tuple[tuple[str, str], ...]


def why(shoot: Shoot, frame: str) -> Why:
    """Why the frame that is named so is what it is, up to date. Raises Problem where it is not one frame."""
    chosen = choose_one(shoot, frame)
    bring_up_to_date(shoot)
    day = lanes_now(shoot)
    run = day.by_frame.get(chosen)
    if run is None:
        raise Problem(f"{frame} has only just come in.", "Ask again.")
    with shoot.reading() as session:
        row = session.get_one(Frame, chosen)
        everybody = {person.id: person for person in people(session, removed_too=True)}
        events = _decisions(session, chosen)
        files = session.exec(select(File.name).where(File.frame_id == chosen).order_by(col(File.name)))
        symbols = session.exec(select(Reading).where(Reading.frame_id == chosen).order_by(col(Reading.id)))
        labels = frame_labels(session)
        return Why(
            frame=chosen,
            called=labels[chosen],
            files=tuple(files),
            taken_at="" if row.taken is None else row.taken.isoformat(),
            shoot_time=_shoot_time(session, row, camera_zone(shoot)),
            kind=_kind(run, chosen),
            slate=verdict(symbols, shoot.mark),
            person=everybody.get(run.person or 0),
            doubt=run.doubt,
            rule=_rule(run, chosen, events),
            evidence=(
                *([f"its picture: {row.trouble}"] if row.trouble else []),
                *_evidence(day, run, chosen, labels, everybody),
                *_held(shoot, session, [chosen, *_slates(day, run)], everybody),
            ),
            decisions=tuple(_told(shoot, event, counts, everybody, labels) for event, counts in events),
            suggestions=tuple((everybody[s.person], s.score, s.reasons) for s in run.suggestions),
            would_change=tuple(_would_change(run, chosen, labels[chosen], events)),
        )


def _shoot_time(session: Session, frame: Frame, zone: timezone) -> str:
    """Of this frame: within its run the clock may have been set."""
    if frame.taken is None or frame.id is None:
        return ""
    return corrected(session, zone).get(frame.id, frame.taken).replace(tzinfo=None).isoformat()


_Decisions = list[tuple[Happening, bool]]
"""Decisions on a frame, and whether each still counts."""


def _decisions(session: Session, frame: int) -> _Decisions:
    def on_it(events: Sequence[Happening]) -> list[Happening]:
        return [e for e in events if frame in (e.frame_id, e.details.get("to"))]

    counting = {event.id for event in on_it(happened(session, BY_HAND))}
    return [(event, event.id in counting) for event in on_it(happened(session, BY_HAND, undone_too=True))]


def _kind(run: LaneRun, frame: int) -> str:
    is_slate = run.kind is RunKind.SLATE or frame in run.slates or frame in run.tail_slates
    return "slate" if is_slate else run.kind.value


def _rule(run: LaneRun, frame: int, events: _Decisions) -> str:
    if _kind(run, frame) == "slate":
        return "A slate bounds runs: the frames before it are not of the person whose slate it is."
    if run.shows_nobody:
        return "An empty backdrop is nobody's: it is set aside, by hand."
    if run.kind is RunKind.LOOSE:
        return "What the evidence does not settle stays loose: a wrong name is worse than no name."
    if run.how is How.HAND and _given(events):
        return "A decision by hand stands above everything computed."
    if run.by_hand:
        return "A run joined by hand to one with a name has that name."
    if run.how is How.TAIL_SLATE:
        return "A slate held upside down names the frames before it, up to the first doubt."
    return "A slate names the frames after it, up to the next slate or the first doubt."


def _given(events: _Decisions) -> bool:
    counting = [event.kind for event, counts in events if counts]
    last = next(
        (kind for kind in reversed(counting) if kind in (Kind.GIVEN, Kind.SET_ASIDE, Kind.FREED)), None
    )
    return last in (Kind.GIVEN, Kind.SET_ASIDE)


def _evidence(
    day: Lanes, run: LaneRun, frame: int, labels: Mapping[int, str], everybody: Mapping[int, Someone]
) -> list[str]:
    said = []
    if run.doubt:
        said.append(f"the doubt: {run.doubt}")
    said += [f"its run's slate: {labels[slate]}" for slate in _slates(day, run) if slate != frame]
    if run.frames:
        count = counted(len(run.frames), "frame")
        said.append(f"its run: {labels[run.frames[0]]} to {labels[run.frames[-1]]}, {count}")
    for where, other in zip(("before", "after"), day.neighbours(run), strict=True):
        if other is not None:
            person = everybody.get(other.person or 0)
            whose = person.name if person else other.kind.value
            said.append(f"the run {where}: {whose}")
    if run.pause is not None and run.pause >= 1:
        said.append(f"a pause of {run.pause:.0f} s before it")
    return said + [note.text for note in run.notes]


def _slates(day: Lanes, run: LaneRun) -> list[int]:
    of_run = [other for lane in day.lanes for other in lane.runs if other.run == run.run] or [run]
    return [slate for other in of_run for slate in (*other.slates, *other.tail_slates)]


def _held(
    shoot: Shoot, session: Session, slates: Sequence[int], everybody: Mapping[int, Someone]
) -> Iterator[str]:
    """Whose the deck cards in these frames were, where they went from hand to hand."""
    texts = select(Reading.text).where(col(Reading.frame_id).in_(slates))
    cards = session.exec(select(Card).where(col(Card.code).in_(texts)).order_by(col(Card.number))).all()
    ties = happened(session, (Kind.CARD_TIED,)) if cards else ()
    for card in cards:
        holders = [
            f"{holder.name}'s from {clock_time(tie.at, shoot.zone)}"
            for tie in ties
            if tie.card_id == card.id and (holder := everybody.get(tie.person_id or 0)) is not None
        ]
        if len(holders) > 1:
            yield f"deck card {card.number} was {', '.join(holders)}"


def _told(
    shoot: Shoot,
    event: Happening,
    counts: bool,
    everybody: Mapping[int, Someone],
    labels: Mapping[int, str],
) -> str:
    what = event.kind.value
    if event.person_id is not None:
        what = f"given to {everybody[event.person_id].name}"
    elif event.kind is Kind.SPLIT:
        what = "its run split here"
    elif event.kind is Kind.JOINED and event.frame_id is not None:
        what = f"the run of {labels[event.frame_id]} joined to that of {labels[event.details['to']]}"
    where = f" at {event.station}" if event.station else ""
    day = day_told(event.at.astimezone(shoot.zone))
    return f"{day}, {clock_time(event.at, shoot.zone)}{where}: {what}{'' if counts else ' (undone since)'}"


def _would_change(run: LaneRun, frame: int, label: str, events: _Decisions) -> list[tuple[str, str]]:
    name = quote(label)
    ways = [(f"onsite frames give {name} WHO", "it is that person's, whatever is computed")]
    if any(counts and event.kind is not Kind.FREED for event, counts in events):
        ways.append((f"onsite frames free {name}", "takes back the decisions by hand on it"))
    if run.kind in (RunKind.NAMED, RunKind.LOOSE) and frame in run.frames[1:] and run.how is not How.HAND:
        ways.append((f"onsite frames split {name}", "from it on it is another run"))
    if run.kind is RunKind.LOOSE:
        ways.append((f"onsite frames join {name} FRAME", "its run and that frame's are one person's"))
    if run.kind is not RunKind.ASIDE:
        aside = (f"onsite frames aside {name}", "it is kept and never delivered")
        ways.insert(0 if run.shows_nobody else len(ways), aside)
    return ways


def why_data(answer: Why) -> dict[str, Any]:
    """The answer as one JSON object; people by roster key, frames by id."""
    return {
        "frame": frame_name(answer.frame),
        "called": answer.called,
        "files": list(answer.files),
        "taken_at": answer.taken_at,
        "shoot_time": answer.shoot_time,
        "kind": answer.kind,
        "slate": answer.slate.data(),
        "key": answer.person.key if answer.person else "",
        "name": answer.person.name if answer.person else "",
        "doubt": answer.doubt,
        "rule": answer.rule,
        "evidence": list(answer.evidence),
        "decisions": list(answer.decisions),
        "suggestions": [
            {"key": person.key, "name": person.name, "score": score, "reasons": list(reasons)}
            for person, score, reasons in answer.suggestions
        ],
        "would_change": [{"command": command, "does": does} for command, does in answer.would_change],
    }


def _spoken(moment: str) -> str:
    """A moment in ISO 8601 as people write it."""
    at = datetime.fromisoformat(moment)
    return f"{day_told(at)}, {at:%H:%M:%S}"


def print_why(answer: Why, say: Callable[..., None]) -> None:
    """The answer in words."""
    whose = f" {answer.person.name} ({answer.person.key})" if answer.person else ""
    taken = f", taken {_spoken(answer.shoot_time)}" if answer.taken_at else ""
    if answer.shoot_time != answer.taken_at:
        taken += f" ({_spoken(answer.taken_at)} by its camera's clock)"
    say(f"{answer.called}, {' '.join(answer.files)}{taken}: {answer.kind}{whose}", "bold")
    if answer.slate.kind is not SlateKind.NOTHING:
        say(f"  slate in it: {answer.slate.told}")
    for said in answer.evidence:
        say(f"  {said}")
    say(f"The rule: {answer.rule}")
    for decision in answer.decisions:
        say(f"By hand, {decision}")
    for person, score, reasons in answer.suggestions:
        say(f"  {person.name} ({person.key}), {counted(score, 'point')}: {'; '.join(reasons)}")
    say("What would change it:")
    for command, does in answer.would_change:
        say(f"  {command}: {does}")
