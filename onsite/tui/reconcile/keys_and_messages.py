"""The keys of the Reconcile screen, and its messages in one line each."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual.binding import BindingType

from onsite.core.text import plural
from onsite.reconcile.camera_lanes import DayLane
from onsite.reconcile.overrides import UndoneOverride
from onsite.reconcile.runs import LaneRun, RunKind
from onsite.store.events import EventKind
from onsite.tui import key_grammar as keys
from onsite.tui.reconcile.camera_strips import lane_name
from onsite.tui.reconcile.pending_overrides import PendingOverride
from onsite.tui.reconcile.reconcile_run_list import Who
from onsite.tui.reconcile.run_description import headline


def decision_message(decision: PendingOverride, who: Who, label: Callable[[int], str]) -> str:
    """What was done, and how to undo it; `label` is that of a frame by its id."""
    count = plural(len(decision.frames), "frame")
    match decision.kind:
        case EventKind.GIVEN if decision.person is not None:
            message = f"{count} given to {who(decision.person)}"
        case EventKind.SET_ASIDE:
            message = f"{count} set aside"
        case EventKind.SPLIT:
            message = f"split: {label(decision.frames[0])} begins a run of its own"
        case EventKind.JOINED if decision.person is not None:
            message = f"joined: all of it is {who(decision.person)}'s"
        case EventKind.JOINED:
            message = "the two runs are joined"
        case _:
            message = f"what was decided by hand on {count} is taken back"
    return f"{message}. U: undo."


def frames_left_message(lanes: Sequence[DayLane], chosen: int = 0) -> str:
    """What is still loose where this camera has no loose frame, and the key that goes on."""
    loose = [
        (lane_name(lane), sum(len(run.frames) for run in lane.runs if run.kind is RunKind.LOOSE))
        for lane in lanes
    ]
    others = [f"{plural(count, 'frame')} on camera {name}" for name, count in loose if count]
    if not others:
        return "Nothing is loose."
    return f"Nothing is loose on camera {loose[chosen][0]}. N: go on, {' and '.join(others)}"


def undone_message(what: UndoneOverride | None) -> str:
    """What was undone."""
    return "nothing is left to undo at this station" if what is None else f"undone: {what.text}"


def not_loose_message(run: LaneRun, who: Who) -> str:
    """Why there is no suggestion to accept."""
    if run.kind is RunKind.SLATE:
        return headline(run, who)
    return f"{headline(run, who)}. Nothing is open here."


KEYS: list[BindingType] = [
    keys.ENTER.says("Accept", priority=True),
    keys.ACCEPT[0].says("Accept that suggestion", show=False),
    *(key.says() for key in keys.ACCEPT[1:]),
    keys.OPEN_NEXT.says("Next"),
    keys.OPEN_BEFORE.says(),
    keys.PERSON.says("Person"),
    keys.PUT_AWAY.says("Set aside"),
    keys.SPLIT.says("Split"),
    keys.UNDO.says("Undo"),
    keys.JOIN_BEFORE.says("Join", show=False),
    keys.JOIN_AFTER.says(),
    keys.PICTURE.says("Picture"),
    keys.TURN.says("Camera", show=False),
    keys.TURN_BACK.says(),
    keys.LISTS.says("Lists", show=False),
    keys.AUTOMATIC.says("Back to automatic", show=False),
    keys.RIGHT.says("Frame before, after", show=False),
    keys.LEFT.says(),
]

SIGNS = (
    ("━ ┿ ▒ ·", "named, slate, loose, set aside: the day of each camera, in shooting order"),
    (
        "loose",
        "no settled name yet. Choose the person, or set aside what is nobody's, such as test shots.",
    ),
    (
        "██░░ 40 %",
        "how likely it is that person. Enter accepts above 90 %; a number accepts its line.",
    ),
    (
        "run",
        "frames from a slate up to the next. S goes to where somebody else may begin; S there splits.",
    ),
    ("▲ 09:07", "where the run in front lies in the day. Beside each run: how many frames it has."),
)
