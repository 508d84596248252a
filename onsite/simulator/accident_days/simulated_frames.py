"""From shots to frames: what files and pictures say of them, as ingest would have it, and the truth."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from onsite.matching.evidence import FrameEvidence, Symbol
from onsite.simulator.accident_days.camera_faults import Body, evident
from onsite.simulator.accident_days.ground_truth import Truth
from onsite.simulator.accident_days.simulated_door import Door
from onsite.simulator.accident_days.simulated_looks import Part, grey_level, parts_of, signature
from onsite.simulator.accident_days.simulated_shots import Staged
from onsite.simulator.accident_days.simulated_turns import Shot, Turn, What, Worn

IDS = 100_000
"""Frames of body 2 have ids from 200,001 on."""
COPIES = 50_000
"""What the id of a copied frame is above that of its original."""
DARK = 0.3
"""Of the light that is left where the flash does not fire."""


@dataclass(frozen=True, slots=True)
class TakenFrame:
    """A shot that is on a memory card and was found: its id in evidence and truth, and its file counter."""

    ident: int
    staged: Staged
    counter: int


def taken_frames(body: Body, lane: Sequence[Staged]) -> list[TakenFrame]:
    """The frames of a body, in order: those that were neither deleted nor are on a card that is missing."""
    kept = [
        (one, counter)
        for one, counter in zip(lane, body.counters([one.at for one in lane]), strict=True)
        if not one.shot.deleted and (body.missing is None or body.source(one.at) != body.missing)
    ]
    return [
        TakenFrame(body.number * IDS + place, one, counter) for place, (one, counter) in enumerate(kept, 1)
    ]


def frame_truths(body: Body, taken: Sequence[TakenFrame]) -> dict[int, Truth]:
    """What is true of these frames, by id."""
    with_slate = _with_slate(one.staged for one in taken)
    taken_for = _taken_for(one.staged for one in taken)
    return {one.ident: _truth(one.staged, body, one.staged.number in with_slate, taken_for) for one in taken}


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
        for place, one in enumerate(taken):
            known = evident(body, one.ident, one.staged.at, one.counter)
            frame = replace(self._seen(one.staged, body, rng), id=one.ident, **known)
            truth[one.ident] = facts[one.ident]
            frames.append(frame)
            if place < copied:
                frames.append(replace(frame, id=one.ident + COPIES, source=f"turned-{body.number}"))
                truth[one.ident + COPIES] = facts[one.ident]
        return frames, truth

    def _seen(self, one: Staged, body: Body, rng: np.random.Generator) -> FrameEvidence:
        """What looking at a frame's picture gives."""
        shot = one.shot
        blank = FrameEvidence(0, 0, "", None, None)
        if not shot.looked_at:
            return replace(blank, seen=False)
        symbols = tuple(
            Symbol(self.door.slate_of(slip.of) if slip.of is not None else slip.text, slip.turned)
            for slip in shot.slips
        )
        backdrop, light = body.backdrop + float(rng.normal(0, 0.6)), 1.0
        if not shot.lit:
            light, backdrop = DARK, max(backdrop * float(rng.uniform(0.25, 0.5)), 1.0)
        parts = tuple(part for worn in shot.worn for part in self._parts(worn, shot, body))
        with_slate = shot.what is What.SLATE
        seen = signature(parts, rng, body.backdrop, light, with_slate, shot.conditions)
        return replace(blank, symbols=symbols, look=seen, backdrop=round(backdrop, 1))

    def _parts(self, worn: Worn, shot: Shot, body: Body) -> tuple[Part, ...]:
        parts = parts_of(self.seed, worn, self.uniform, shot.conditions.without_jacket)
        if not shot.like_backdrop:
            return parts
        grey = grey_level(body.backdrop)
        return tuple(replace(part, colour=(grey, grey, grey)) if part.cloth else part for part in parts)


def _with_slate(lane: Iterable[Staged]) -> set[int]:
    """The numbers of turns with a slate that is here and reads."""
    here = list(lane)
    turns = {one.number: one.turn for one in here}
    readable = {id(shot) for turn in turns.values() for shot in turn.readable()}
    return {one.number for one in here if id(one.shot) in readable}


def _taken_for(lane: Iterable[Staged]) -> dict[int, int]:
    """By number of turn, whose card alone is to be seen in it where it is another person's: the right one was
    never held up, or its frame was deleted or shows nothing."""
    seen: dict[int, set[int]] = {}
    turns: dict[int, Turn] = {}
    for one in lane:
        turns[one.number] = one.turn
        if one.shot.looked_at:
            seen.setdefault(one.number, set()).update(s.of for s in one.shot.slips if s.of is not None)
    return {
        number: next(iter(people))
        for number, people in seen.items()
        if len(people) == 1 and turns[number].person not in people
    }


def _truth(one: Staged, body: Body, has_slate: bool, taken_for: Mapping[int, int]) -> Truth:
    return Truth(
        body.number,
        one.number,
        one.at,
        one.shot.what,
        frozenset(one.shot.on),
        not has_slate or not one.shot.on,
        taken_for.get(one.number, one.turn.swapped_with),
        (*one.turn.struck, *body.struck),
    )
