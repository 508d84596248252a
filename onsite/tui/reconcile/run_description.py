"""The run under the cursor in words: whose it is, which frames it has, and why it is loose."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import ClassVar

from rich.cells import cell_len
from rich.segment import Segment
from textual.geometry import Size
from textual.strip import Strip
from textual.widget import Widget

from onsite.core.text import plural, shown
from onsite.matching.evidence import NamedBy, Suggestion
from onsite.reconcile.runs import LaneRun, RunKind, certainty_text
from onsite.tui.reconcile.day_with_overrides import Runs, suggestion_choices
from onsite.tui.reconcile.reconcile_run_list import HOW, SHAPES, Who, clock_text, run_text
from onsite.tui.widgets.virtual_list import fit_cells


class RunDescription(Widget):
    """A description of the selected run: whose it is in bold, then what else is known."""

    DEFAULT_CSS = """
    RunDescription {
        color: $ink;
        background: $ground;
        & > .run--plain { color: $ink; background: $ground; }
        & > .run--quiet { color: $quiet; background: $ground; }
        & > .run--strong { color: $ink; background: $ground; text-style: bold; }
    }
    """
    COMPONENT_CLASSES: ClassVar[set[str]] = {"run--plain", "run--quiet", "run--strong"}

    def __init__(self, who: Who, label: Callable[[int], str], id: str | None = None) -> None:
        super().__init__(id=id)
        self._who = who
        self._label = label
        self._chosen: SelectedRun | None = None

    def show(self, chosen: SelectedRun | None) -> None:
        self._chosen = chosen
        self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:  # noqa: ARG002
        return len(self._lines(width))

    def render_line(self, y: int) -> Strip:
        plain, quiet, strong = (
            self.get_component_rich_style(f"run--{name}") for name in ("plain", "quiet", "strong")
        )
        width = self.content_size.width
        lines = self._lines(width)
        segments = [Segment(lines[y], quiet if y else strong)] if y < len(lines) else []
        return Strip(segments).adjust_cell_length(width, plain)

    def _lines(self, width: int) -> list[str]:
        """Whose and which; then why it is loose, as far as two lines hold it."""
        chosen = self._chosen
        if chosen is None or width < 8:
            return []
        run = chosen.run
        lines = [fit_cells(f"{SHAPES[run.kind]} {headline(run, self._who)}", width)]
        lines.append("  " + fit_cells(which_frames(chosen, self._label(chosen.frame)), width - 2))
        if run.certainty is not None and run.certainty < 1.0:
            lines += wrapped(f"sure: {certainty_text(run.certainty)}", width, "  ")
        if run.doubt:
            why = wrapped(f"why: {run.doubt}", width, "  ")
            lines += why if len(why) <= _WHY else [why[0], "  " + fit_cells(_rest(why), width - 2)]
        return lines


_WHY = 2
"""Lines for the reason; a longer one is cut, and `onsite frames why` has all of it."""


def _rest(lines: list[str]) -> str:
    return " ".join(line.strip() for line in lines[1:])


def headline(run: LaneRun, who: Who) -> str:
    """Whose the run is, how many frames it has, and what named it."""
    if run.kind is RunKind.SLATE:
        return run_text(run, who)
    count = plural(len(run.frames), "frame")
    if run.kind is RunKind.NAMED and run.person is not None:
        how = f", by {HOW[run.how]}" if run.how in (NamedBy.SLATE, NamedBy.TAIL_SLATE) else ", by hand"
        return f"{who(run.person)}: {count}{how}"
    return f"{'loose' if run.kind is RunKind.LOOSE else 'set aside'}: {count}"


def which_frames(chosen: SelectedRun, label: str) -> str:
    """Which of the run's frames is under the cursor, and when the run was shot."""
    run = chosen.run
    begins, ends = clock_text(run.begins), clock_text(run.ends)
    when = f", {begins}" + (f" to {ends}" if ends != begins else "") if begins and ends else ""
    if abs(run.clock_error) >= 1 and run.begins is not None:
        when += f" ({clock_text(run.begins - timedelta(seconds=run.clock_error))} by its clock)"
    if not run.frames:
        return f"slate {label}{when}"
    return f"frame {chosen.inside + 1} of {len(run.frames)}, {label}{when}"


def wrapped(text: str, width: int, indent: str) -> list[str]:
    """`text` in lines of at most `width` cells, broken between words, each indented."""
    lines, line = [], ""
    for word in shown(text).split():
        longer = f"{line} {word}" if line else word
        if line and cell_len(indent + longer) > width:
            lines.append(line)
            longer = word
        line = longer
    room = width - cell_len(indent)
    return [indent + fit_cells(part, room) for part in (*lines, line)]


@dataclass(frozen=True, slots=True)
class SelectedRun:
    """The run under the cursor, the people who may be on it, and its neighbours.

    `inside` is the place in the run of the frame under the cursor.
    """

    run: LaneRun
    inside: int
    choices: tuple[Suggestion, ...]
    before: LaneRun | None
    after: LaneRun | None

    @property
    def frame(self) -> int:
        """The frame under the cursor; a slate where the run has no other frames."""
        return (self.run.frames or self.run.everything)[self.inside]

    @property
    def frames(self) -> tuple[int, ...]:
        """The frames that an override of the run is about; its slate where it has no others."""
        return self.run.frames or self.run.everything

    @property
    def identity(self) -> tuple[object, ...]:
        """What a key that accepts a suggestion would act on."""
        run = self.run
        return run.kind, run.person, run.frames, tuple(choice.person for choice in self.choices)


def selected_run(runs: Runs, place: int, frame: int | None) -> SelectedRun:
    """The run at a place of a lane, with the cursor on this frame, else on its first."""
    run = runs[place]
    frames = run.frames or run.everything
    return SelectedRun(
        run,
        frames.index(frame) if frame in frames else 0,
        suggestion_choices(runs, place),
        runs[place - 1] if place else None,
        runs[place + 1] if place + 1 < len(runs) else None,
    )
