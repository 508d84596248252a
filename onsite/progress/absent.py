"""Beside the stages: who is absent.

That somebody declined, or is put down for a make-up day, nothing in the record says yet: a no to publishing
is no refusal to be photographed, and a later day may be one of the shoot's own. Whoever is absent stands on
the make-up day's list.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from onsite.progress.stage import PersonStatus, Stage
from onsite.store.shoot import Shoot

ABSENT = "absent"
"""Expected still, and the shoot is over."""


def shoot_is_over(day: date | None, arrivals: Iterable[datetime], now: datetime) -> bool:
    """Whether the shoot's last day has passed: `day`, or the last on which somebody arrived where that is
    later, for a shoot of several days. False where neither is known. `now` is in the shoot's zone."""
    last = max(arrivals, default=None)
    days = [day] if day is not None else []
    if last is not None:
        days.append(last.astimezone(now.tzinfo).date())
    return bool(days) and now.date() > max(days)


def is_over(shoot: Shoot, everybody: Iterable[PersonStatus]) -> bool:
    """The same for a shoot, with everybody of it."""
    day = date.fromisoformat(shoot.settings.date) if shoot.settings.date else None
    return shoot_is_over(day, (s.arrived for s in everybody if s.arrived is not None), shoot.now())


def is_absent(status: PersonStatus, over: bool) -> bool:
    """Whether somebody who counts never came, once the shoot is over."""
    return over and status.counts and status.stage is Stage.EXPECTED


def stage_word(status: PersonStatus, over: bool) -> str:
    """How somebody stands, in a word: their stage, else that they are absent or withdrawn."""
    if status.person.withdrawn:
        return "withdrawn"
    return ABSENT if is_absent(status, over) else status.stage.value
