"""The run under the cursor in words: what it is, why it is loose, and who may be on it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import ClassVar

from rich.cells import cell_len
from rich.segment import Segment
from rich.style import Style
from textual.strip import Strip
from textual.widget import Widget

from onsite.core.text import format_chance, plural, shown
from onsite.matching.evidence import NamedBy, Suggestion
from onsite.reconcile.runs import LaneRun, RunKind, certainty_text
from onsite.tui.reconcile.day_with_overrides import Runs, suggestion_choices
from onsite.tui.reconcile.run_list import HOW, SHAPES, Who, clock_text, run_text
from onsite.tui.widgets.virtual_list import fit_cells

Line = list[Segment]

KEYS = ("← →: frame · v: full screen", "Tab: camera · b: loose before")
"""Keys that the foot of the screen has no room for."""


class RunDescription(Widget):
    """A description of the selected run."""

    DEFAULT_CSS = """
    RunDescription {
        color: $ink;
        background: $ground;
        & > .run--plain { color: $ink; background: $ground; }
        & > .run--quiet { color: $quiet; background: $ground; }
        & > .run--strong { color: $ink; background: $ground; text-style: bold; }
        & > .run--key { color: $on-mark; background: $mark; text-style: bold; }
    }
    """
    COMPONENT_CLASSES: ClassVar[set[str]] = {"run--plain", "run--quiet", "run--strong", "run--key"}

    def __init__(self, who: Who, label: Callable[[int], str], id: str | None = None) -> None:
        super().__init__(id=id)
        self._who = who
        self._label = label
        self._chosen: SelectedRun | None = None
        self._lines: list[Line] = []
        self.beside = False
        """Whether to describe the neighbouring runs in words, because their pictures are not shown."""

    def show(self, chosen: SelectedRun | None) -> None:
        self._chosen = chosen
        self._lay_out()

    def on_resize(self) -> None:
        self._lay_out()

    def notify_style_update(self) -> None:
        super().notify_style_update()
        self._lay_out()

    def _lay_out(self) -> None:
        self._lines = self._description(*self.content_size) if self._chosen is not None else []
        self.refresh()

    def render_line(self, y: int) -> Strip:
        plain = self.get_component_rich_style("run--plain")
        segments = self._lines[y] if y < len(self._lines) else []
        return Strip(segments).adjust_cell_length(self.content_size.width, plain)

    def _description(self, width: int, height: int) -> list[Line]:
        """The lines. Reasons are cut to a line each where they would not all fit; keys fill the foot.

        The keys are shown only where there is room.
        """
        chosen = self._chosen
        if chosen is None or width < 8:
            return []
        plain, quiet, strong, key = (
            self.get_component_rich_style(f"run--{name}") for name in ("plain", "quiet", "strong", "key")
        )
        title = wrapped(headline(chosen.run, self._who), width, "  ")
        title[0] = SHAPES[chosen.run.kind] + title[0][1:]
        lines = [[Segment(text, strong)] for text in title]
        lines += [[Segment(text, quiet)] for text in self._about(chosen, width)]
        for brief in (False, True):
            offered = list(self._suggestion(chosen, width, brief, plain, quiet, key))
            if len(lines) + len(offered) <= height:
                break
        lines += offered
        spare = height - len(lines) - len(KEYS)
        if spare > 0:
            lines += [[]] * spare + [[Segment(fit_cells(text, width), quiet)] for text in KEYS]
        return lines[:height]

    def _about(self, chosen: SelectedRun, width: int) -> Iterator[str]:
        run = chosen.run
        yield from wrapped(which_frames(chosen, self._label(chosen.frame)), width, "  ")
        if run.certainty is not None and run.certainty < 1.0:
            yield from wrapped(f"sure: {certainty_text(run.certainty)}", width, "  ")
        if run.doubt:
            yield from wrapped(f"why: {run.doubt}", width, "  ")
        if self.beside:
            for word, beside in (("before", chosen.before), ("after", chosen.after)):
                if beside is not None:
                    yield "  " + fit_cells(f"{word}: {run_text(beside, self._who)}", width - 2)

    def _suggestion(
        self, chosen: SelectedRun, width: int, brief: bool, plain: Style, quiet: Style, key: Style
    ) -> Iterator[Line]:
        """The people suggested, each with the reasons; for an empty backdrop the key that sets it aside."""
        if chosen.run.shows_nobody:
            yield [
                Segment(" ⏎ ", key),
                Segment(fit_cells(" set aside: kept, never delivered", width - 3), plain),
            ]
            yield [Segment(fit_cells("    p: choose a person all the same", width), quiet)]
        choices: Sequence[Suggestion] = chosen.choices
        for number, suggestion in enumerate(choices, 1):
            name = fit_cells(self._who(suggestion.person), width - 4)
            yield [Segment(f" {number} ", key), Segment(f" {name}", plain)]
            reasons = "; ".join(suggestion.reasons)
            if suggestion.certainty:
                reasons = f"{format_chance(suggestion.certainty)}: {reasons}"
            for part in (
                ["    " + fit_cells(reasons, width - 4)] if brief else wrapped(reasons, width, "    ")
            ):
                yield [Segment(part, quiet)]


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
