"""What the wrap answers, in one line each."""

from __future__ import annotations

from collections.abc import Sequence

from onsite.store.record import EventKind
from onsite.tui.wrap.pending import PendingOverride
from onsite.tui.wrap.rows import Who
from onsite.tui.wrap.strip import lane_name
from onsite.tui.wrap.told_run import frames_text, headline
from onsite.wrap.lanes import DayLane
from onsite.wrap.runs import LaneRun, RunKind
from onsite.wrap.undo import UndoneOverride


def decision_message(decision: PendingOverride, who: Who) -> str:
    """What was done, and that it can be undone."""
    count = frames_text(len(decision.frames))
    match decision.kind:
        case EventKind.GIVEN if decision.person is not None:
            message = f"{count} given to {who(decision.person)}"
        case EventKind.SET_ASIDE:
            message = f"{count} set aside"
        case EventKind.SPLIT:
            message = f"split: f{decision.frames[0]} begins a run of its own"
        case EventKind.JOINED if decision.person is not None:
            message = f"joined: all of it is {who(decision.person)}'s"
        case EventKind.JOINED:
            message = "the two runs are joined"
        case _:
            message = f"what was decided by hand on {count} is taken back"
    return f"{message}. u: undo"


def frames_left_message(lanes: Sequence[DayLane], lane: int = 0) -> str:
    """What is still loose where no run of that lane is, and the key that goes on."""
    loose = [
        (lane_name(day_lane), sum(run.kind is RunKind.LOOSE for run in day_lane.runs)) for day_lane in lanes
    ]
    others = [f"{count} on camera {name}" for name, count in loose if count]
    if not others:
        return "Nothing is loose."
    return f"Nothing is loose on camera {loose[lane][0]}. n: go on, {' and '.join(others)}"


def undone_message(what: UndoneOverride | None) -> str:
    """What no longer counts."""
    return "nothing is left to undo at this station" if what is None else f"undone: {what.text}"


def not_loose_message(run: LaneRun, who: Who) -> str:
    """Why there is nothing to accept."""
    if run.kind is RunKind.SLATE:
        return headline(run, who)
    return f"{headline(run, who)}. Nothing is open here."
