"""Looking for somebody while their name is typed, and whether Enter means who is marked."""

from __future__ import annotations

from onsite.checkin.meant import is_unambiguous
from onsite.progress.everybody import StatusCache
from onsite.progress.stage import PersonStatus
from onsite.roster.find import SearchHit
from onsite.roster.spellings import RosterPerson


class PersonSearch:
    """What was typed and who was found. `moved` tells that somebody went to another one by hand.

    With `expected_first`, of people who fit equally well those who are still expected come first.
    """

    def __init__(self, expected_first: bool = False) -> None:
        self._expected_first = expected_first
        self.text = ""
        self.moved = False
        self._hits: list[SearchHit] = []
        self._asked: tuple[int, str] | None = None

    def look(self, text: str, everybody: StatusCache) -> list[PersonStatus]:
        """Who may be meant, best first; nobody for an empty text."""
        if text != self.text:
            self.moved = False
            self._asked = None
        self.text = text
        self._hits = everybody.finder.find(text) if text.strip() else []
        statuses = everybody.statuses
        if self._expected_first:
            self._hits.sort(key=lambda hit: _place(hit, statuses.get(hit.person.id)))
        return [statuses[hit.person.id] for hit in self._hits if hit.person.id in statuses]

    def is_meant_by_enter(self, person: RosterPerson) -> bool:
        """Whether Enter means who is marked: chosen by hand, beyond doubt, or asked about once before."""
        sure = self.moved or self._asked == (person.id, self.text) or is_unambiguous(self._hits)
        self._asked = person.id, self.text
        return sure


def _place(hit: SearchHit, status: PersonStatus | None) -> tuple[int, bool, bool]:
    """The finder's order, in which equals are those of about the same score, and then who is expected."""
    return -round(hit.score), hit.person.withdrawn, status is not None and status.arrived is not None


def is_it_question(person: RosterPerson) -> str:
    """The question where it is not beyond doubt."""
    gone = ", who is no longer on the list" if person.withdrawn else ""
    return f"Is it {person.name} ({person.group or person.key}){gone}? Enter: yes. Up, down: another."
