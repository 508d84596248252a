"""Drift of a camera's clock, from the delays between slates shown and photographed, day by day."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import fmean, median, stdev

DAY = 86_400.0
_FEWEST = 8  # slates of one day
_SURE = 5.0  # times its standard error, which a drift must exceed


def drift_of(delays: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """(seconds a day, camera time at which the offset is the median) from (camera time, offset in seconds) of
    slates, in any order. The drift is 0 where the days do not distinguish it from none.

    A line through the daily means is fitted: how long a slate waits to be photographed varies far more within
    a day than a clock drifts in it.
    """
    days: dict[int, list[tuple[float, float]]] = {}
    for taken, offset in delays:
        days.setdefault(int(taken // DAY), []).append((taken, offset))
    points = [_mean(day_points) for _, day_points in sorted(days.items()) if len(day_points) >= _FEWEST]
    if len(points) < 2:
        return 0.0, 0.0
    slopes = [(b[1] - a[1]) / (b[0] - a[0]) for i, a in enumerate(points) for b in points[i + 1 :]]
    slope = median(slopes)  # Theil-Sen estimator: one outlying day does not turn it
    at = fmean(point[0] for point in points)
    spread = math.sqrt(sum((point[0] - at) ** 2 for point in points))
    error = math.sqrt(fmean(point[2] ** 2 for point in points)) / spread
    return (slope * DAY, at) if abs(slope) > _SURE * error else (0.0, 0.0)


def _mean(points: Sequence[tuple[float, float]]) -> tuple[float, float, float]:
    """A day's slates in one point: mean camera time, mean offset, and its standard error."""
    offsets = [point[1] for point in points]
    return fmean(point[0] for point in points), fmean(offsets), stdev(offsets) / math.sqrt(len(points))
