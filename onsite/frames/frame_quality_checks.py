"""Quality warnings on set for a frame that just landed. Pure rules: the caller gathers the facts.

The limits are our own choice: wide, so that a warning is worth interrupting for.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import median

from onsite.core.file_counter import counter_text, last_counter, next_counter, previous_counter
from onsite.core.text import plural
from onsite.frames.frame_measures import Lab, PictureMeasures, colour_difference

DARK_SHARE = 1 / 3
"""Dark: below this share of typical brightness, 1.5 stops less; poses and clothes of a person vary less."""

SOFT_SHARE = 0.5
"""Soft: below this share of the run's typical sharpness; one person in the same clothes hardly varies."""

SOFT_SHARE_OF_DAY = 0.2
"""Soft: below this share of the day's typical sharpness; patterned and plain clothes differ by five times."""

DRIFT = 6.0
"""CIEDE2000 above which a backdrop has drifted: more than shows side by side (`colour_difference`)."""

LONE_SLATE_SECONDS = 120.0
"""Seconds after a slate without frames: the person may have left, or the camera may not be sending."""

_A_FEW = 3  # least portraits of a run for typical measures
_ENOUGH = 8  # least portraits of a day for typical measures
_DARK_BACKDROP = 10.0  # L*: a black backdrop stays black without flash
_LARGEST_GAP = 1000  # counters; a larger gap is a new numbering, not missing frames


class WarningKind(StrEnum):
    """Kind of a quality warning."""

    NO_SLATE = "no slate"
    UNREAD = "unread"
    OTHER_SHOOT = "other shoot"
    NOBODY = "nobody"
    NOT_ARRIVED = "not arrived"
    SHOT_BEFORE = "shot before"
    NO_FRAMES = "no frames"
    DARK = "dark"
    SOFT = "soft"
    BACKDROP = "backdrop"
    COUNTER = "counter"
    DAMAGED = "damaged"


@dataclass(frozen=True, slots=True)
class QualityWarning:
    """A warning. `text` is one short line; names in it are as written, not yet safe to show."""

    kind: WarningKind
    text: str


class SlateOwner(StrEnum):
    """What is known about the owner of a slate."""

    ASSIGNED = "somebody's"
    UNREAD = "unread"
    OTHER_SHOOTS = "other shoot's"
    UNASSIGNED = "nobody's"
    CLOCK = "the clock's"


@dataclass(frozen=True, slots=True)
class SlateOnSet:
    """A slate in a frame, and what is known of its owner."""

    owner: SlateOwner
    code: str = ""
    name: str = ""
    has_arrived: bool = True
    frames_before: int = 0
    """Frames of the owner in earlier runs."""
    is_tail: bool = False
    """True where the slate is upside down: it names the frames before it."""


@dataclass(frozen=True, slots=True)
class LaneFrame:
    """A frame in a camera's lane."""

    id: int
    counter: int | None = None
    slate: SlateOnSet | None = None
    measures: PictureMeasures = PictureMeasures()  # noqa: RUF009  frozen
    trouble: str = ""
    """Why the picture could not be examined."""
    doubt: str = ""
    """Why the frame has no name, where that is because no slate reads before it."""


@dataclass(frozen=True, slots=True)
class TypicalMeasures:
    """Medians over portraits; None where there are too few."""

    brightness: float | None = None
    sharpness: float | None = None
    backdrop: Lab | None = None


def typical_measures(frames: Iterable[LaneFrame], least: int = _ENOUGH) -> TypicalMeasures:
    """Return the medians of the frames that are no slates, in any order; None below `least` portraits."""
    portraits = [frame.measures for frame in frames if frame.slate is None and not frame.trouble]
    backdrops = [m.backdrop for m in portraits if m.backdrop is not None]
    return TypicalMeasures(
        _median([m.brightness for m in portraits if m.brightness is not None], least),
        _median([m.sharpness for m in portraits if m.sharpness is not None], least),
        Lab(*(median(values) for values in zip(*backdrops, strict=True)))
        if len(backdrops) >= least
        else None,
    )


def check_quality(
    landed: LaneFrame, lane: Sequence[LaneFrame], day: TypicalMeasures | None = None
) -> list[QualityWarning]:
    """Return the warnings for a frame that landed, most serious first.

    `lane` holds the earlier frames of its camera in shooting order, at least those since the last slate.
    `day` has the camera's typical measures, by default those of `lane`; its backdrop is the reference.
    """
    day = day or typical_measures(lane)
    run = run_so_far(lane)
    found = [_no_frames(lane, landed), _slate(landed.slate) if landed.slate else _no_slate(landed, lane)]
    if landed.trouble:
        found.append(
            QualityWarning(WarningKind.DAMAGED, f"Nobody could look at this frame: {landed.trouble}")
        )
    elif landed.slate is None:
        dark = _dark(landed.measures, typical_measures(run, _A_FEW), day)
        found += [dark] if dark else [_soft(landed.measures, typical_measures(run, _A_FEW), day)]
        found.append(None if dark else _backdrop(landed.measures, day))
    found.append(_counter(landed, lane))
    return [alarm for alarm in found if alarm is not None]


def run_so_far(lane: Sequence[LaneFrame]) -> Sequence[LaneFrame]:
    """Return the frames after the last slate."""
    last = max((place for place, frame in enumerate(lane) if frame.slate), default=-1)
    return lane[last + 1 :]


def lone_slate(lane: Sequence[LaneFrame], seconds: float) -> QualityWarning | None:
    """Return the warning that no frames follow the slate at the end of a lane, `seconds` after it landed."""
    return _no_frames(lane, None) if seconds >= LONE_SLATE_SECONDS else None


