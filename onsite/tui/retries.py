"""Errors of what runs in other threads: told once, and tried again after a pause that grows."""

from __future__ import annotations

from collections.abc import Callable

from onsite.core.errors import Problem

FIRST_PAUSE, LONGEST_PAUSE = 1.0, 30.0
"""Seconds before a worker is tried again: the first time, and at most; each time twice as long."""


ShowMessage = Callable[[str | Problem], None]


def worker_problem(doing: str, error: Exception, next_step: str) -> Problem:
    """An error as it is told: a Problem in its own words, any other by what was being done, and what happens
    next."""
    if isinstance(error, Problem):
        return Problem(error.what, f"{error.remedy} {next_step}".strip())
    reason = next(iter(str(error).splitlines()), "")
    return Problem(f"{doing} has failed: {type(error).__name__} {reason}".rstrip() + ".", next_step)


class RetryState:
    """How the attempts of one worker went. It tells of an error once, however often it is met again."""

    def __init__(self, doing: str, tell: ShowMessage) -> None:
        """`doing` is what the worker does, as the beginning of a sentence; `tell` is called in its thread."""
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
        """Takes note of an error. Returns the seconds to wait before the next attempt."""
        problem = worker_problem(
            self._doing, error, "It is tried again by itself; Ctrl+Q closes the screens."
        )
        if str(problem) != str(self.problem):
            self._tell(problem)
        self.problem = problem
        pause, self._pause = self._pause, min(2 * self._pause, LONGEST_PAUSE)
        return pause

    def worked(self) -> None:
        """Takes note of an attempt that worked."""
        was_failing, self.problem, self._pause = self.failing, None, FIRST_PAUSE
        if was_failing:
            self._tell(f"{self._doing} works again.")
