"""People stand in a queue: who is photographed now came at about the time when those around them came.

Now and then somebody is let through, or lets others go first. So this settles nothing by itself; it speaks
for a clock that has everybody in line, and against a card's next holder, who came long after all others
around.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

_AROUND = 5  # slates before, and after
_LATE = 900.0  # seconds after the others, at least, that are no chance of the queue
_WIDELY = 0.9  # of the slates: what is usual


@dataclass(frozen=True, slots=True)
class ArrivalOrder:
    """Of the slates of one camera with one clock that are one person's for sure: their `places` in the order
    taken, and how far before the camera's time of each its person `came`, in seconds (below 0)."""

    places: npt.NDArray[np.int64]
    came: npt.NDArray[np.float64]
    late: float

    @classmethod
    def of(cls, sure: Iterable[tuple[int, float]]) -> ArrivalOrder | None:
        """None where there are too few to tell."""
        pairs = sorted(sure)
        if len(pairs) < 2 * _AROUND:
            return None
        queue = cls(np.array([place for place, _ in pairs]), np.array([came for _, came in pairs]), _LATE)
        apart = np.abs([came - queue.expected(place) for place, came in pairs])
        return cls(queue.places, queue.came, max(_LATE, 2 * float(np.quantile(apart, _WIDELY))))

    def expected(self, place: int) -> float:
        """When those around that place came."""
        at = int(np.searchsorted(self.places, place))
        first = min(max(at - _AROUND, 0), len(self.places) - 2 * _AROUND)
        return float(np.median(self.came[first : first + 2 * _AROUND]))

    def is_late(self, place: int, came: float) -> bool:
        """Whether somebody came long after those around that place."""
        return came - self.expected(place) > self.late
