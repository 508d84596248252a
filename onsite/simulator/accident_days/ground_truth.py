"""What is true of a simulated day, kept apart from the evidence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from onsite.simulator.accident_days.simulated_turns import What


@dataclass(frozen=True, slots=True)
class Truth:
    """The truth about a frame, taken `at` (seconds since 1970 UTC) in turn number `turn` of a body.

    `on` are the people of the roster on it: empty for light tests and helpers. `slateless` where its turn has
    no slate that reads as its person's, or where nobody of the roster is there. `swapped_with` is whose card
    the person held and never gave back. `struck` names the accidents of the turn and of the body.
    """

    body: int
    turn: int
    at: float
    what: What
    on: frozenset[int]
    slateless: bool
    swapped_with: int | None
    struck: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DayTruth:
    """`frames` by id; `order` the ids of each body in the order in which they were taken."""

    frames: Mapping[int, Truth]
    order: Sequence[Sequence[int]]
