"""How rare a value is among those that were observed: what evidence is weighed with."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable

_STEEP = 6
"""Beyond the smallest value seen, half of it is so many halvings rarer, and so is twice the largest. Our own
guess: distances of looks, in which many colours take part, thin out faster still."""


class EmpiricalDistribution:
    """Values that were observed, such as the pauses of a day. One more on either side is always allowed for,
    so that nothing is ever quite impossible."""

    def __init__(self, values: Iterable[float]) -> None:
        self._sorted = sorted(values)
        self._count = len(self._sorted)

    def __len__(self) -> int:
        return self._count

    def at_least(self, value: float) -> float:
        """The share of values as large as this one, or larger."""
        more = self._count - bisect_left(self._sorted, value)
        share = (more + 1) / (self._count + 1)
        return share if more or not self._count else share * (self._sorted[-1] / value) ** _STEEP

    def at_most(self, value: float) -> float:
        """The share of values as small as this one, or smaller."""
        fewer = bisect_right(self._sorted, value)
        share = (fewer + 1) / (self._count + 1)
        return share if fewer or not self._count else share * (max(value, 0.0) / self._sorted[0]) ** _STEEP

    def quantile(self, share: float) -> float:
        """The value that so large a share of the values lies below; the smallest or largest at the ends."""
        return self._sorted[min(int(share * self._count), self._count - 1)]
