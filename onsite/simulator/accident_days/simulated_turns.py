"""A turn on set: the exposures of one person, with the pauses between them.

About two minutes a person: the change of people takes 20 to 90 seconds (one in ten is quick, from 8), then
the slate, then 4 to 9 portraits some seconds apart. Common practice, no source.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from enum import StrEnum

from onsite.simulator.invented_exposure import STILL, FrameConditions

# Common practice, no source.
PORTRAITS = range(4, 10)  # frames of one person
CHANGE = 20.0, 90.0  # seconds from one person to the next
QUICK = 8.0, 20.0  # the same, where they hurry
QUICK_SHARE = 0.1  # of the changes
UPSIDE_DOWN = 180  # degrees


class What(StrEnum):
    """What a frame truly is."""

    SLATE = "slate"
    PORTRAIT = "portrait"
    TEST = "test"
    HELPER = "helper"


@dataclass(frozen=True, slots=True)
class Slip:
    """A QR symbol in sight: the slate `of` a person, or else any `text`; None does not read."""

    of: int | None = None
    text: str | None = None
    turned: int = 0


@dataclass(frozen=True, slots=True)
class Worn:
    """Whose clothes are to be seen. Helpers have numbers below zero."""

    person: int
    outfit: int = 0
    dressed_as: int | None = None
    """Whose clothes these equal; None for clothes of their own."""


@dataclass(eq=False, slots=True)
class Shot:
    """An exposure, `after` seconds from the one before. `on` are the people of the roster who are on it."""

    after: float
    what: What
    on: tuple[int, ...] = ()
    worn: tuple[Worn, ...] = ()
    slips: tuple[Slip, ...] = ()
    looked_at: bool = True
    lit: bool = True
    deleted: bool = False
    like_backdrop: bool = False
    conditions: FrameConditions = STILL


@dataclass(eq=False, slots=True)
class Turn:
    """One person's exposures in a row. `swapped_with` is whose card they held all through; `struck` names the
    accidents."""

    person: int
    outfit: int = 0
    shots: list[Shot] = field(default_factory=list)
    struck: list[str] = field(default_factory=list)
    swapped_with: int | None = None

    def of(self, what: What) -> list[Shot]:
        return [shot for shot in self.shots if shot.what is what]

    @property
    def slates(self) -> list[Shot]:
        return self.of(What.SLATE)

    @property
    def portraits(self) -> list[Shot]:
        return self.of(What.PORTRAIT)

    def remove(self, shots: Iterable[Shot]) -> None:
        """What is left keeps the pause from the turn before."""
        lead = self.shots[0].after if self.shots else 0.0
        gone = list(shots)
        self.shots = [shot for shot in self.shots if shot not in gone]
        if self.shots:
            self.shots[0].after = max(lead, self.shots[0].after)

    def insert(self, place: int, shots: Iterable[Shot], rng: random.Random) -> None:
        """Puts shots in; what comes first in the turn takes the pause of the change of people."""
        new = list(shots)
        if place == 0 and self.shots:
            new[0].after, self.shots[0].after = self.shots[0].after, between_frames(rng)
        self.shots[place:place] = new

    def hold_up(self, of: int) -> None:
        """All slates become another person's."""
        for shot in self.shots:
            shot.slips = tuple(
                replace(slip, of=of) if slip.of == self.person else slip for slip in shot.slips
            )

    def readable(self) -> Iterator[Shot]:
        """Shots with a slate that says whose turn it is, as far as cards were not swapped."""
        owner = self.person if self.swapped_with is None else self.swapped_with
        return (shot for shot in self.shots if shot.looked_at and any(s.of == owner for s in shot.slips))


def between_people(rng: random.Random) -> float:
    return rng.uniform(*(QUICK if rng.random() < QUICK_SHARE else CHANGE))


def between_frames(rng: random.Random) -> float:
    """Seconds from frame to frame: mostly 3 to 8, sometimes 1 or 14."""
    return min(max(rng.lognormvariate(1.55, 0.5), 0.9), 14.0)


def slate(
    person: int, outfit: int, rng: random.Random, slips: tuple[Slip, ...] | None = None, turned: int = 0
) -> Shot:
    held = slips if slips is not None else (Slip(person, turned=(turned + rng.randint(-9, 9)) % 360),)
    return Shot(between_frames(rng), What.SLATE, (person,), (Worn(person, outfit),), held)


def portrait(person: int, outfit: int, rng: random.Random) -> Shot:
    return Shot(between_frames(rng), What.PORTRAIT, (person,), (Worn(person, outfit),))


def turn(person: int, rng: random.Random, outfit: int = 0) -> Turn:
    """A turn as it should be: the slate, and after a moment the portraits."""
    shots = [
        slate(person, outfit, rng),
        *(portrait(person, outfit, rng) for _ in range(rng.choice(PORTRAITS))),
    ]
    shots[0].after = between_people(rng)
    shots[1].after += rng.uniform(1.0, 8.0)
    return Turn(person, outfit, shots)
