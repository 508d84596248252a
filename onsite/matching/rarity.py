"""How rare a value is among those that were observed: what evidence is weighed with."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable


class Rarity:
    """Values that were observed, such as the pauses of a day. One more on either side is always allowed for,
    so that nothing is ever quite impossible."""

    def __init__(self, values: Iterable[float]) -> None:
        self._sorted = sorted(values)

    def __len__(self) -> int:
        return len(self._sorted)

    def at_least(self, value: float) -> float:
        """The share of values as large as this one, or larger."""
        return (len(self) - bisect_left(self._sorted, value) + 1) / (len(self) + 1)

    def at_most(self, value: float) -> float:
        """The share of values as small as this one, or smaller."""
        return (bisect_right(self._sorted, value) + 1) / (len(self) + 1)

    def below(self, share: float) -> float:
        """The value that so large a share of the values lies below; the smallest or the largest at the ends."""
        return self._sorted[min(int(share * len(self)), len(self) - 1)]
