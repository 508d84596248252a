"""Interpreting a code from a scanner or typed from a ticket or deck card."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Protocol

from onsite.core.codes import CODE_LENGTH, PROJECT_MARK, SlateCode, parse_slate_code, spaced_code
from onsite.core.errors import Problem

if TYPE_CHECKING:
    from onsite.checkin.waiting_people import InQueue
    from onsite.roster.find_people import RosterPerson

_LONGEST = 64
"""The longest text in which a code is looked for: the code, its gaps, and what a scanner adds."""


class ScanKind(StrEnum):
    """The kind of a scanned text."""

    PERSON = "a person's code"
    CARD = "a deck card"
    OTHER_SHOOT = "a code of another shoot"
    UNASSIGNED = "a code of this shoot that is nobody's"
    NO_CODE = "not a code"


@dataclass(frozen=True, slots=True)
class ScannedCode:
    """What a scanned text is.

    `person` is the owner of a person's code; `card` the deck card's number and `holder` its present holder;
    `problem` says why the code is of no use here.
    """

    kind: ScanKind
    code: str = ""
    person: RosterPerson | None = None
    card: int | None = None
    holder: RosterPerson | None = None
    problem: Problem | None = None


class ScanIndex(Protocol):
    """The known codes, as `onsite.status.status_cache.StatusCache` has them."""

    @property
    def statuses(self) -> Mapping[int, InQueue]: ...
    @property
    def codes(self) -> Mapping[str, int]: ...
    @property
    def cards(self) -> Mapping[str, int]: ...
    def holder(self, card: int) -> InQueue | None: ...


def interpret_scan(text: str, mark: str, known: ScanIndex) -> ScannedCode:
    """Interprets a text in a shoot with that mark.

    Lower case, gaps, a line end and what scanners put before a symbol's content are accepted.
    """
    code = code_in(text)
    if code is None:
        return ScannedCode(ScanKind.NO_CODE)
    if code.shoot != mark:
        problem = Problem(f"{spaced_code(code.text)} is a code of another shoot.", "Find them by their name.")
        return ScannedCode(ScanKind.OTHER_SHOOT, code.text, problem=problem)
    status = known.statuses.get(known.codes.get(code.text, 0))
    if status is not None:
        return ScannedCode(ScanKind.PERSON, code.text, status.person)
    if code.text in known.cards:
        number = known.cards[code.text]
        holder = known.holder(number)
        return ScannedCode(ScanKind.CARD, code.text, card=number, holder=holder.person if holder else None)
    problem = Problem(
        f"{spaced_code(code.text)} is a code of this shoot and nobody's.", "Find them by their name."
    )
    return ScannedCode(ScanKind.UNASSIGNED, code.text, problem=problem)


def code_in(text: str) -> SlateCode | None:
    """The only slate code in a text that holds nothing else but what a scanner adds; else None.

    Scanners may send a symbology identifier (ISO/IEC 15424, such as "]Q1", from memory), control characters
    or a configured prefix or suffix before and after the content.
    """
    if len(text) > _LONGEST:
        return None
    plain = re.sub(r"[^0-9A-Za-z]", "", text).upper()
    starts = [found.start() for found in re.finditer(f"(?={PROJECT_MARK})", plain)]
    codes = {
        code for start in starts if (code := parse_slate_code(plain[start : start + CODE_LENGTH])) is not None
    }
    return codes.pop() if len(codes) == 1 else None
