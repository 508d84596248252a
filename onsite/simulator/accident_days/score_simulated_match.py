"""The names held against the truth of a simulated day."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields

from onsite.matching.evidence import FrameKind, FrameVerdict
from onsite.matching.match_frames import MatchResult
from onsite.simulator.accident_days.simulate import Simulated
from onsite.simulator.accident_days.simulated_frames import Truth


@dataclass(frozen=True, slots=True)
class Score:
    """Counts of frames, and of loose runs: rows of loose frames of one true person on one camera.

    `wrong` are named for somebody who is not on them (nobody is on light tests; helpers are not on the
    roster), but for those that are `swapped`: they have the name of the person whose card theirs was taken
    for, and never given back; `swapped_doubted` of these carry a doubt. `beyond` are loose though their run
    has a slate; `slateless` are all that have none, whatever was made of them. `lost` have no verdict or
    several. `first` and `among` count loose runs whose person is the first suggestion, or among the first
    three.
    """

    frames: int = 0
    right: int = 0
    wrong: int = 0
    swapped: int = 0
    swapped_doubted: int = 0
    loose: int = 0
    beyond: int = 0
    slateless: int = 0
    lost: int = 0
    loose_runs: int = 0
    first: int = 0
    among: int = 0

    def __add__(self, other: Score) -> Score:
        return Score(*(getattr(self, f.name) + getattr(other, f.name) for f in fields(Score)))


def score(day: Simulated, found: MatchResult) -> Score:
    verdicts = {verdict.frame: verdict for verdict in found.verdicts}
    known = Counter(verdict.frame for verdict in found.verdicts)
    tally = Counter({"lost": sum(known[frame.id] != 1 for frame in day.evidence.frames)})
    tally["lost"] += len(known.keys() - day.truth.frames.keys())
    for ident, fact in day.truth.frames.items():
        tally["frames"] += 1
        tally["slateless"] += fact.slateless
        if (verdict := verdicts.get(ident)) is not None:
            tally.update(_judged(verdict, fact))
    for first in loose_runs(day, verdicts):
        on = day.truth.frames[first.frame].on
        ranked = [suggestion.person for suggestion in first.suggestions[:3]]
        tally["loose_runs"] += 1
        tally["first"] += bool(on & set(ranked[:1]))
        tally["among"] += bool(on & set(ranked))
    return Score(**tally)


def is_wrong(verdict: FrameVerdict, fact: Truth) -> bool:
    """Not where the person held another's card all day: whose that is, the card alone says."""
    return verdict.kind is FrameKind.NAMED and verdict.person not in fact.on and fact.swapped_with is None


def wrong_frames(day: Simulated, found: MatchResult) -> list[int]:
    """Wrong names, by frame, in the order in which they were taken."""
    verdicts = {verdict.frame: verdict for verdict in found.verdicts}
    return [i for lane in day.truth.order for i in lane if is_wrong(verdicts[i], day.truth.frames[i])]


def needlessly_loose(day: Simulated, found: MatchResult) -> list[int]:
    """Frames that are loose though their run has a slate, in the same order."""
    loose = {verdict.frame for verdict in found.verdicts if verdict.kind is FrameKind.LOOSE}
    return [i for lane in day.truth.order for i in lane if i in loose and not day.truth.frames[i].slateless]


def _judged(verdict: FrameVerdict, fact: Truth) -> Iterator[str]:
    if verdict.kind is FrameKind.LOOSE:
        yield "loose"
        if not fact.slateless:
            yield "beyond"
    elif verdict.kind is FrameKind.NAMED:
        if verdict.person in fact.on:
            yield "right"
        elif is_wrong(verdict, fact):
            yield "wrong"
        else:
            yield "swapped"
            if verdict.doubt:
                yield "swapped_doubted"


def loose_runs(day: Simulated, verdicts: Mapping[int, FrameVerdict]) -> Iterator[FrameVerdict]:
    """The verdict on the first frame of each loose run with somebody of the roster in it."""
    for lane in day.truth.order:
        before: frozenset[int] | None = None
        for ident in lane:
            fact, verdict = day.truth.frames[ident], verdicts.get(ident)
            loose = verdict is not None and verdict.kind is FrameKind.LOOSE and bool(fact.on)
            if loose and verdict is not None and (before is None or not before & fact.on):
                yield verdict
            before = fact.on if loose else None
