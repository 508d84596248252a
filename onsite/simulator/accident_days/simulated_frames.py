"""From shots to frames: what files and pictures say of them, as ingest would have it, and the truth."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from onsite.core.codes import clock_code
from onsite.core.file_counter import LAST_COUNTER
from onsite.matching.evidence import FrameEvidence, Symbol
from onsite.simulator.accident_days.camera_faults import Body, evident
from onsite.simulator.accident_days.simulated_door import Door
from onsite.simulator.accident_days.simulated_looks import Part, grey_level, parts_of, signature
from onsite.simulator.accident_days.simulated_queues import Staged
from onsite.simulator.accident_days.simulated_turns import Shot, Turn, What, Worn

IDS = 100_000
"""Frames of body 2 have ids from 200,001 on."""
COPIES = 50_000
"""What the id of a copied frame is above that of its original."""
DARK = 0.3
"""Of the light that is left where the flash does not fire."""
CLOCK_SLATE_BEFORE = 25.0
"""Seconds between a clock slate and the day's first frame, or its last."""
CLOCK_SLATE_IDS = 90_000
"""What the ids of clock slates are above the body's first id."""


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


@dataclass(frozen=True, slots=True)
class TakenFrame:
    """A shot that is on a memory card and was found: its id in evidence and truth, and its file counter."""

    ident: int
    staged: Staged
    counter: int


def taken_frames(body: Body, lane: Sequence[Staged]) -> list[TakenFrame]:
    """The frames of a body, in order: those that were neither deleted nor are on a card that is missing."""
    kept = [
        (staged, counter)
        for staged, counter in zip(lane, body.counters([staged.at for staged in lane]), strict=True)
        if not staged.shot.deleted and (body.missing is None or body.source(staged.at) != body.missing)
    ]
    return [
        TakenFrame(body.number * IDS + place, staged, counter)
        for place, (staged, counter) in enumerate(kept, 1)
    ]


def frame_truths(body: Body, taken: Sequence[TakenFrame]) -> dict[int, Truth]:
    """What is true of these frames, by id."""
    with_slate = _with_slate(frame.staged for frame in taken)
    taken_for = _taken_for(frame.staged for frame in taken)
    return {
        frame.ident: _truth(frame.staged, body, frame.staged.number in with_slate, taken_for)
        for frame in taken
    }


@dataclass(frozen=True)
class Studio:
    """What frames of a day are developed with."""

    seed: int
    uniform: bool
    door: Door

    def develop(self, body: Body, lane: Sequence[Staged]) -> tuple[list[FrameEvidence], dict[int, Truth]]:
        """A body's frames in the order in which they were taken, copies behind their originals."""
        rng = np.random.default_rng([self.seed, body.number, 77])
        taken = taken_frames(body, lane)
        facts = frame_truths(body, taken)
        copied = int(len(taken) * body.copied_again)
        frames: list[FrameEvidence] = []
        truth: dict[int, Truth] = {}
        for place, shot in enumerate(taken):
            known = evident(body, shot.ident, shot.staged.at, shot.counter)
            frame = replace(self._seen(shot.staged.shot, body, rng), id=shot.ident, **known)
            truth[shot.ident] = facts[shot.ident]
            frames.append(frame)
            if place < copied:
                frames.append(replace(frame, id=shot.ident + COPIES, source=f"turned-{body.number}"))
                truth[shot.ident + COPIES] = facts[shot.ident]
        return frames, truth

    def _seen(self, shot: Shot, body: Body, rng: np.random.Generator) -> FrameEvidence:
        """What looking at a frame's picture gives."""
        blank = FrameEvidence(0, 0, "", None, None)
        if not shot.looked_at:
            return replace(blank, seen=False)
        symbols = tuple(
            Symbol(self.door.slate_of(slip.of) if slip.of is not None else slip.text, slip.turned)
            for slip in shot.slips
        )
        rng.normal()  # drawn for nothing, as below: so the days of a seed stay as they are
        light = 1.0
        if not shot.lit:
            light = DARK
            rng.uniform()
        parts = tuple(part for worn in shot.worn for part in self._parts(worn, shot, body))
        with_slate = shot.what is What.SLATE
        seen = signature(parts, rng, body.backdrop, light, with_slate, shot.conditions)
        return replace(blank, symbols=symbols, look=seen)

    def _parts(self, worn: Worn, shot: Shot, body: Body) -> tuple[Part, ...]:
        parts = parts_of(self.seed, worn, self.uniform, shot.conditions.without_jacket)
        if not shot.like_backdrop:
            return parts
        grey = grey_level(body.backdrop)
        return tuple(replace(part, colour=(grey, grey, grey)) if part.cloth else part for part in parts)


def _with_slate(lane: Iterable[Staged]) -> set[int]:
    """The numbers of turns with a slate that is here and reads."""
    here = list(lane)
    turns = {staged.number: staged.turn for staged in here}
    readable = {id(shot) for turn in turns.values() for shot in turn.readable()}
    return {staged.number for staged in here if id(staged.shot) in readable}


def _taken_for(lane: Iterable[Staged]) -> dict[int, int]:
    """By number of turn, whose card alone is to be seen in it where it is another person's: the right one was
    never held up, or its frame was deleted or shows nothing."""
    seen: dict[int, set[int]] = {}
    turns: dict[int, Turn] = {}
    for staged in lane:
        turns[staged.number] = staged.turn
        if staged.shot.looked_at:
            seen.setdefault(staged.number, set()).update(s.of for s in staged.shot.slips if s.of is not None)
    return {
        number: next(iter(people))
        for number, people in seen.items()
        if len(people) == 1 and turns[number].person not in people
    }


def _truth(staged: Staged, body: Body, has_slate: bool, taken_for: Mapping[int, int]) -> Truth:
    return Truth(
        body.number,
        staged.number,
        staged.at,
        staged.shot.what,
        frozenset(staged.shot.on),
        not has_slate or not staged.shot.on,
        taken_for.get(staged.number, staged.turn.swapped_with),
        (*staged.turn.struck, *body.struck),
    )


def with_clock_slates(
    body: Body,
    lane: Sequence[Staged],
    frames: Sequence[FrameEvidence],
    truth: Mapping[int, Truth],
    mark: str,
    count: int,
) -> tuple[list[FrameEvidence], dict[int, Truth]]:
    """A body's frames and their truth with one clock slate before them, or another after them as well."""
    counters = body.counters([staged.at for staged in lane])
    first = _clock_slate(body, lane[0].at - CLOCK_SLATE_BEFORE, (counters[0] - 1) or LAST_COUNTER, mark, 0)
    last = _clock_slate(body, lane[-1].at + CLOCK_SLATE_BEFORE, counters[-1] % LAST_COUNTER + 1, mark, 1)
    slates = [first, last][:count]
    facts = {
        frame.id: Truth(body.number, -1, at, What.SLATE, frozenset(), False, None, ()) for frame, at in slates
    }
    ordered = [first[0], *frames, *(frame for frame, _ in slates[1:])]
    return ordered, {**truth, **facts}


def _clock_slate(body: Body, at: float, counter: int, mark: str, number: int) -> tuple[FrameEvidence, float]:
    ident = body.number * IDS + CLOCK_SLATE_IDS + number
    frame = FrameEvidence(ident, 0, "", None, None, symbols=(Symbol(clock_code(mark, int(at))),))
    return replace(frame, **evident(body, ident, at, counter)), at
