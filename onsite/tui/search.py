"""Looking for somebody while their name is typed, and whether Enter means who is marked."""

from __future__ import annotations

from onsite.checkin.meant import clearly_meant
from onsite.progress.everybody import Everybody
from onsite.progress.stage import Standing
from onsite.roster.find import Hit
from onsite.roster.spellings import Someone


class Search:
    """What was typed and who was found. `moved` tells that somebody went to another one by hand.

    With `expected_first`, of people who fit equally well those who are still expected come first.
    """

    def __init__(self, expected_first: bool = False) -> None:
        self._expected_first = expected_first
        self.text = ""
        self.moved = False
        self._hits: list[Hit] = []
        self._asked: tuple[int, str] | None = None

    def look(self, text: str, everybody: Everybody) -> list[Standing]:
        """Who may be meant, best first; nobody for an empty text."""
        if text != self.text:
            self.moved = False
            self._asked = None
        self.text = text
        self._hits = everybody.finder.find(text) if text.strip() else []
        standings = everybody.standings
        if self._expected_first:
            self._hits.sort(key=lambda hit: _place(hit, standings.get(hit.someone.id)))
        return [standings[hit.someone.id] for hit in self._hits if hit.someone.id in standings]

    def means(self, someone: Someone) -> bool:
        """Whether Enter means who is marked: chosen by hand, beyond doubt, or asked about once before."""
        sure = self.moved or self._asked == (someone.id, self.text) or clearly_meant(self._hits)
        self._asked = someone.id, self.text
        return sure


def _place(hit: Hit, standing: Standing | None) -> tuple[int, bool, bool]:
    """The finder's order, in which equals are those of about the same score, and then who is expected."""
    return -round(hit.score), hit.someone.withdrawn, standing is not None and standing.arrived is not None


def is_it(someone: Someone) -> str:
    """The question where it is not beyond doubt."""
    gone = ", who is no longer on the list" if someone.withdrawn else ""
    return f"Is it {someone.name} ({someone.group or someone.key}){gone}? Enter: yes. Up, down: another."
