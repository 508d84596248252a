"""Who may be on loose frames: candidates with a score and the reasons, in plain words.

The score is a sum of what the evidence says, in the points below. It ranks; it never names.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Mapping, Sequence

from onsite.matching.evidence import Shown, Suggestion

HINTED = 60
"""A slate or a neighbouring run points to them, and they have no frames; 25 where they have."""
HINTED_WITH_FRAMES = 25
SHOWN_THEN = 50
BETWEEN = 25
"""They arrived between the people photographed before and after, and have no frames."""
WAITING = 15
"""They had arrived by then and have no frames."""
SOON_AFTER = 5
"""Among those waiting, the one who had arrived last before the frames; one point less for each nearer one."""

_SHOWN_WITHIN = 180.0  # seconds before the frames
_MOST = 5
_NEAR = 8  # people looked at on each side of a moment in the order of arrival


class Arrivals:
    """Who arrived when, in order, and who of them has no frames."""

    def __init__(self, arrived: Mapping[int, float], with_frames: Collection[int]) -> None:
        waiting = sorted((at, person) for person, at in arrived.items() if person not in with_frames)
        self._times = [at for at, _ in waiting]
        self._people = [person for _, person in waiting]
        self._arrived = arrived
        self._with_frames = with_frames

    def has_frames(self, person: int) -> bool:
        return person in self._with_frames

    def between(self, before: int | None, after: int | None) -> list[int]:
        """People without frames who arrived between two others."""
        if before is None or after is None or not {before, after} <= self._arrived.keys():
            return []
        low, high = sorted((self._arrived[before], self._arrived[after]))
        return self._people[bisect_left(self._times, low) : bisect_right(self._times, high)][:_NEAR]

    def waiting_at(self, moment: float) -> list[int]:
        """People without frames who had arrived by then, the last one first."""
        end = bisect_right(self._times, moment)
        return self._people[max(end - _NEAR, 0) : end][::-1]


def suggest(
    arrivals: Arrivals,
    moment: float | None,
    before: int | None,
    after: int | None,
    hints: Sequence[tuple[int, str]],
    shown: Sequence[Shown],
) -> tuple[Suggestion, ...]:
    """The likeliest people for frames at `moment` (true time), between those named `before` and `after` them.

    `shown` are the slates shown at any station in the minutes before.
    """
    points: dict[int, int] = {}
    reasons: dict[int, list[str]] = {}

    def count(person: int, score: int, reason: str) -> None:
        if reason not in reasons.setdefault(person, []):
            points[person] = points.get(person, 0) + score
            reasons[person].append(reason)

    for person, reason in hints:
        count(person, HINTED_WITH_FRAMES if arrivals.has_frames(person) else HINTED, reason)
    for showing in shown:
        count(showing.person, SHOWN_THEN, "their slate was shown just then")
    for person in arrivals.between(before, after):
        count(person, BETWEEN, "arrived between the people before and after, and has no frames")
    if moment is not None:
        for number, person in enumerate(arrivals.waiting_at(moment)):
            count(person, WAITING + max(SOON_AFTER - number, 0), "had arrived by then, and has no frames")
    ranked = sorted(points, key=lambda person: (-points[person], person))[:_MOST]
    return tuple(Suggestion(person, points[person], tuple(reasons[person])) for person in ranked)


def shown_before(showings: Sequence[Shown], times: Sequence[float], moment: float | None) -> list[Shown]:
    """The showings (in order, at `times`) of the minutes before a moment."""
    if moment is None:
        return []
    return list(showings[bisect_left(times, moment - _SHOWN_WITHIN) : bisect_right(times, moment)])
