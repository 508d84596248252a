"""Distributions of what a day shows, such as its pauses."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

FEWEST = 5
"""Values that make a distribution; with fewer, values of our own choice count as well."""
STEEP = 6
"""Exponent of the tails: twice the largest value seen, and half of the smallest, are 2 to this power times rarer.
Our own guess: colour distances, in which many colours take part, thin out faster still."""

Floats = NDArray[np.floating[Any]]


class EmpiricalDistribution:
    """Distribution of observed values, such as the pauses of a day. One more value on either side is allowed
    for, so that nothing has probability 0. `lower` is the exponent of the tail below the smallest value."""

    def __init__(self, values: Iterable[float], lower: int = STEEP) -> None:
        self._sorted, self._lower = np.sort(np.fromiter(values, np.float64)), lower
        self._count = len(self._sorted)

    @classmethod
    def of(
        cls, values: Iterable[float], otherwise: Sequence[float], lower: int = STEEP
    ) -> EmpiricalDistribution:
        """The distribution of some values, of which NaN count for nothing; with others where they are too few."""
        found = [value for value in np.asarray(list(values), np.float64).tolist() if value == value]
        return cls(found if len(found) >= FEWEST else (*found, *otherwise), lower)

    def __len__(self) -> int:
        return self._count

    def at_least(self, values: Floats) -> Floats:
        """Share of values that are at least each of these."""
        more = self._count - np.searchsorted(self._sorted, values, side="left")
        share = (more + 1) / (self._count + 1)
        if not self._count:
            return share
        return share * np.where(
            more > 0, 1.0, (self._sorted[-1] / np.maximum(values, self._sorted[-1])) ** STEEP
        )

    def at_most(self, values: Floats) -> Floats:
        """Share of values that are at most each of these."""
        fewer = np.searchsorted(self._sorted, values, side="right")
        share = (fewer + 1) / (self._count + 1)
        if not self._count:
            return share
        return (
            share * np.minimum(values / self._sorted[0], 1.0) ** self._lower if self._sorted[0] > 0 else share
        )

    def quantile(self, share: float) -> float:
        """The value below which a share of the values lies; the smallest or largest at the ends."""
        return float(self._sorted[min(int(share * self._count), self._count - 1)])
