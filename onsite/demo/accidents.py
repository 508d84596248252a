"""What goes wrong on a real day, and how often."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class AccidentKind(StrEnum):
    """An accident. The values are the descriptions; `{who}` and `{where}` are filled in."""

    FORGOTTEN = "{who} stepped in without a slate ({where})"
    UNREADABLE = "{who} held up a slate that does not read ({where})"
    TAIL = "{who} held the slate upside down after the portraits, and none before ({where})"
    TWICE = "the slate of {who} was shot twice in a row ({where})"
    COMES_BACK = "{who} came back later in other clothes ({where})"
    BADGE = "{who} wears a badge with a QR code of something else ({where})"
    OTHER_SHOOT = "{who} held up a ticket of another shoot ({where})"
    WALK_IN = "{who} was on no list and came in with a deck card ({where})"
    CARD_AGAIN = "one deck card served several people: {who}"
    TESTS = "test shots of the empty backdrop and a grey card ({where})"
    ROLLOVER = "the file counter rolled over from 9999 to 0001 ({where})"
    NEVER_CAME = "{who} never arrived"
    NEVER_SHOT = "{who} arrived and was never photographed"


AT_THE_SET = (
    AccidentKind.COMES_BACK,
    AccidentKind.FORGOTTEN,
    AccidentKind.UNREADABLE,
    AccidentKind.TAIL,
    AccidentKind.TWICE,
    AccidentKind.BADGE,
    AccidentKind.OTHER_SHOOT,
)
"""What happens to one person's visit; the first are dealt first where a day is too short for all."""


@dataclass(frozen=True, slots=True)
class Accident:
    """One thing that went wrong: whom it struck (a key, or None) and a line to print."""

    kind: AccidentKind
    person: str | None
    description: str


def accident(kind: AccidentKind, person: str | None = None, who: str = "", where: str = "") -> Accident:
    """An accident with its description written out; names are kept as they are."""
    parts = kind.value.replace("{where}", where)
    return Accident(kind, person, parts.replace("{who}", who))


def share(people: int, least: int = 1, per_hundred: float = 2.0) -> int:
    """How many of an accident strike so many people: about 2 in 100, at least `least`, at most 1 in 10."""
    return min(max(least, round(people * per_hundred / 100)), people // 10)
