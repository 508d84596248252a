"""The present state of one camera: its last frames grouped by person, and quality warnings.

Computed from the last frames alone, so that it can be computed again as each frame lands.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlmodel import Session, func, select

from onsite.core.codes import parse_slate_code
from onsite.frames.frame_measures import PictureMeasures
from onsite.frames.frame_quality_checks import (
    LaneFrame,
    QualityWarning,
    SlateOnSet,
    SlateOwner,
    TypicalMeasures,
    WarningKind,
    check_quality,
    lone_slate,
    typical_measures,
)
from onsite.frames.save_frames import NOT_LOOKED_AT, measures_of
from onsite.matching.evidence import FrameKind, NamedBy
from onsite.matching.slate_status import SlateStatus
from onsite.reconcile.live_match import LiveFrame, live_frames
from onsite.store.schema import Camera, Frame, SymbolReading, VerdictRow
from onsite.store.shoot import Shoot

if TYPE_CHECKING:
    from onsite.checkin.waiting_people import InQueue

LAST = 240
"""Frames of a camera that are read: about the last hour."""

ASIDE = "set aside"

_TYPICAL_AMONG = 1000  # newest frames of a camera, from which ...
_TYPICAL_FROM = 200  # ... so many are sampled for its typical measures
_LONGEST_RUN = 100  # most frames that a frame is compared with, where no slate comes between

_WHOSE = {
    SlateStatus.UNREAD: SlateOwner.UNREAD,
    SlateStatus.OTHER_SHOOT: SlateOwner.OTHER_SHOOTS,
    SlateStatus.NOBODY: SlateOwner.UNASSIGNED,
    SlateStatus.NO_HOLDER: SlateOwner.UNASSIGNED,
    SlateStatus.CLOCK: SlateOwner.CLOCK,
}
"""Where a slate has an owner or is one of several people's, only the frames after it can be doubtful."""

_WITHOUT_SLATE = ("no slate before it", "before it: ", "the slate before it ")
"""How doubts begin where no slate names a frame; with other doubts, somebody else may have stepped in."""


@dataclass(frozen=True, slots=True)
class SetCamera:
    """A camera and its newest frame."""

    id: int
    label: str
    newest: int


@dataclass(frozen=True, slots=True)
class SetFrame:
    """A frame on set."""

    live: LiveFrame
    measures: PictureMeasures = PictureMeasures()  # noqa: RUF009  frozen
    trouble: str = ""
    """Why its picture could not be analysed."""
    warnings: tuple[QualityWarning, ...] = ()

    @property
    def id(self) -> int:
        return self.live.frame


@dataclass(frozen=True, slots=True)
class SetRun:
    """Consecutive frames of one person, slates included, in shooting order."""

    frames: tuple[SetFrame, ...]
    person: int | None = None
    doubt: str = ""
    """Why the person is not known."""

    @property
    def first(self) -> int:
        return self.frames[0].id

    @property
    def portraits(self) -> int:
        """Number of frames that are not slates."""
        return sum(not frame.live.is_slate for frame in self.frames)


@dataclass(frozen=True, slots=True)
class CameraNow:
    """The present state of a camera. `runs` are in shooting order."""

    camera: int
    runs: tuple[SetRun, ...] = ()
    _tail: tuple[LaneFrame, ...] = ()

    @property
    def person(self) -> int | None:
        """The person of the last run."""
        return self.runs[-1].person if self.runs else None

    @property
    def newest(self) -> SetFrame | None:
        """The frame that came in last."""
        return max((frame for run in self.runs for frame in run.frames), key=lambda f: f.id, default=None)

    @property
    def people(self) -> frozenset[int]:
        """The people recently photographed with this camera."""
        here = {run.person for run in self.runs if run.portraits} | {self.person}
        return frozenset(person for person in here if person is not None)

    def lone_slate(self, seconds: float) -> QualityWarning | None:
        """The warning that no frames follow the last slate, `seconds` after the newest frame came in."""
        return lone_slate(self._tail, seconds) if any(map(_is_somebodys, self._tail)) else None


