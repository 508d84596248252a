"""The keys of the Reconcile screen, and its messages in one line each."""

from __future__ import annotations

from collections.abc import Sequence

from textual.binding import Binding, BindingType

from onsite.core.text import plural
from onsite.reconcile.lanes import DayLane
from onsite.reconcile.overrides import UndoneOverride
from onsite.reconcile.runs import LaneRun, RunKind
from onsite.store.events import EventKind
from onsite.tui.reconcile.camera_strips import lane_name
from onsite.tui.reconcile.pending_overrides import PendingOverride
from onsite.tui.reconcile.run_description import headline
from onsite.tui.reconcile.run_list import Who


def decision_message(decision: PendingOverride, who: Who) -> str:
    """What was done, and how to undo it."""
    count = plural(len(decision.frames), "frame")
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
    """What is still loose where this lane has no loose run, and the key that goes on."""
    loose = [
        (lane_name(day_lane), sum(run.kind is RunKind.LOOSE for run in day_lane.runs)) for day_lane in lanes
    ]
    others = [f"{count} on camera {name}" for name, count in loose if count]
    if not others:
        return "Nothing is loose."
    return f"Nothing is loose on camera {loose[lane][0]}. n: go on, {' and '.join(others)}"


def undone_message(what: UndoneOverride | None) -> str:
    """What was undone."""
    return "nothing is left to undo at this station" if what is None else f"undone: {what.text}"


def not_loose_message(run: LaneRun, who: Who) -> str:
    """Why there is no suggestion to accept."""
    if run.kind is RunKind.SLATE:
        return headline(run, who)
    return f"{headline(run, who)}. Nothing is open here."


KEYS: list[BindingType] = [
    Binding(
        "enter",
        "accept_first",
        "Accept",
        key_display="⏎",
        tooltip="sets an empty backdrop aside",
        priority=True,
    ),
    Binding("1", "accept(1)", "Accept that suggestion", show=False, key_display="1 to 5"),
    *(Binding(str(n), f"accept({n})", show=False) for n in range(2, 6)),
    Binding("p", "pick", "Pick"),
    Binding("s", "split", "Split"),
    Binding("j", "join(-1)", "Join", key_display="j k", tooltip="before, after"),
    Binding("k", "join(1)", show=False),
    Binding("x", "aside", "Aside"),
    Binding("f", "free", "Free"),
    Binding("u", "undo", "Undo"),
    Binding("n", "loose(1)", "Loose"),
    Binding("b", "loose(-1)", "Loose run before", show=False),
    Binding("left", "frame(-1)", "Frame before", show=False),
    Binding("right", "frame(1)", "Frame after", show=False),
    Binding("tab", "lane(1)", "Next camera", show=False, priority=True),
    Binding("shift+tab", "lane(-1)", "Camera before", show=False, priority=True),
    Binding("v", "view", "The frame full screen", show=False),
    Binding("l", "lists", "Lists"),
]
