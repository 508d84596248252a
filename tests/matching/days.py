"""Days at a portrait set, made up for tests: who stood there when, and what camera and desk know of it.

    day = Day()
    day.person(1).person(2, slate="forgotten").person(3)
    verdicts = match(day.evidence())

The day keeps the truth beside it: `truth[frame]` is who is on the portrait.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from onsite.core.codes import clock_code, new_code, new_shoot_mark
from onsite.matching.evidence import (
    CardAssignment,
    Evidence,
    FrameEvidence,
    FrameKind,
    FrameVerdict,
    Override,
    SlateShown,
    Symbol,
)
from onsite.matching.match_frames import match

NINE = 1_750_000_000.0 // 86_400 * 86_400 + 9 * 3600  # nine o'clock of some day
BINS = 192  # of a look: three bands of 4 × 4 × 4 colours
SHOOT = new_shoot_mark(random.Random(5))
_DRAW = random.Random(7)
OTHER_SHOOT = new_code(new_shoot_mark(_DRAW), (), _DRAW)
_codes: list[str] = []


def code(number: int) -> str:
    """A code of this shoot, the same for the same number."""
    while len(_codes) <= number:
        _codes.append(new_code(SHOOT, _codes, _DRAW))
    return _codes[number]


def card(number: int) -> str:
    """The code of a deck card."""
    return code(number + 500)


def clothes(person: int, alike: bool = False) -> np.ndarray:
    """Somebody's colours, as shares: a few bins of their own, or the uniform's."""
    rng = np.random.default_rng(0 if alike else 1000 + person)
    shares = np.zeros(BINS)
    shares[rng.choice(BINS, 8, replace=False)] = rng.dirichlet(np.ones(8) * 2)
    return shares


def look(shares: np.ndarray, rng: np.random.Generator, jitter: float = 0.25) -> bytes:
    """One frame's look: roots of shares times 255, as the frames' own code writes them."""
    shaken = shares * np.exp(rng.normal(0, jitter, BINS)) + rng.random(BINS) * 0.0004
    return bytes(np.round(np.sqrt(shaken / shaken.sum()) * 255).astype(np.uint8).tobytes())


@dataclass
class Day:
    """One camera's day as it goes on; `clock_off` is added to what the camera writes as the time."""

    camera: int = 1
    now: float = NINE
    clock_off: float = 0.0
    counter: int = 1000
    looks: str = "own"  # own, alike or none
    timed: bool = True
    counted: bool = True
    source: str = ""
    sure_body: bool = True
    station: str = "set-A"
    frames: list[FrameEvidence] = field(default_factory=list)
    truth: dict[int, int | None] = field(default_factory=dict)
    slates: set[int] = field(default_factory=set)
    arrived: dict[int, float] = field(default_factory=dict)
    cards: dict[str, list[CardAssignment]] = field(default_factory=dict)
    shown: list[SlateShown] = field(default_factory=list)
    by_hand: dict[int, Override] = field(default_factory=dict)
    log_shown: bool = False
    last_counter: int = 9999
    after_last: int = 1
    _rng: np.random.Generator = field(default_factory=lambda: np.random.default_rng(3))

    def frame(
        self, person: int | None, symbols: Sequence[Symbol] = (), after: float = 4.0, seen: bool = True
    ) -> int:
        """One exposure, `after` seconds after the one before; gives its id."""
        self.now += after
        ident = self.camera * 1_000_000 + len(self.frames)
        shown = None
        if self.looks != "none" and person is not None and seen:
            shown = look(clothes(person, self.looks == "alike"), self._rng)
        self.frames.append(
            FrameEvidence(
                ident,
                self.camera,
                f"IMG_{self.counter:04d}",
                self.now + self.clock_off if self.timed else None,
                self.counter if self.counted else None,
                self.source,
                self.sure_body,
                tuple(symbols),
                shown,
                seen,
            )
        )
        self.counter = self.after_last if self.counter == self.last_counter else self.counter + 1
        self.truth[ident] = person
        return ident

    def slate(self, person: int | None, text: str | None, turned: int = 0, after: float = 4.0) -> int:
        """A frame of somebody holding a slate with that text; None does not read."""
        if self.log_shown and person is not None:
            self.shown.append(SlateShown(self.now + after - 8.0, person, self.station))
        ident = self.frame(person, [Symbol(text, turned)], after)
        self.slates.add(ident)
        return ident

    def clock_slate(self, error: float = 0.0) -> Day:
        """A frame of the door's clock, which is off by `error` seconds."""
        text = clock_code(SHOOT, int(self.now + 4.0 + error))
        self.slates.add(self.frame(None, [Symbol(text)]))
        return self

    def portraits(self, person: int, count: int = 5) -> Day:
        for _ in range(count):
            self.frame(person)
        return self

    def arrive(self, person: int) -> Day:
        self.arrived.setdefault(person, self.now - 300.0)
        return self

    def person(self, person: int, slate: str = "head", count: int = 5, away: float = 40.0) -> Day:
        """Somebody's turn, `away` seconds after the last: slate, then portraits.

        `slate` is head, tail, both, upside-down, forgotten, unread or twice.
        """
        self.arrive(person)
        self.now += away - 4.0
        mine = code(person)
        if slate in ("head", "both", "twice"):
            self.slate(person, mine)
        if slate == "twice":
            self.slate(person, mine)
        if slate == "upside-down":
            self.slate(person, mine, 180)
        if slate == "unread":
            self.slate(person, None)
        self.portraits(person, count)
        if slate in ("tail", "both"):
            self.slate(person, mine, 180)
        return self

    def people(self, numbers: Iterable[int]) -> Day:
        for number in numbers:
            self.person(number)
        return self

    def tie(self, number: int, person: int) -> Day:
        """A deck card handed over at the door."""
        self.cards.setdefault(card(number), []).append(CardAssignment(self.now, person))
        return self

    def evidence(self, *others: Day) -> Evidence:
        days = (self, *others)
        arrived = {person: at for day in days for person, at in day.arrived.items()}
        held = {tie.person for day in days for ties in day.cards.values() for tie in ties}
        return Evidence(
            SHOOT,
            [frame for day in days for frame in day.frames],
            {code(person): person for person in sorted(arrived) if person not in held},
            arrived,
            {text: ties for day in days for text, ties in day.cards.items()},
            [showing for day in days for showing in day.shown],
            {frame: decision for day in days for frame, decision in day.by_hand.items()},
        )

    def ids(self, person: int) -> list[int]:
        """The portraits of somebody."""
        return [frame for frame, who in self.truth.items() if who == person and frame not in self.slates]


def verdicts(evidence: Evidence) -> dict[int, FrameVerdict]:
    return {verdict.frame: verdict for verdict in match(evidence).verdicts}


def names(found: Mapping[int, FrameVerdict], frames: Iterable[int]) -> list[int | str | None]:
    """For each frame the person who is named, else the kind of verdict."""
    return [
        found[frame].person if found[frame].kind is FrameKind.NAMED else found[frame].kind.value
        for frame in frames
    ]


def wrong(day: Day, found: Mapping[int, FrameVerdict]) -> list[int]:
    """Frames under the name of somebody who is not on them."""
    return [
        frame
        for frame, who in day.truth.items()
        if found[frame].kind is FrameKind.NAMED and found[frame].person != who
    ]


def loose(day: Day, found: Mapping[int, FrameVerdict]) -> list[int]:
    return [frame for frame in day.truth if found[frame].kind is FrameKind.LOOSE]


def assert_all_named(day: Day, found: Mapping[int, FrameVerdict]) -> None:
    assert wrong(day, found) == []
    assert loose(day, found) == []


def only(day: Day, **changes: object) -> Day:
    """The same day with every frame changed."""
    day.frames = [replace(frame, **changes) for frame in day.frames]  # type: ignore[arg-type]
    return day
