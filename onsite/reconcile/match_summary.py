"""Summary of a match: all frames accounted for, everything that needs a decision, and names lost by the
match."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, groupby

from sqlmodel import Session, select

from onsite.core.errors import Problem
from onsite.core.text import plural
from onsite.matching.clock_offset import ClockOffset, OffsetSource, clock_disagreement
from onsite.matching.evidence import FrameKind, FrameVerdict, NamedBy, Suggestion
from onsite.matching.match_frames import MatchResult
from onsite.matching.slate_status import SlateStatus
from onsite.reconcile.measured_clocks import error_text
from onsite.reconcile.runs import jump_text
from onsite.reconcile.store_match import matched_until
from onsite.store.schema import VerdictRow


@dataclass(frozen=True, slots=True)
class LooseRun:
    """Consecutive loose frames with the same doubt, and who may be on them, the likeliest first."""

    frames: tuple[int, ...]
    doubt: str
    suggestions: tuple[Suggestion, ...]


@dataclass(frozen=True, slots=True)
class CameraLine:
    """A camera's frames, clocks and counter."""

    camera: int
    frames: int
    clocks: tuple[str, ...]
    """Each clock's offset in words, and what it is derived from."""
    jumps: tuple[str, ...]
    gaps: tuple[tuple[int, int], ...]
    """Missing counters, first and last."""
    correction: float
    """Seconds added to its last times to show them."""
    drift: float
    """Further seconds a day."""


@dataclass(frozen=True, slots=True)
class MatchSummary:
    """`frames` in = `named` + `slates` + `loose` + `set_aside`."""

    frames: int
    named: int
    slates: int
    loose: int
    set_aside: int
    loose_runs: tuple[LooseRun, ...]
    unread_slates: tuple[tuple[int, str], ...]
    slates_without_frames: tuple[int, ...]
    cameras: tuple[CameraLine, ...]
    disagreeing: tuple[tuple[int, int, float], ...] = ()
    """Two cameras whose clocks cannot both be right, and by how many seconds the second is ahead."""
    lost_names: tuple[LostName, ...] = ()
    """Names that frames had until this match."""

    @property
    def frame_counts_text(self) -> str:
        """All frames accounted for, in one line."""
        return frame_counts_text(self.frames, self.named, self.slates, self.loose, self.set_aside)


def frame_counts_text(
    frames: int, named: int, slates: int, loose: int, set_aside: int, unmatched: int = 0
) -> str:
    """All frames accounted for, in one line."""
    parts = [f"{named:,} named", plural(slates, "slate"), f"{loose:,} loose", f"{set_aside:,} set aside"]
    parts += [f"{unmatched:,} not matched yet"] if unmatched else []
    return f"{plural(frames, 'frame')} in = {' + '.join(parts)}"


def summarise_match(outcome: MatchResult, frames_in: int) -> MatchSummary:
    """The summary of a match. Raises Problem if the frames in the shoot and the verdicts do not add up."""
    counts = outcome.count()
    if sum(counts.values()) != frames_in:
        raise Problem(
            f"{frames_in} frames are in the shoot and {sum(counts.values())} were matched.",
            "Run onsite match again; if it says the same, keep the shoot's folder and report it.",
        )
    with_frames = {v.person for v in outcome.verdicts if v.kind is FrameKind.NAMED}
    slates = [v for v in outcome.verdicts if v.kind is FrameKind.SLATE]
    return MatchSummary(
        frames_in,
        counts[FrameKind.NAMED],
        counts[FrameKind.SLATE],
        counts[FrameKind.LOOSE],
        counts[FrameKind.SET_ASIDE],
        loose_runs(outcome.verdicts),
        tuple((v.frame, v.doubt) for v in slates if v.person is None and v.doubt != SlateStatus.CLOCK),
        tuple(sorted({v.person for v in slates if v.person is not None and v.person not in with_frames})),
        tuple(_camera_lines(outcome)),
        tuple(_disagreeing(outcome)),
    )


def loose_runs(verdicts: Sequence[FrameVerdict]) -> tuple[LooseRun, ...]:
    """The loose frames, grouped by run."""
    runs: dict[int, list[FrameVerdict]] = {}
    for verdict in verdicts:
        if verdict.kind is FrameKind.LOOSE:
            runs.setdefault(verdict.run or verdict.frame, []).append(verdict)
    return tuple(
        LooseRun(tuple(v.frame for v in run), run[0].doubt, run[0].suggestions) for run in runs.values()
    )


