"""The lines above the keys: what to do next, what is wrong for now, and the answer to what was pressed."""

from __future__ import annotations

from rich.text import Text
from textual.timer import Timer
from textual.widgets import Static

from onsite.core.errors import Problem
from onsite.core.text import shown

_LASTS = 30.0
"""Seconds that an answer stands: long enough to be read by somebody who was asked something meanwhile. Own
choice."""


class StatusLine(Static):
    """What was done last, or what could not be done and what to do about it, for half a minute."""

    DEFAULT_CSS = """
    StatusLine {
        height: auto;
        max-height: 3;
        padding: 0 1;
        color: $ink;
        background: $raised;
        &.-problem { color: $on-alert; background: $alert; text-style: bold; }
    }
    """

    def __init__(self) -> None:
        super().__init__("", markup=False)
        self._ends: Timer | None = None

    def show_message(self, text: str) -> None:
        self.remove_class("-problem")
        self._put(Text(shown(text)))

    def show_problem(self, problem: Problem) -> None:
        self.add_class("-problem")
        self._put(problem_text(problem))

    def _put(self, text: Text) -> None:
        """Show the text, and take it away after a while: it is about what was then."""
        if self._ends is not None:
            self._ends.stop()
        self.update(text)
        self._ends = self.set_timer(_LASTS, lambda: self.show_message("")) if text else None

    @property
    def text(self) -> str:
        """The text shown now."""
        return str(self.content)


class StandingLine(Static):
    """What is wrong as long as it is wrong, whatever else is answered; not there while all is well."""

    DEFAULT_CSS = """
    StandingLine {
        display: none;
        height: auto;
        max-height: 3;
        padding: 0 1;
        color: $on-alert;
        background: $alert;
        text-style: bold;
    }
    """

    def __init__(self) -> None:
        super().__init__("", markup=False)

    def show_problem(self, problem: Problem | None) -> None:
        """Shows this problem, or takes away what stands there."""
        self.display = problem is not None
        self.update(problem_text(problem) if problem is not None else "")


def problem_text(problem: Problem) -> Text:
    """A problem in one line: what is wrong, and what to do."""
    return Text(f"! {shown(problem.what)}  {shown(problem.remedy)}".rstrip())


class WhatNext(Static):
    """A line that says what to do now; not there while the mode itself shows it."""

    DEFAULT_CSS = """
    WhatNext {
        display: none; height: 1; padding: 0 1; width: 100%;
        color: $mark-text; background: $mark-fill; text-style: $mark-style;
        text-wrap: nowrap; text-overflow: ellipsis;
        &.-said { display: block; }
    }
    """

    def __init__(self) -> None:
        super().__init__("", markup=False)

    def say(self, text: str) -> None:
        """Show the line, or take it away where `text` is empty."""
        if text != self.text:
            self.set_class(bool(text), "-said")
            self.update(Text(f"▶ Next: {shown(text)}" if text else ""))

    @property
    def text(self) -> str:
        return str(self.content).removeprefix("▶ Next: ")
