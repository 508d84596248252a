"""From shots to frames: what files and pictures say of them, as ingest would have it, and the truth."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from onsite.matching.evidence import FrameEvidence, Symbol
from tests.matching.simulated.cameras import Body, evident
from tests.matching.simulated.door import Door
from tests.matching.simulated.looks import look, parts_of
from tests.matching.simulated.staging import Staged
from tests.matching.simulated.truth import Truth
from tests.matching.simulated.turns import Turn, What

BINS = 192
IDS = 100_000
"""Frames of body 2 have ids from 200,001 on."""
COPIES = 50_000
"""What the id of a copied frame is above that of its original."""
DARK = 0.3
"""Of the light that is left where the flash does not fire."""


@dataclass(frozen=True)
class Studio:
    """What frames of a day are developed with."""

    seed: int
    uniform: bool
    door: Door

    def develop(self, body: Body, lane: Sequence[Staged]) -> tuple[list[FrameEvidence], dict[int, Truth]]:
        """A body's frames in the order in which they were taken, copies behind their originals."""
        rng = np.random.default_rng([self.seed, body.number, 77])
        kept = [
            (one, counter)
            for one, counter in zip(lane, body.counters([one.at for one in lane]), strict=True)
            if not one.shot.deleted and (body.missing is None or body.source(one.at) != body.missing)
        ]
        with_slate = _with_slate(one for one, _ in kept)
        taken_for = _taken_for(one for one, _ in kept)
        copied = int(len(kept) * body.copied_again)
        frames: list[FrameEvidence] = []
        truth: dict[int, Truth] = {}
        for place, (one, counter) in enumerate(kept):
            ident = body.number * IDS + place + 1
            frame = replace(self._seen(one, body, rng), id=ident, **evident(body, ident, one.at, counter))
            truth[ident] = _truth(one, body, one.number in with_slate, taken_for)
            frames.append(frame)
            if place < copied:
                frames.append(replace(frame, id=ident + COPIES, source=f"turned-{body.number}"))
                truth[ident + COPIES] = truth[ident]
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
        backdrop = body.backdrop + float(rng.normal(0, 0.6))
        light = 1.0 + 0.03 * float(np.sin((one.at - body.opens) / 5000 + body.number))
        if not shot.lit:
            light, backdrop = light * DARK, max(backdrop * float(rng.uniform(0.25, 0.5)), 1.0)
        parts = tuple(
            part for worn in shot.worn for part in parts_of(self.seed, worn.person, worn.outfit, self.uniform)
        )
        nobody = not parts or shot.like_backdrop
        seen = bytes(BINS) if nobody else look(parts, rng, light, shot.what is What.SLATE)
        return replace(blank, symbols=symbols, look=seen, backdrop=round(backdrop, 1))


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
