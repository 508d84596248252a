"""Offset of a camera's clock against the door's: what most observations agree on.

Each observation leaves a range of offsets (true time minus camera time) possible, or several. The offset is
where the most ranges overlap, so that a few wrong observations, however far off, never outweigh many right
ones. Source: Marzullo, "Maintaining the time in a distributed system", 1984; the Network Time Protocol
selects its clocks so, and trusts them where they are more than half (RFC 5905, 11.2.1).

Observations are of three kinds. Clock slates measure the offset to a second. A slate is photographed soon
after it was shown at a station. Nobody is photographed before they arrive, which bounds the offset from
below. The most precise kind that agrees among itself gives the offset.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import accumulate, combinations
from statistics import fmean, median

SHOWN_BEFORE, SHOWN_AFTER = 10.0, 180.0
"""Seconds by which a slate is photographed before or after it is shown: the screen is up for a moment first,
and posing takes minutes at most. Our own choice."""
_SLATE_SPREAD = 15.0
"""Seconds by which clock slates of one clock may differ: a second of reading, and drift over a week. Our own
choice."""
_SLATE_ERROR = 2.0
"""Seconds by which a clock slate may be off: its symbol and a camera without sub-seconds each cut off one."""
DECISIVE = 4
"""Slates by which one offset must explain more than another, or than none, to rule it out: three agree by
chance on a day of few deck cards (`tests/matching/test_clock_offset.py`)."""

DAY = 86_400.0
"""Seconds."""

Span = tuple[float, float]
"""A range of offsets in seconds, from and to."""


class OffsetSource(StrEnum):
    """What a clock's offset is derived from."""

    CLOCK_SLATES = "clock slates"
    SHOWN = "slates shown"
    ARRIVALS = "arrivals"
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class ClockOffset:
    """True time is camera time plus `offset` seconds; the evidence fits anything from `low` to `high`."""

    offset: float = 0.0
    low: float = -math.inf
    high: float = math.inf
    source: OffsetSource = OffsetSource.NOTHING
    slates: int = 0
    """Slates that agree with it."""
    drift: float = 0.0
    """Seconds a day by which the offset grows; 0 where no drift is seen."""
    at: float = 0.0
    """Camera time at which the offset is exactly `offset`."""

    @property
    def is_measured(self) -> bool:
        """Whether clock slates or slates shown give the offset; arrivals only bound it."""
        return self.source in (OffsetSource.CLOCK_SLATES, OffsetSource.SHOWN)

    def true(self, taken: float) -> float:
        """The likeliest true time of a frame taken at a camera's time."""
        return taken + self.offset + self.drift * (taken - self.at) / DAY

    @property
    def correction(self) -> float:
        """Seconds to add to the camera's times to show them; none where the evidence allows that its clock is
        right."""
        return 0.0 if self.low <= 0.0 <= self.high else float(round(self.offset))


def clock_disagreement(first: ClockOffset, other: ClockOffset) -> float | None:
    """Seconds by which `other` is ahead of `first`; None where some reading of the evidence
    has them agree."""
    if first.low <= other.high and other.low <= first.high:
        return None
    return first.offset - other.offset


@dataclass(frozen=True, slots=True)
class Observation:
    """What one photographed slate says of a camera's clock."""

    taken: float
    """Camera time, in seconds."""
    source: OffsetSource
    ranges: tuple[Span, ...]
    """The offsets that it leaves possible: a range for each time that the slate was shown."""

    @classmethod
    def of_clock_slate(cls, taken: float, door: float) -> Observation:
        """Of a clock slate that shows the time `door`."""
        offset, around = door - taken, _SLATE_SPREAD / 2
        return cls(taken, OffsetSource.CLOCK_SLATES, ((offset - around, offset + around),))

    @classmethod
    def of_slate_shown(cls, taken: float, shown: Sequence[float]) -> Observation:
        """Of a person's slate, from each time at which it was shown while it was theirs."""
        ranges = [(at - SHOWN_BEFORE - taken, at + SHOWN_AFTER - taken) for at in shown]
        return cls(taken, OffsetSource.SHOWN, tuple(ranges))

    @classmethod
    def of_arrival(cls, taken: float, arrived: float) -> Observation:
        """Of a slate whose owner arrived then: nobody is photographed half a day later."""
        return cls(taken, OffsetSource.ARRIVALS, ((arrived - taken, arrived - taken + DAY / 2),))

    def fits(self, offset: float) -> bool:
        """Whether it leaves an offset possible."""
        return any(low <= offset <= high for low, high in self.ranges)

    @property
    def joined(self) -> list[Span]:
        """The ranges that it leaves possible, in order and apart."""
        found: list[Span] = []
        for low, high in sorted(self.ranges):
            if found and low <= found[-1][1]:
                found[-1] = found[-1][0], max(high, found[-1][1])
            elif low <= high:
                found.append((low, high))
        return found


