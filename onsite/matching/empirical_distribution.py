"""Empirical distributions, from which likelihood ratios are computed."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable

_STEEP = 6
"""Exponent of the tails: half the smallest value seen, or twice the largest, is 2 to this power times rarer.
Our own guess: colour distances, in which many colours take part, thin out faster still."""


class EmpiricalDistribution:
    """Distribution of observed values, such as the pauses of a day. One more value on either side is allowed
    for, so that nothing has probability 0."""

    def __init__(self, values: Iterable[float]) -> None:
        self._sorted = sorted(values)
        self._count = len(self._sorted)

    def __len__(self) -> int:
        return self._count

    def at_least(self, value: float) -> float:
        """Share of values that are at least `value`."""
        more = self._count - bisect_left(self._sorted, value)
        share = (more + 1) / (self._count + 1)
        return share if more or not self._count else share * (self._sorted[-1] / value) ** _STEEP

    def at_most(self, value: float) -> float:
        """Share of values that are at most `value`."""
        fewer = bisect_right(self._sorted, value)
        share = (fewer + 1) / (self._count + 1)
        return share if fewer or not self._count else share * (max(value, 0.0) / self._sorted[0]) ** _STEEP

    def quantile(self, share: float) -> float:
        """The value below which a share of the values lies; the smallest or largest at the ends."""
        return self._sorted[min(int(share * self._count), self._count - 1)]
