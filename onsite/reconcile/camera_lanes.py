"""The day as lanes, one for each camera: its runs in shooting order, with breaks and doubts.

Read from the verdicts of the last match; nothing is matched here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timezone
from functools import cached_property

import sqlalchemy as sa
from sqlmodel import Session, select

from onsite.core.frame_ref import format_frame_labels
from onsite.matching import shooting_order
from onsite.matching.evidence import FrameEvidence, FrameKind, FrameVerdict, NamedBy, Suggestion
from onsite.reconcile.gather_evidence import camera_zone, seconds_of
from onsite.reconcile.match_summary import frame_counts_text
from onsite.reconcile.runs import LaneNote, LaneNoteKind, LaneRun, RunKind, runs_of
from onsite.reconcile.shoot_times import Timings, read_clock_corrections, shoot_times, with_forward
from onsite.reconcile.store_match import matched_until, stored_suggestions
from onsite.store.schema import Camera, Frame, VerdictRow
from onsite.store.shoot import Shoot

__all__ = ["DayLane", "DayLanes", "LaneNote", "LaneNoteKind", "LaneRun", "RunKind", "read_day_lanes"]


@dataclass(frozen=True, slots=True)
class DayLane:
    """One camera's runs in shooting order. `placed` is False for a lane of frames that have no place in the
    day, which are ordered by name."""

    camera: int
    label: str
    runs: tuple[LaneRun, ...]
    placed: bool = True


@dataclass(frozen=True)
class DayLanes:
    """The day as last matched.

    All frames are accounted for: `frames` = `named` + `slates` + `loose` + `set_aside` + `unmatched`.
    """

    lanes: tuple[DayLane, ...]
    frames: int
    counts: Mapping[FrameKind, int]
    unmatched: int = 0
    """Frames without a verdict yet, which are in no lane."""
    matched_until: int = -1
    """The last event that the match knew."""
    labels: Mapping[int, str] = field(default_factory=dict)
    """What people call each frame, by id."""

    @property
    def named(self) -> int:
        return self.counts.get(FrameKind.NAMED, 0)

    @property
    def slates(self) -> int:
        return self.counts.get(FrameKind.SLATE, 0)

    @property
    def loose(self) -> int:
        return self.counts.get(FrameKind.LOOSE, 0)

    @property
    def set_aside(self) -> int:
        return self.counts.get(FrameKind.SET_ASIDE, 0)

    @property
    def frame_counts_text(self) -> str:
        """All frames accounted for, in one line."""
        return frame_counts_text(
            self.frames, self.named, self.slates, self.loose, self.set_aside, self.unmatched
        )

    @cached_property
    def by_frame(self) -> dict[int, LaneRun]:
        """The run of each frame, slates included."""
        return {frame: run for lane in self.lanes for run in lane.runs for frame in run.everything}

    @cached_property
    def places(self) -> dict[int, tuple[int, int]]:
        """Lane and place in the lane of each run, by its first frame."""
        return {run.first: (i, j) for i, lane in enumerate(self.lanes) for j, run in enumerate(lane.runs)}

    def neighbours(self, run: LaneRun) -> tuple[LaneRun | None, LaneRun | None]:
        """The runs before and after in the lane."""
        lane, place = self.places[run.first]
        runs = self.lanes[lane].runs
        return (runs[place - 1] if place else None, runs[place + 1] if place + 1 < len(runs) else None)

    def loose_runs(self) -> list[LaneRun]:
        """The loose runs of all lanes."""
        return [run for lane in self.lanes for run in lane.runs if run.kind is RunKind.LOOSE]


def read_day_lanes(shoot: Shoot) -> DayLanes:
    """The day as last matched. Callers that need it up to date match first (`match_process`)."""
    with shoot.reading() as session:
        until = matched_until(session)
        labels = {camera: label for camera, label in session.exec(select(Camera.id, Camera.label)) if camera}
        sure = {camera for camera, serial in session.exec(select(Camera.id, Camera.serial)) if serial}
        suggested = _suggested(session)
        timings = read_clock_corrections(session)
        frames: list[FrameEvidence] = []
        verdicts: dict[int, FrameVerdict] = {}
        zone = camera_zone(shoot)
        rows = session.connection().execute(_FRAMES)
        for frame, camera, name, taken, offset, counter, source, kind, *decided in rows:
            seconds = seconds_of(taken, offset, zone)
            frames.append(FrameEvidence(frame, camera, name, seconds, counter, source, camera in sure))
            if kind is None:
                continue
            person, how, doubt, run, certainty = decided
            verdicts[frame] = FrameVerdict(
                frame, FrameKind(kind), person, NamedBy(how), doubt, run, certainty=certainty
            )
    kinds = Counter(decided.kind for decided in verdicts.values())
    return DayLanes(
        lanes=tuple(_lanes(frames, verdicts, suggested, timings, labels, zone)),
        frames=len(frames),
        counts=kinds,
        unmatched=len(frames) - len(verdicts),
        matched_until=until,
        labels=format_frame_labels((f.id, labels[f.camera], f.counter, f.name) for f in frames),
    )


_FRAMES = sa.select(
    Frame.id,
    Frame.camera_id,
    Frame.name,
    Frame.taken,
    Frame.utc_offset,
    Frame.counter,
    Frame.source,
    VerdictRow.kind,
    VerdictRow.person_id,
    VerdictRow.how,
    VerdictRow.doubt,
    VerdictRow.run,
    VerdictRow.certainty,
).outerjoin(VerdictRow, VerdictRow.frame_id == Frame.id)


def _suggested(session: Session) -> dict[int, tuple[Suggestion, ...]]:
    """The suggestions for each loose run, by the run's first frame."""
    rows = session.exec(
        select(VerdictRow.run, VerdictRow.suggestions).where(
            VerdictRow.kind == FrameKind.LOOSE.value, VerdictRow.run == VerdictRow.frame_id
        )
    )
    return {run: stored_suggestions(suggestions) for run, suggestions in rows if run is not None}


def _lanes(
    frames: Sequence[FrameEvidence],
    verdicts: Mapping[int, FrameVerdict],
    suggested: Mapping[int, tuple[Suggestion, ...]],
    timings: Timings,
    labels: Mapping[int, str],
    zone: timezone,
) -> list[DayLane]:
    placed, unplaced = shooting_order.shooting_lanes(frames)
    day = [
        DayLane(
            lane.camera,
            labels[lane.camera],
            tuple(
                runs_of(with_forward(lane, timings), verdicts, suggested, shoot_times(lane, timings), zone)
            ),
        )
        for lane in placed
    ]
    apart: dict[int, list[FrameEvidence]] = {}
    for frame in sorted(unplaced, key=lambda frame: (frame.name, frame.id)):
        apart.setdefault(frame.camera, []).append(frame)
    for camera, frames_apart in apart.items():
        left = shooting_order.ShootingLane(camera, tuple(frames_apart))
        runs = runs_of(left, verdicts, suggested, shoot_times(left, {}), zone)
        day.append(DayLane(camera, labels[camera], tuple(runs), False))
    return sorted(day, key=lambda lane: (lane.label, not lane.placed))