def cameras_now(shoot: Shoot) -> list[SetCamera]:
    """The cameras that have frames, in the order of their labels."""
    newest = func.max(Frame.id)
    with shoot.reading() as session:
        cameras = session.exec(select(Camera.id, Camera.label)).all()
        found = [
            SetCamera(camera, label, frame)
            for camera, label in cameras
            if camera is not None
            and (frame := session.exec(select(newest).where(Frame.camera_id == camera)).one())
        ]
    return sorted(found, key=lambda camera: (len(camera.label), camera.label))


def read_camera_now(
    shoot: Shoot, camera: int, statuses: Mapping[int, InQueue], last: int = LAST
) -> CameraNow:
    """The present state of a camera, from its last frames. `statuses` holds everybody, by person id."""
    seen = live_frames(shoot, camera, last)
    with shoot.reading() as session:
        lane = _lane(session, seen, statuses)
        day = _typical_measures_of(session, camera)
    warnings = _all_warnings(lane, day)
    frames = [
        SetFrame(frame, facts.measures, facts.trouble, tuple(found))
        for frame, facts, found in zip(seen, lane, warnings, strict=True)
    ]
    return CameraNow(camera, tuple(_runs(frames)), tuple(lane[-1:]))


def _runs(frames: Sequence[SetFrame]) -> Iterator[SetRun]:
    """Group frames by person. A slate opens a run, unless it closes the run before."""
    run: list[SetFrame] = []
    for frame in frames:
        if run and not _belongs(frame.live, run[-1].live):
            yield _run(run)
            run = []
        run.append(frame)
    if run:
        yield _run(run)


def _belongs(frame: LiveFrame, before: LiveFrame) -> bool:
    if (FrameKind.SET_ASIDE in (frame.kind, before.kind)) and frame.kind is not before.kind:
        return False
    if frame.is_slate:
        again = before.is_slate and (frame.slate_status, frame.person) == (before.slate_status, before.person)
        closes = frame.how is NamedBy.TAIL_SLATE and frame.person == before.person is not None
        return again or closes
    return frame.person == before.person and (
        before.is_slate or frame.person is not None or _alike(frame, before)
    )


def _alike(frame: LiveFrame, before: LiveFrame) -> bool:
    """Whether two frames without a name lack it for the same reason."""
    return frame.kind is FrameKind.SET_ASIDE or frame.run == before.run


def _run(frames: Sequence[SetFrame]) -> SetRun:
    last = next((f.live for f in reversed(frames) if not f.live.is_slate), frames[-1].live)
    doubt = ASIDE if last.kind is FrameKind.SET_ASIDE else last.doubt
    return SetRun(tuple(frames), frames[0].live.person, doubt if frames[0].live.person is None else "")


# Facts that warnings are computed from


def _lane(session: Session, seen: Sequence[LiveFrame], statuses: Mapping[int, InQueue]) -> list[LaneFrame]:
    ids = [frame.frame for frame in seen]
    wanted = select(Frame.id, Frame.trouble).where(Frame.id.in_(ids), Frame.trouble != "")
    trouble = dict(session.exec(wanted).all())
    measures = measures_of(session, ids)
    slates = _slates(session, seen, statuses)
    return [
        LaneFrame(
            id=frame.frame,
            counter=frame.counter,
            slate=slates.get(frame.frame),
            measures=measures.get(frame.frame, PictureMeasures()),
            trouble=trouble.get(frame.frame, ""),
            doubt=frame.doubt if frame.kind is FrameKind.LOOSE and frame.frame not in trouble else "",
        )
        for frame in seen
    ]


def _slates(
    session: Session, seen: Sequence[LiveFrame], statuses: Mapping[int, InQueue]
) -> dict[int, SlateOnSet]:
    """What is known about each slate and its person, by frame."""
    slates = [frame for frame in seen if frame.is_slate]
    codes = _codes(session, [frame.frame for frame in slates])
    earlier = _frames_of(
        session, {frame.person for frame in slates} - {None}, {frame.frame for frame in seen}
    )
    here: dict[int, list[int]] = {}
    found: dict[int, SlateOnSet] = {}
    since = 0  # where the run of the last slate began
    for place, frame in enumerate(seen):
        person = frame.person
        if not frame.is_slate:
            if person is not None and frame.kind is FrameKind.NAMED:
                here.setdefault(person, []).append(place)
            continue
        is_tail = (
            frame.how is NamedBy.TAIL_SLATE and place > 0 and seen[place - 1].person == person is not None
        )
        before = 0
        if person is not None:
            before = sum(other < frame.frame for other in earlier.get(person, ()))
            before += sum(at < since or not is_tail for at in here.get(person, ()))
        found[frame.frame] = _slate(frame, codes.get(frame.frame, ""), statuses, before, is_tail)
        since = place
    return found


