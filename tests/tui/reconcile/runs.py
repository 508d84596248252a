"""Runs made up for tests of what Reconcile shows."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from onsite.matching.evidence import FrameKind, NamedBy
from onsite.reconcile.camera_lanes import DayLane, DayLanes
from onsite.reconcile.runs import LaneRun, RunKind

NINE = datetime(2026, 6, 13, 9, 0, tzinfo=UTC)


def named(person: int, *frames: int, slate: int | None = None, **more: Any) -> LaneRun:
    how = more.pop("how", NamedBy.SLATE)
    slates = () if slate is None else (slate,)
    return _run(RunKind.NAMED, frames, person=person, how=how, slates=slates, **more)


def loose(*frames: int, **more: Any) -> LaneRun:
    return _run(RunKind.LOOSE, frames, **more)


def aside(*frames: int) -> LaneRun:
    return _run(RunKind.SET_ASIDE, frames, how=NamedBy.OVERRIDE, is_override=True)


def slate(frame: int, person: int | None = None) -> LaneRun:
    return _run(RunKind.SLATE, (), slates=(frame,), person=person)


def _run(kind: RunKind, frames: tuple[int, ...], **more: Any) -> LaneRun:
    first = (*frames, *more.get("slates", ()))[0]
    begins = NINE + timedelta(minutes=first)
    made = {"first": first, "camera": 1, "run": first, "begins": begins, "ends": begins} | more
    return LaneRun(kind=kind, frames=frames, **made)


def lanes(*each: tuple[LaneRun, ...], matched: int = 10) -> DayLanes:
    """A camera for each tuple of runs."""
    counts = dict.fromkeys(FrameKind, 0)
    for run in (run for runs in each for run in runs):
        counts[FrameKind.SLATE] += len(run.slates) + len(run.tail_slates)
        if run.kind is not RunKind.SLATE:
            counts[FrameKind(run.kind)] += len(run.frames)
    made = tuple(DayLane(number, "ABCDEF"[number], runs) for number, runs in enumerate(each))
    return DayLanes(made, sum(counts.values()), counts, matched_until=matched)
