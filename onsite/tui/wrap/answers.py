"""What the wrap answers, in one line each."""

from __future__ import annotations

from collections.abc import Sequence

from onsite.store.record import Kind
from onsite.tui.wrap.pending import Decision
from onsite.tui.wrap.rows import Who
from onsite.tui.wrap.strip import lane_name
from onsite.tui.wrap.told_run import frames_told, headline
from onsite.wrap.lanes import DayLane
from onsite.wrap.runs import LaneRun, RunKind
from onsite.wrap.undo import Undone


def done(decision: Decision, who: Who) -> str:
    """What was done, and that it can be undone."""
    count = frames_told(len(decision.frames))
    match decision.kind:
        case Kind.GIVEN if decision.person is not None:
            told = f"{count} given to {who(decision.person)}"
        case Kind.SET_ASIDE:
            told = f"{count} set aside"
        case Kind.SPLIT:
            told = f"split: f{decision.frames[0]} begins a run of its own"
        case Kind.JOINED if decision.person is not None:
            told = f"joined: all of it is {who(decision.person)}'s"
        case Kind.JOINED:
            told = "the two runs are joined"
        case _:
            told = f"what was decided by hand on {count} is taken back"
    return f"{told}. u: undo"


def left(lanes: Sequence[DayLane], lane: int = 0) -> str:
    """What is still loose where no run of that lane is, and the key that goes on."""
    loose = [(lane_name(one), sum(run.kind is RunKind.LOOSE for run in one.runs)) for one in lanes]
    others = [f"{count} on camera {name}" for name, count in loose if count]
    if not others:
        return "Nothing is loose."
    return f"Nothing is loose on camera {loose[lane][0]}. n: go on, {' and '.join(others)}"


def undone(what: Undone | None) -> str:
    """What no longer counts."""
    return "nothing is left to undo at this station" if what is None else f"undone: {what.told}"


def not_loose(run: LaneRun, who: Who) -> str:
    """Why there is nothing to accept."""
    if run.kind is RunKind.SLATE:
        return headline(run, who)
    return f"{headline(run, who)}. Nothing is open here."
