"""The codes that slates of this shoot can carry, for reading slates that do not read by themselves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlmodel import Session, col, func, select

from onsite.slate.code import PROJECT_MARK
from onsite.store.shoot import Shoot
from onsite.store.tables import DeckCard, Person

if TYPE_CHECKING:
    from onsite.slate.known import KnownSlates


@dataclass(frozen=True, slots=True)
class CodeSet:
    """What slates are compared with; None before anybody has a code. `count` is of how many codes it was
    made: it rises whenever there are more."""

    slates: KnownSlates | None = None
    count: int = 0


class ShootCodes:
    """The codes of a shoot: also of people who are no longer on the client's list, of walk-ins and of deck
    cards. Read again only when there are more. For one thread; what it answers is for any."""

    def __init__(self, shoot: Shoot) -> None:
        self._shoot = shoot
        self._last = CodeSet()

    def now(self) -> CodeSet:
        """The codes as they are now. Cheap where none were added."""
        from onsite.slate.known import known_slates

        with self._shoot.reading() as session:
            if _count(session) == self._last.count:
                return self._last
            texts = [*session.exec(select(Person.code)), *session.exec(select(DeckCard.code))]
        own_codes = [text for text in texts if text.startswith(PROJECT_MARK + self._shoot.mark)]
        self._last = CodeSet(known_slates(self._shoot.mark, own_codes), len(texts))
        return self._last


def _count(session: Session) -> int:
    """Rows that have a code are added and never taken away."""
    people = session.exec(select(func.count(col(Person.id)))).one()
    return people + session.exec(select(func.count(col(DeckCard.id)))).one()