def _no_frames(lane: Sequence[LaneFrame], landed: LaneFrame | None) -> QualityWarning | None:
    """Warn where a slate is followed by another slate or by nothing.

    Not for the same slate shot twice, and not for a tail slate.
    """
    slate = lane[-1].slate if lane else None
    if slate is None or slate.is_tail or slate.owner is SlateOwner.CLOCK:
        return None
    if landed is not None:
        following = landed.slate
        if following is None or (following.owner, following.code) == (slate.owner, slate.code):
            return None
    return QualityWarning(WarningKind.NO_FRAMES, f"No frames followed the slate{_of(slate)}.")


def _slate(slate: SlateOnSet) -> QualityWarning | None:
    """Warn about a slate that does not name a person who is due now."""
    match slate.owner:
        case SlateOwner.UNREAD:
            return QualityWarning(WarningKind.UNREAD, "The slate does not read: shoot it again.")
        case SlateOwner.OTHER_SHOOTS:
            return QualityWarning(WarningKind.OTHER_SHOOT, "The slate is another shoot's: take theirs.")
        case SlateOwner.CLOCK:
            return None
        case SlateOwner.UNASSIGNED:
            return QualityWarning(WarningKind.NOBODY, f"The slate {slate.code} is nobody's here.")
    if slate.frames_before:
        count = plural(slate.frames_before, "frame")
        return QualityWarning(WarningKind.SHOT_BEFORE, f"{slate.name} has been shot already: {count}.")
    if not slate.has_arrived:
        return QualityWarning(WarningKind.NOT_ARRIVED, f"{slate.name} has not been checked in.")
    return None


def _no_slate(landed: LaneFrame, lane: Sequence[LaneFrame]) -> QualityWarning | None:
    """Warn once, at the first of several frames without a slate before them."""
    if not landed.doubt or (lane and lane[-1].doubt and lane[-1].slate is None):
        return None
    return QualityWarning(WarningKind.NO_SLATE, f"No slate reads before this frame: {landed.doubt}")


def _dark(seen: PictureMeasures, run: TypicalMeasures, day: TypicalMeasures) -> QualityWarning | None:
    """Warn about a dark frame, compared with its run, which shows the same person.

    It is compared with the day only where the backdrop is darker as well: clothes may be black.
    """
    if seen.brightness is None:
        return None
    if run.brightness is not None:
        return _less_light(seen.brightness, run.brightness, "its run")
    if day.brightness is None or not _backdrop_is_darker(seen.backdrop, day.backdrop):
        return None
    return _less_light(seen.brightness, day.brightness, "the day's frames")


def _less_light(brightness: float, typical_brightness: float, than: str) -> QualityWarning | None:
    if brightness >= DARK_SHARE * typical_brightness:
        return None
    share = f"{100 * brightness / typical_brightness:.0f} %"
    return QualityWarning(
        WarningKind.DARK, f"Much darker than {than} ({share} of the light): did the flash fire?"
    )


def _backdrop_is_darker(seen: Lab | None, reference: Lab | None) -> bool:
    """Whether the backdrop is darker, or unknown. 0.75 of L* is about half of the light."""
    if seen is None or reference is None or reference.l < _DARK_BACKDROP:
        return True
    return seen.l < 0.75 * reference.l


def _soft(seen: PictureMeasures, run: TypicalMeasures, day: TypicalMeasures) -> QualityWarning | None:
    if seen.sharpness is None:
        return None
    if run.sharpness is not None and seen.sharpness < SOFT_SHARE * run.sharpness:
        return _softer(seen.sharpness, run.sharpness, "its run")
    if day.sharpness is not None and seen.sharpness < SOFT_SHARE_OF_DAY * day.sharpness:
        return _softer(seen.sharpness, day.sharpness, "the day's frames")
    return None


def _softer(sharpness: float, typical_sharpness: float, than: str) -> QualityWarning:
    share = f"{100 * sharpness / typical_sharpness:.0f} %"
    return QualityWarning(WarningKind.SOFT, f"Softer than {than} ({share} of the usual): check the focus.")


def _backdrop(seen: PictureMeasures, day: TypicalMeasures) -> QualityWarning | None:
    if seen.backdrop is None or day.backdrop is None:
        return None
    difference = colour_difference(seen.backdrop, day.backdrop)
    if difference <= DRIFT:
        return None
    return QualityWarning(WarningKind.BACKDROP, f"The backdrop has drifted: {difference:.1f} ΔE00 off.")


def _counter(landed: LaneFrame, lane: Sequence[LaneFrame]) -> QualityWarning | None:
    """Warn about counters missing before this frame. A frame that lands late causes no warning."""
    before = next((frame.counter for frame in reversed(lane) if frame.counter is not None), None)
    if before is None or landed.counter is None:
        return None
    last = last_counter((before, landed.counter))
    missing = landed.counter - before - 1
    if missing < 0 and before + _LARGEST_GAP > last:  # roll-over from the last counter to 1
        missing += last
    first, final = next_counter(before, last), previous_counter(landed.counter, last)
    if 0 < missing <= _LARGEST_GAP:
        which = (
            f"{counter_text(first)} is"
            if missing == 1
            else f"{counter_text(first)} to {counter_text(final)} are"
        )
        return QualityWarning(WarningKind.COUNTER, f"The counter jumped: {which} missing.")
    if missing > _LARGEST_GAP:
        return QualityWarning(
            WarningKind.COUNTER,
            f"The counter jumped from {counter_text(before)} to {counter_text(landed.counter)}.",
        )
    return None


def _of(slate: SlateOnSet) -> str:
    return f" of {slate.name}" if slate.name else ""


def _median(values: Sequence[float], least: int) -> float | None:
    return median(values) if len(values) >= least else None