def _slate(
    frame: LiveFrame, code: str, statuses: Mapping[int, InQueue], before: int, is_tail: bool
) -> SlateOnSet:
    status = statuses.get(frame.person or 0)
    return SlateOnSet(
        _WHOSE.get(frame.slate_status or SlateStatus.SLATE, SlateOwner.ASSIGNED),
        code,
        status.person.name if status else "",
        status is None or status.arrived is not None,
        before,
        is_tail,
    )


def _codes(session: Session, frames: Collection[int]) -> dict[int, str]:
    """The code on each slate."""
    texts = session.exec(
        select(SymbolReading.frame_id, SymbolReading.text).where(
            SymbolReading.frame_id.in_(frames), SymbolReading.text.is_not(None)
        )
    )
    return {frame: code.text for frame, text in texts if text and (code := parse_slate_code(text))}


def _frames_of(
    session: Session, people: Collection[int | None], but: Collection[int]
) -> dict[int, list[int]]:
    """The frames named for these people by the last match, without those in `but`."""
    named = select(VerdictRow.person_id, VerdictRow.frame_id).where(
        VerdictRow.person_id.in_(people), VerdictRow.kind == FrameKind.NAMED.value
    )
    found: dict[int, list[int]] = {}
    for person, frame in session.exec(named):
        if person is not None and frame not in but:
            found.setdefault(person, []).append(frame)
    return found


def _typical_measures_of(session: Session, camera: int) -> TypicalMeasures:
    """Typical measures of a camera, from a sample of its frames of the last hours."""
    newest = select(Frame.id).where(Frame.camera_id == camera).order_by(Frame.id.desc())
    ids = session.exec(newest.limit(_TYPICAL_AMONG)).all()
    ids = ids[:: max(len(ids) // _TYPICAL_FROM, 1)]
    slates = set(session.exec(select(SymbolReading.frame_id).where(SymbolReading.frame_id.in_(ids))))
    measured = measures_of(session, set(ids) - slates)
    return typical_measures(LaneFrame(frame, measures=measures) for frame, measures in measured.items())


# Warnings


def _all_warnings(lane: Sequence[LaneFrame], day: TypicalMeasures) -> list[list[QualityWarning]]:
    """The warnings of every frame, each judged after the frames before it. The warning that no frames follow
    a slate is given to the slate itself."""
    found: list[list[QualityWarning]] = []
    since = 0
    for place, landed in enumerate(lane):
        before = lane[max(since, place - _LONGEST_RUN) : place]
        warnings_found = [] if landed.trouble == NOT_LOOKED_AT else check_quality(landed, before, day)
        found.append(
            [
                _short_warning(warning, landed)
                for warning in warnings_found
                if warning.kind is not WarningKind.NO_FRAMES
            ]
        )
        if place and _is_somebodys(lane[place - 1]):
            found[place - 1] += [
                warning for warning in warnings_found if warning.kind is WarningKind.NO_FRAMES
            ]
        if landed.slate:
            since = place
    return found


def _is_somebodys(frame: LaneFrame) -> bool:
    """Whether missing frames after a slate deserve a warning: an unreadable slate was rightly shot again at
    once."""
    return frame.slate is not None and frame.slate.owner is SlateOwner.ASSIGNED


def _short_warning(warning: QualityWarning, landed: LaneFrame) -> QualityWarning:
    """The warning in the words of the doubt: where a slate reads and somebody may have stepped in after it,
    the warning is not that no slate reads."""
    if warning.kind is not WarningKind.NO_SLATE:
        return warning
    if landed.doubt.startswith(_WITHOUT_SLATE):
        return QualityWarning(warning.kind, f"No slate reads before this frame: {short_doubt(landed.doubt)}.")
    return QualityWarning(warning.kind, f"No name from here on: {landed.doubt}. Shoot their slate.")


def short_doubt(doubt: str) -> str:
    """A doubt without the words that its context makes plain."""
    return doubt.removeprefix("before it: ")
