"""The names of files that go out, and finding them again in what comes back.

Every name ends in the frame's id, which says nothing about anybody; with a pattern it begins as the pattern
has it, else with the sequence number. Names are ASCII and unlike each other whatever the case, so that they
survive other machines.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from onsite.roster.find import RosterPerson

_LONGEST = 80
_TOKEN = re.compile(r"[a-z]+|[0-9]+")


def file_name_out(person: RosterPerson, frame: int, pattern_name: str = "") -> str:
    """The name without ending under which a frame goes out, beginning with what it is to be called; without
    that it holds nobody's name."""
    if not pattern_name:
        return f"{person.sequence or 0:04}_f{frame}"
    text = re.sub(r"[^A-Za-z0-9._-]+", "-", pattern_name)[:_LONGEST].strip("._-")
    return f"{text}_f{frame}" if text else f"f{frame}"


def _latin(text: str) -> str:
    from anyascii import anyascii

    return str(anyascii(text))


def names_matching(stem: str, sent: Iterable[str]) -> tuple[str, ...]:
    """Which of the names that went out (without ending) a returned name (without ending) can mean: none, one,
    or several that it cannot tell apart.

    Additions before and after, other separators and another case do not matter. A name that holds all of a
    sent one comes before one that holds only its frame's id.
    """
    words = tokens(stem)
    sent = list(sent)
    whole = [name for name in sent if _holds(words, tokens(name))]
    if whole:
        longest = max(len(tokens(name)) for name in whole)
        return tuple(name for name in whole if len(tokens(name)) == longest)
    return tuple(name for name in sent if _holds(words, tokens(name)[-2:]))


def tokens(stem: str) -> tuple[str, ...]:
    """Runs of letters and runs of digits, in lower case: `0012_f45-retouched` is 0012, f, 45, retouched."""
    return tuple(_TOKEN.findall(_latin(stem).casefold()))


def _holds(words: Collection[str], wanted: tuple[str, ...]) -> bool:
    words = tuple(words)
    span = len(wanted)
    return any(words[at : at + span] == wanted for at in range(len(words) - span + 1))
