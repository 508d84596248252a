"""Retries of background threads: an error is shown once, and tried again after a growing pause."""

from __future__ import annotations

from collections.abc import Callable

from onsite.core.errors import Problem

FIRST_PAUSE, LONGEST_PAUSE = 1.0, 30.0
"""Seconds before the first retry, and the longest pause; each pause is twice the last."""


ShowMessage = Callable[[str | Problem], None]


def worker_problem(doing: str, error: Exception, next_step: str) -> Problem:
    """The Problem to show for an error.

    A Problem keeps its own words; any other error is described by what was being done. `next_step` says what
    happens next.
    """
    if isinstance(error, Problem):
        return Problem(error.what, f"{error.remedy} {next_step}".strip())
    reason = next(iter(str(error).splitlines()), "")
    return Problem(f"{doing} has failed: {type(error).__name__} {reason}".rstrip() + ".", next_step)


class RetryState:
    """The outcome of one worker's attempts. The same error is shown once, however often it recurs."""

    def __init__(self, doing: str, tell: ShowMessage) -> None:
        """`doing` is the worker's task, as the beginning of a sentence; `tell` runs in its thread."""
        self._doing = doing
        self._tell = tell
        self.problem: Problem | None = None
        """Why the last attempt failed; None where it did not."""
        self._pause = FIRST_PAUSE

    @property
    def failing(self) -> bool:
        """Whether the last attempt failed."""
        return self.problem is not None

    def failed(self, error: Exception) -> float:
        """Record an error and show it. Returns the seconds to wait before the next attempt."""
        problem = worker_problem(
            self._doing, error, "It is tried again by itself; Ctrl+Q closes the screens."
        )
        if str(problem) != str(self.problem):
            self._tell(problem)
        self.problem = problem
        pause, self._pause = self._pause, min(2 * self._pause, LONGEST_PAUSE)
        return pause

    def worked(self) -> None:
        """Record an attempt that worked."""
        was_failing, self.problem, self._pause = self.failing, None, FIRST_PAUSE
        if was_failing:
            self._tell(f"{self._doing} works again.")
