"""Why a frame has its name, or none: the evidence, the rule, and what would change it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timezone
from shlex import quote
from typing import NamedTuple

from sqlmodel import Session, select

from onsite.core.codes import SlateKind
from onsite.core.errors import Problem
from onsite.core.frame_ref import frame_id_text
from onsite.core.text import format_day, plural
from onsite.core.times import format_clock_time
from onsite.frames.find_frames import find_frame, frame_labels
from onsite.matching.evidence import NamedBy
from onsite.reconcile.camera_lanes import DayLanes, read_day_lanes
from onsite.reconcile.current_match import update_match
from onsite.reconcile.gather_evidence import OVERRIDE_KINDS, camera_zone
from onsite.reconcile.match_report import SuggestedPerson, suggested_people
from onsite.reconcile.runs import LaneRun, RunKind, certainty_text
from onsite.reconcile.shoot_times import corrected_times
from onsite.roster.find_people import RosterPerson
from onsite.roster.read_people import read_people
from onsite.slates.slate_verdict import SlateVerdict, slate_verdict
from onsite.store.events import Event, EventKind, read_events
from onsite.store.schema import DeckCard, File, Frame, SymbolReading, VerdictRow
from onsite.store.shoot import Shoot


class Change(NamedTuple):
    """What would change a frame's verdict."""

    command: str
    does: str


@dataclass(frozen=True, slots=True)
class Explanation:
    """Everything that explains one frame's verdict; its fields are those of the JSON object."""

    frame: str
    """Its id, `f12`."""
    called: str
    """The frame as people write it, `A:1043`."""
    files: tuple[str, ...]
    taken_at: str
    """The time that the camera wrote."""
    shoot_time: str
    """The same, corrected."""
    kind: str
    slate: SlateVerdict
    """What was seen of slates in it."""
    key: str
    """Roster key of the person whose it is; empty where it is nobody's."""
    name: str
    doubt: str
    certainty: float | None
    """Probability of the name; None where nothing is named."""
    rule: str
    evidence: tuple[str, ...]
    decisions: tuple[str, ...]
    """Overrides, the oldest first."""
    suggestions: tuple[SuggestedPerson, ...]
    would_change: tuple[Change, ...]


def explain_frame(shoot: Shoot, frame: str) -> Explanation:
    """Explain the current verdict on the frame with this reference. Raises Problem where that is not one
    frame."""
    chosen = find_frame(shoot, frame)
    update_match(shoot)
    day = read_day_lanes(shoot)
    run = day.by_frame.get(chosen)
    if run is None:
        raise Problem(f"{frame} has only just come in.", "Ask again.")
    with shoot.reading() as session:
        row = session.get_one(Frame, chosen)
        everybody = {person.id: person for person in read_people(session, removed_too=True)}
        events = _decisions(session, chosen)
        files = session.exec(select(File.name).where(File.frame_id == chosen).order_by(File.name))
        symbols = session.exec(
            select(SymbolReading).where(SymbolReading.frame_id == chosen).order_by(SymbolReading.id)
        )
        labels = frame_labels(session)
        person = everybody.get(run.person or 0)
        return Explanation(
            frame=frame_id_text(chosen),
            called=labels[chosen],
            files=tuple(files),
            taken_at="" if row.taken is None else row.taken.isoformat(),
            shoot_time=_shoot_time(session, row, camera_zone(shoot)),
            kind=_kind(run, chosen),
            slate=slate_verdict(symbols, shoot.mark),
            key=person.key if person else "",
            name=person.name if person else "",
            doubt=run.doubt,
            certainty=session.exec(select(VerdictRow.certainty).where(VerdictRow.frame_id == chosen)).first(),
            rule=_rule(run, chosen, events),
            evidence=(
                *([f"its picture: {row.trouble}"] if row.trouble else []),
                *_evidence(day, run, chosen, labels, everybody),
                *_held(shoot, session, [chosen, *_slates(day, run)], everybody),
            ),
            decisions=tuple(_decision_text(shoot, event, everybody, labels) for event in events),
            suggestions=suggested_people(run.suggestions, everybody),
            would_change=tuple(_would_change(run, chosen, labels[chosen], events)),
        )


def _shoot_time(session: Session, frame: Frame, zone: timezone) -> str:
    """The corrected time of this very frame: the clock may have been set within its run."""
    if frame.taken is None or frame.id is None:
        return ""
    return corrected_times(session, zone).get(frame.id, frame.taken).replace(tzinfo=None).isoformat()


def _decisions(session: Session, frame: int) -> list[Event]:
    """Overrides of a frame, undone ones too."""
    events = read_events(session, OVERRIDE_KINDS, undone_too=True)
    return [event for event in events if frame in (event.frame_id, event.details.get("to"))]


def _kind(run: LaneRun, frame: int) -> str:
    is_slate = run.kind is RunKind.SLATE or frame in run.slates or frame in run.tail_slates
    return "slate" if is_slate else run.kind.value


def _rule(run: LaneRun, frame: int, events: Sequence[Event]) -> str:
    if _kind(run, frame) == "slate":
        return "A slate bounds runs: the frames before it are not of the person whose slate it is."
    if run.shows_nobody:
        return "An empty backdrop is nobody's: it is set aside, by hand."
    if run.kind is RunKind.LOOSE:
        return "What the evidence does not settle stays loose: a wrong name is worse than no name."
    if run.how is NamedBy.OVERRIDE and _given(events):
        return "A decision by hand stands above everything computed."
    if run.is_override:
        return "A run joined by hand to one with a name has that name."
    if run.how is NamedBy.TAIL_SLATE:
        return "A slate held upside down names the frames before it, up to the first doubt."
    return "A slate names the frames after it, up to the next slate or the first doubt."


