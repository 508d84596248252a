"""Input and output of matching: the evidence, and the verdicts on frames.

Times are seconds since 1970 UTC. A frame's `taken` is its camera's time on that scale, converted with the
camera's own UTC offset or else with the shoot's time zone; it may be wrong.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

CLOCK_SLACK = 1.0
"""Seconds by which a clock without sub-seconds may seem to go back, and copies of an exposure may differ."""

STEPS = 5.0
"""Seconds within which nobody can have left and somebody else stepped in. Common sense, no source."""
QUICKEST = 9.0
"""Seconds: a change of people that takes this long is possible, whatever a day shows; in four fifths of it
nobody can have changed places. Our own choice."""

TURN = 240.0
"""Seconds that no turn takes: a card shown again after so long opens another one, and for so long somebody
may still have had a card whose next holder is recorded. Frames so far apart are of no run that goes on. Our
own choice."""


@dataclass(frozen=True, slots=True)
class Symbol:
    """A QR symbol in a frame."""

    text: str | None
    """None where the symbol was seen and does not read."""
    turned: int = 0
    """Degrees clockwise."""


@dataclass(frozen=True, slots=True)
class FrameEvidence:
    """What is known of one frame."""

    id: int
    camera: int
    name: str
    taken: float | None
    counter: int | None
    source: str = ""
    """Folder that it came from."""
    sure_body: bool = True
    """Whether a serial number identifies its camera; else frames from different folders may be
    of two bodies."""
    symbols: tuple[Symbol, ...] = ()
    look: bytes | None = None
    """Colour signature."""
    seen: bool = True
    """False where the picture could not be analysed."""


@dataclass(frozen=True, slots=True)
class CardAssignment:
    """From `at` on the deck card is this person's."""

    at: float
    person: int


@dataclass(frozen=True, slots=True)
class SlateShown:
    """The slate of a person, shown at a station."""

    at: float
    person: int
    station: str = ""


@dataclass(frozen=True, slots=True)
class Override:
    """A decision on a frame: given to a person, or set aside where `person` is None."""

    person: int | None


@dataclass(frozen=True, slots=True)
class Split:
    """A decision that another run begins at this frame."""

    frame: int


@dataclass(frozen=True, slots=True)
class Join:
    """A decision that the run of `frame` and that of `to` are one run."""

    frame: int
    to: int


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything that matching may use."""

    shoot: str
    frames: Sequence[FrameEvidence]
    codes: Mapping[str, int]
    """The person of each ticket code."""
    arrived: Mapping[int, float] = field(default_factory=dict)
    """When each person who is here arrived."""
    cards: Mapping[str, Sequence[CardAssignment]] = field(default_factory=dict)
    """Who held each deck card, by its code, in order of time; empty for a card never assigned."""
    slates_shown: Sequence[SlateShown] = ()
    overrides: Mapping[int, Override] = field(default_factory=dict)
    """By frame id."""
    regroupings: Sequence[Split | Join] = ()
    """Splits and joins of runs in the order of the decisions: each builds on the earlier ones."""

    settled_cards: frozenset[int] = frozenset()
    """Frames with a reused deck card whose holder an earlier match of more frames settled: that match knew
    the camera's clock there."""

    @property
    def reuses_cards(self) -> bool:
        """Whether a deck card was several people's, one after the other."""
        return any(len(assignments) > 1 for assignments in self.cards.values())


class FrameKind(StrEnum):
    """What a frame is in the reconciled day."""

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
    """A person who may be on a loose frame."""

    person: int
    reasons: tuple[str, ...]
    """Why, in words."""
    certainty: float = 0.0
    """Probability that it is them; what is left to 1 is somebody else, or nobody."""


@dataclass(frozen=True, slots=True)
class FrameVerdict:
    """What was decided about one frame."""

    frame: int
    kind: FrameKind
    person: int | None = None
    """Set on named frames, and on slates that belong to a person."""
    how: NamedBy = NamedBy.NOTHING
    doubt: str = ""
    """Why nothing more was decided, in words."""
    run: int | None = None
    """The first frame of its run."""
    suggestions: tuple[Suggestion, ...] = ()
    certainty: float | None = None
    """Probability that the named person is on the frame, given that the slate is held by its person; 1 for a
    decision by hand. None where nothing is named."""