def _camera_lines(outcome: MatchResult) -> list[CameraLine]:
    lines = []
    for lane in outcome.lanes:
        clocks = lane.clocks
        clock_texts = tuple(_clock_text(clock) for clock in clocks)
        jumps = tuple(f"{jump_text(jump.seconds)} after f{jump.before}" for jump in lane.jumps)
        gaps = tuple((gap.first, gap.last) for gap in lane.gaps)
        correction, drift = (clocks[-1].correction, clocks[-1].drift) if clocks else (0.0, 0.0)
        lines.append(CameraLine(lane.camera, len(lane.frames), clock_texts, jumps, gaps, correction, drift))
    return lines


def _disagreeing(outcome: MatchResult) -> Iterator[tuple[int, int, float]]:
    last = [(lane.camera, lane.clocks[-1]) for lane in outcome.lanes]
    for (camera, clock), (other, others) in combinations(last, 2):
        ahead = clock_disagreement(clock, others)
        if ahead is not None:
            yield camera, other, ahead


def _clock_text(clock: ClockOffset) -> str:
    """A clock offset in words; where it rests on arrivals only, the range that they leave."""
    if clock.source is OffsetSource.NOTHING:
        return "not known: no read slate ties it to the door or the set"
    drifting = f", drifting {abs(clock.drift):.1f} s a day" if clock.drift else ""
    slates = plural(clock.slates, "slate")
    if clock.source is OffsetSource.CLOCK_SLATES:
        return f"{error_text(clock.correction)}{drifting} (from {plural(clock.slates, 'clock slate')})"
    if clock.source is OffsetSource.SHOWN:
        return f"{error_text(clock.correction)}{drifting} (from {slates}, by {clock.source})"
    low, high = error_text(clock.low), error_text(clock.high)
    return f"between {low} and {high} (from {slates}, by {clock.source})"


@dataclass(frozen=True, slots=True)
class LostName:
    """Consecutive frames that were a person's, and whose they are `now`; None where nobody's."""

    person: int
    frames: tuple[int, ...]
    now: int | None


def stored_names(session: Session) -> dict[int, int]:
    """The person of each named frame by the last match; empty where that is not complete."""
    if matched_until(session) < 0:
        return {}
    return {frame: person for frame, person, _ in _named(session)}


def find_lost_names(names: Mapping[int, int], outcome: MatchResult) -> tuple[LostName, ...]:
    """Names that a match changed, compared with the names before it, except by overrides."""
    named = [verdict for verdict in outcome.verdicts if verdict.kind is FrameKind.NAMED]
    now = {verdict.frame: verdict.person for verdict in named}
    by_hand = {verdict.frame for verdict in outcome.verdicts if verdict.how is NamedBy.OVERRIDE}
    return _lost_names(names, now, by_hand, [verdict.frame for verdict in outcome.verdicts])


def _lost_names(
    names: Mapping[int, int], now: Mapping[int, int | None], by_hand: Collection[int], frames: Iterable[int]
) -> tuple[LostName, ...]:
    """Consecutive `frames` whose names have changed to those of `now`, but by overrides."""

    def change(frame: int) -> tuple[int, int | None] | None:
        before, person = names.get(frame), now.get(frame)
        return None if before is None or before == person or frame in by_hand else (before, person)

    return tuple(
        LostName(changed[0], tuple(group), changed[1])
        for changed, group in groupby(frames, change)
        if changed is not None
    )


def computed_names(session: Session) -> dict[int, int]:
    """The same without frames named by overrides."""
    if matched_until(session) < 0:
        return {}
    return {frame: person for frame, person, how in _named(session) if how != NamedBy.OVERRIDE}


def names_lost_since(session: Session, names: Mapping[int, int]) -> tuple[LostName, ...]:
    """Names that the last match changed, compared with the computed names before it, except by overrides
    since. Empty where the match is not complete."""
    if matched_until(session) < 0:
        return ()
    now = {frame: person for frame, person, _ in _named(session)}
    by_hand = set(session.exec(select(VerdictRow.frame_id).where(VerdictRow.how == NamedBy.OVERRIDE.value)))

    return _lost_names(names, now, by_hand, sorted(names))


def _named(session: Session) -> Iterator[tuple[int, int, str]]:
    wanted = select(VerdictRow.frame_id, VerdictRow.person_id, VerdictRow.how)
    rows = session.exec(wanted.where(VerdictRow.kind == FrameKind.NAMED.value))
    yield from ((frame, person, how) for frame, person, how in rows if person is not None)
