"""Everything that matching may look at, gathered beforehand, and what it answers.

Times are seconds since 1970 UTC. A frame's `taken` is what its camera claims, turned into that scale with
the camera's own offset or else the shoot's zone: right or wrong.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

CLOCK_SLACK = 1.0
"""Seconds by which a clock without sub-seconds may seem to go back, and copies of an exposure to differ."""


@dataclass(frozen=True, slots=True)
class Symbol:
    """A QR symbol in a frame: `text` None where it was seen and does not read; `turned` degrees clockwise."""

    text: str | None
    turned: int = 0


@dataclass(frozen=True, slots=True)
class FrameEvidence:
    """One frame. `seen` is False where nobody could look at its picture. `sure_body` tells that its camera is
    known by a serial number; else frames from different folders (`source`) may be of two bodies. `backdrop`
    is the backdrop's lightness, CIE L*; None where it is not known."""

    id: int
    camera: int
    name: str
    taken: float | None
    counter: int | None
    source: str = ""
    sure_body: bool = True
    symbols: tuple[Symbol, ...] = ()
    look: bytes | None = None
    seen: bool = True
    backdrop: float | None = None


@dataclass(frozen=True, slots=True)
class CardAssignment:
    """From `at` on the deck card is this person's."""

    at: float
    person: int


@dataclass(frozen=True, slots=True)
class SlateShown:
    """The slate of this person was shown at a station."""

    at: float
    person: int
    station: str = ""


@dataclass(frozen=True, slots=True)
class Override:
    """A decision on a frame: given to a person, or set aside where `person` is None."""

    person: int | None


@dataclass(frozen=True, slots=True)
class Split:
    """By hand: from this frame on it is another run."""

    frame: int


@dataclass(frozen=True, slots=True)
class Join:
    """By hand: the run of this frame and that of `to` are one."""

    frame: int
    to: int


@dataclass(frozen=True, slots=True)
class Evidence:
    """`arrived` holds when each person who is here arrived; `codes` whose each ticket's code is; `cards` who
    held each deck card, by its code, in order of time (empty for a card never given out). `regroupings` are
    the runs split and joined by hand, in the order of the decisions: a later one builds on earlier ones."""

    shoot: str
    frames: Sequence[FrameEvidence]
    codes: Mapping[str, int]
    arrived: Mapping[int, float] = field(default_factory=dict)
    cards: Mapping[str, Sequence[CardAssignment]] = field(default_factory=dict)
    slates_shown: Sequence[SlateShown] = ()
    overrides: Mapping[int, Override] = field(default_factory=dict)
    regroupings: Sequence[Split | Join] = ()

    @property
    def reuses_cards(self) -> bool:
        """Whether a deck card was several people's, one after the other."""
        return any(len(ties) > 1 for ties in self.cards.values())


class FrameKind(StrEnum):
    NAMED = "named"
    SLATE = "slate"
    LOOSE = "loose"
    SET_ASIDE = "aside"


class NamedBy(StrEnum):
    """What named a frame."""

    OVERRIDE = "hand"
    SLATE = "slate"
    TAIL_SLATE = "tail-slate"
    NOTHING = ""


@dataclass(frozen=True, slots=True)
class Suggestion:
    """Somebody who may be on a loose frame: `score` is the sum that `suggest` states, `reasons` in words."""

    person: int
    score: int
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FrameVerdict:
    """What was decided of one frame. `person` is set on named frames and on slates that belong to somebody.
    `doubt` says in words why nothing more was decided. `run` is the first frame of its run or stretch."""

    frame: int
    kind: FrameKind
    person: int | None = None
    how: NamedBy = NamedBy.NOTHING
    doubt: str = ""
    run: int | None = None
    suggestions: tuple[Suggestion, ...] = ()
