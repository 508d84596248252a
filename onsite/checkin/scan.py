"""What a scanner, or somebody with a card in hand, put into the field."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Protocol

from onsite.problems import Problem
from onsite.slate.code import CODE_LENGTH, PROJECT_MARK, SlateCode, parse, spaced

if TYPE_CHECKING:
    from onsite.checkin.queue import InQueue
    from onsite.roster.find import Someone

_LONGEST = 64
"""Characters in which a code is looked for: the code, its gaps, and what a scanner puts around it."""


class ScanKind(StrEnum):
    PERSON = "a person's code"
    CARD = "a deck card"
    OTHER_SHOOT = "a code of another shoot"
    NOBODYS = "a code of this shoot that is nobody's"
    NO_CODE = "not a code"


@dataclass(frozen=True, slots=True)
class Scan:
    """What the text is. `person` is whose code it is, `card` the deck card's number and `holder` who holds
    it now; `problem` is what to tell where the code is no use here."""

    kind: ScanKind
    code: str = ""
    person: Someone | None = None
    card: int | None = None
    holder: Someone | None = None
    problem: Problem | None = None


class Known(Protocol):
    """Whose codes are known, as `progress.everybody.Everybody` has them."""

    @property
    def standings(self) -> Mapping[int, InQueue]: ...
    @property
    def codes(self) -> Mapping[str, int]: ...
    @property
    def cards(self) -> Mapping[str, int]: ...
    def holder(self, card: int) -> InQueue | None: ...


def scanned(text: str, mark: str, known: Known) -> Scan:
    """What a text is, in a shoot of that mark. Lower case, gaps, a line's end and what scanners put before a
    symbol's content are no hindrance."""
    code = code_in(text)
    if code is None:
        return Scan(ScanKind.NO_CODE)
    if code.shoot != mark:
        problem = Problem(f"{spaced(code.text)} is a code of another shoot.", "Find them by their name.")
        return Scan(ScanKind.OTHER_SHOOT, code.text, problem=problem)
    standing = known.standings.get(known.codes.get(code.text, 0))
    if standing is not None:
        return Scan(ScanKind.PERSON, code.text, standing.person)
    if code.text in known.cards:
        number = known.cards[code.text]
        holder = known.holder(number)
        return Scan(ScanKind.CARD, code.text, card=number, holder=holder.person if holder else None)
    problem = Problem(
        f"{spaced(code.text)} is a code of this shoot and nobody's.", "Find them by their name."
    )
    return Scan(ScanKind.NOBODYS, code.text, problem=problem)


def code_in(text: str) -> SlateCode | None:
    """The one slate code in a text that holds nothing else but what a scanner adds, else None.

    Scanners may send a symbology identifier (ISO/IEC 15424, such as "]Q1", from memory), control characters
    or a name that was set up, before and after the content.
    """
    if len(text) > _LONGEST:
        return None
    plain = re.sub(r"[^0-9A-Za-z]", "", text).upper()
    starts = [found.start() for found in re.finditer(f"(?={PROJECT_MARK})", plain)]
    codes = {code for start in starts if (code := parse(plain[start : start + CODE_LENGTH])) is not None}
    return codes.pop() if len(codes) == 1 else None