def _given(events: Sequence[Event]) -> bool:
    counting = [event.kind for event in events if not event.is_undone]
    last = next(
        (
            kind
            for kind in reversed(counting)
            if kind in (EventKind.GIVEN, EventKind.SET_ASIDE, EventKind.FREED)
        ),
        None,
    )
    return last in (EventKind.GIVEN, EventKind.SET_ASIDE)


def _evidence(
    day: DayLanes, run: LaneRun, frame: int, labels: Mapping[int, str], everybody: Mapping[int, RosterPerson]
) -> list[str]:
    said = []
    if run.doubt:
        said.append(f"the doubt: {run.doubt}")
    said += [f"its run's slate: {labels[slate]}" for slate in _slates(day, run) if slate != frame]
    if run.frames:
        count = plural(len(run.frames), "frame")
        said.append(f"its run: {labels[run.frames[0]]} to {labels[run.frames[-1]]}, {count}")
    for where, other in zip(("before", "after"), day.neighbours(run), strict=True):
        if other is not None:
            person = everybody.get(other.person or 0)
            whose = person.name if person else other.kind.value
            said.append(f"the run {where}: {whose}")
    if run.pause is not None and run.pause >= 1:
        said.append(f"a pause of {run.pause:.0f} s before it")
    return said + [note.text for note in run.notes]


def _slates(day: DayLanes, run: LaneRun) -> list[int]:
    of_run = [other for lane in day.lanes for other in lane.runs if other.run == run.run] or [run]
    return [slate for other in of_run for slate in (*other.slates, *other.tail_slates)]


def _held(
    shoot: Shoot, session: Session, slates: Sequence[int], everybody: Mapping[int, RosterPerson]
) -> Iterator[str]:
    """The holders of the deck cards in these frames, for cards that had several."""
    texts = select(SymbolReading.text).where(SymbolReading.frame_id.in_(slates))
    cards = session.exec(select(DeckCard).where(DeckCard.code.in_(texts)).order_by(DeckCard.number)).all()
    ties = read_events(session, (EventKind.CARD_TIED,)) if cards else ()
    for card in cards:
        holders = [
            f"{holder.name}'s from {format_clock_time(tie.at, shoot.zone)}"
            for tie in sorted(ties, key=lambda tie: (tie.at, tie.id))
            if tie.card_id == card.id and (holder := everybody.get(tie.person_id or 0)) is not None
        ]
        if len(holders) > 1:
            yield f"deck card {card.number} was {', '.join(holders)}"


def _decision_text(
    shoot: Shoot, event: Event, everybody: Mapping[int, RosterPerson], labels: Mapping[int, str]
) -> str:
    what = event.kind.value
    if event.person_id is not None:
        what = f"given to {everybody[event.person_id].name}"
    elif event.kind is EventKind.SPLIT:
        what = "its run split here"
    elif event.kind is EventKind.JOINED and event.frame_id is not None:
        what = f"the run of {labels[event.frame_id]} joined to that of {labels[event.details['to']]}"
    where = f" at {event.station}" if event.station else ""
    day = format_day(event.at.astimezone(shoot.zone))
    undone = " (undone since)" if event.is_undone else ""
    return f"{day}, {format_clock_time(event.at, shoot.zone)}{where}: {what}{undone}"


def _would_change(run: LaneRun, frame: int, label: str, events: Sequence[Event]) -> list[Change]:
    name = quote(label)
    ways = [Change(f"onsite frames give {name} WHO", "it is that person's, whatever is computed")]
    if any(event.kind is not EventKind.FREED and not event.is_undone for event in events):
        ways.append(Change(f"onsite frames free {name}", "takes back the decisions by hand on it"))
    if (
        run.kind in (RunKind.NAMED, RunKind.LOOSE)
        and frame in run.frames[1:]
        and run.how is not NamedBy.OVERRIDE
    ):
        ways.append(Change(f"onsite frames split {name}", "from it on it is another run"))
    if run.kind is RunKind.LOOSE:
        ways.append(Change(f"onsite frames join {name} FRAME", "its run and that frame's are one person's"))
    if run.kind is not RunKind.SET_ASIDE:
        aside = Change(f"onsite frames aside {name}", "it is kept and never delivered")
        ways.insert(0 if run.shows_nobody else len(ways), aside)
    return ways


def _time_text(moment: str) -> str:
    """An ISO 8601 time as people write it."""
    at = datetime.fromisoformat(moment)
    return f"{format_day(at)}, {at:%H:%M:%S}"


def print_explanation(answer: Explanation, say: Callable[..., None]) -> None:
    """Print the explanation in words."""
    whose = f" {answer.name} ({answer.key})" if answer.key else ""
    taken = f", taken {_time_text(answer.shoot_time)}" if answer.taken_at else ""
    if answer.shoot_time != answer.taken_at:
        taken += f" ({_time_text(answer.taken_at)} by its camera's clock)"
    say(f"{answer.called}, {' '.join(answer.files)}{taken}: {answer.kind}{whose}", "bold")
    if answer.slate.kind is not SlateKind.NOTHING:
        say(f"  slate in it: {answer.slate.text}")
    for said in answer.evidence:
        say(f"  {said}")
    if answer.certainty is not None:
        say(f"How sure: {certainty_text(answer.certainty)}")
    say(f"The rule: {answer.rule}")
    for decision in answer.decisions:
        say(f"By hand, {decision}")
    for suggested in answer.suggestions:
        say(f"  {suggested.text}")
    say("What would change it:")
    for command, does in answer.would_change:
        say(f"  {command}: {does}")
