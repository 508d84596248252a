"""The run under the cursor, as it is shown."""

from __future__ import annotations

from dataclasses import dataclass

from onsite.matching.evidence import Suggestion
from onsite.tui.wrap.day import Runs, suggestion_choices
from onsite.wrap.runs import LaneRun


@dataclass(frozen=True, slots=True)
class SelectedRun:
    """The run under the cursor: the place of its frame under the cursor, who may be on it, and the runs
    beside it."""

    run: LaneRun
    inside: int
    choices: tuple[Suggestion, ...]
    before: LaneRun | None
    after: LaneRun | None

    @property
    def frame(self) -> int:
        """The frame under the cursor; a slate where the run has nothing else."""
        return (self.run.frames or self.run.everything)[self.inside]

    @property
    def frames(self) -> tuple[int, ...]:
        """What a decision on the run is about: its frames, or the slate where it has nothing else."""
        return self.run.frames or self.run.everything

    @property
    def identity(self) -> tuple[object, ...]:
        """What a key that gives a name would act on."""
        run = self.run
        return run.kind, run.person, run.frames, tuple(choice.person for choice in self.choices)


def selected_run(runs: Runs, place: int, frame: int | None) -> SelectedRun:
    """The run at a place of a lane, the cursor on that frame of it, else on its first."""
    run = runs[place]
    frames = run.frames or run.everything
    return SelectedRun(
        run,
        frames.index(frame) if frame in frames else 0,
        suggestion_choices(runs, place),
        runs[place - 1] if place else None,
        runs[place + 1] if place + 1 < len(runs) else None,
    )