def agreement(observations: Sequence[Observation], fewer: int = 0) -> tuple[list[Span], int]:
    """The ranges of offsets that enough observations leave possible, and the most that any offset has.

    Enough are `fewer` than that most, and at least one. Costs n log n.
    """
    edges = sorted(
        edge for each in observations for low, high in each.joined for edge in ((low, 0), (high, 1))
    )
    counts = list(accumulate(-1 if closes else 1 for _, closes in edges))
    most = max(counts, default=0)
    enough = [count >= max(most - fewer, 1) for count in counts]
    bounds = [at for (at, _), was, now in zip(edges, [False, *enough], enough, strict=False) if was != now]
    return list(zip(bounds[::2], bounds[1::2], strict=True)), most


def find_clock_offset(observations: Sequence[Observation]) -> ClockOffset:
    """The clock offset of one camera over a piece in which the clock was not set."""
    of = {source: [each for each in observations if each.source is source] for source in OffsetSource}
    return (
        _by_clock_slates(of[OffsetSource.CLOCK_SLATES])
        or _by_slates_shown(of[OffsetSource.SHOWN])
        or _by_arrivals(of[OffsetSource.ARRIVALS])
    )


def _by_clock_slates(slates: Sequence[Observation]) -> ClockOffset | None:
    """A line through the clock slates that agree, half of them above it. None without a clock slate."""
    if not slates:
        return None
    spans, most = agreement(slates)
    agreeing = [each for each in slates if any(each.fits(low) for low, _ in spans)]
    points = [(each.taken, fmean(each.ranges[0])) for each in agreeing]
    drift = _drift(points)
    at = fmean(taken for taken, _ in points) if drift else 0.0
    offset = median(offset - drift * (taken - at) for taken, offset in points)
    low = min(offset for _, offset in points) - _SLATE_ERROR
    high = max(offset for _, offset in points) + _SLATE_ERROR
    return ClockOffset(offset, low, high, OffsetSource.CLOCK_SLATES, most, drift * DAY, at)


def _drift(points: Sequence[tuple[float, float]]) -> float:
    """Seconds a second, from (camera time, offset in seconds) of clock slates: the median slope between any
    two (Theil-Sen estimator), which one outlying slate does not turn. 0 where two readings may err by as
    much."""
    slopes = [
        (b - a) / (later - taken) for (taken, a), (later, b) in combinations(points, 2) if later != taken
    ]
    slope, times = median(slopes or [0.0]), [taken for taken, _ in points]
    return slope if abs(slope) * (max(times) - min(times)) > 2 * _SLATE_ERROR else 0.0


def _by_slates_shown(shown: Sequence[Observation]) -> ClockOffset | None:
    """None where too few agree, or no more than half: slates are shown for a look, too, hours before."""
    spans, most = agreement(shown)
    if most < DECISIVE or 2 * most <= len(shown):
        return None
    first, last = spans[0]
    possible, _ = agreement(shown, DECISIVE - 1)
    lows = [start for each in shown for start, end in each.ranges if start <= last and first <= end]
    offset = min(median(lows) + SHOWN_BEFORE, last)
    return ClockOffset(offset, possible[0][0], possible[-1][1], OffsetSource.SHOWN, most)


def _by_arrivals(arrivals: Sequence[Observation]) -> ClockOffset:
    """Where the camera's own time fits, that is the likeliest; else the least that fits: somebody is always
    photographed soon after they arrive. A few arrivals are typed in later."""
    possible, most = agreement(arrivals, DECISIVE - 1)
    if not most:
        return ClockOffset()
    low, high = possible[0][0], possible[-1][1]
    return ClockOffset(0.0 if low <= 0.0 <= high else low, low, high, OffsetSource.ARRIVALS, most)
