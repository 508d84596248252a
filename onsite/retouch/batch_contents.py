"""What goes into a batch: which picks, under which file names, and recognising those names on returned files.

A file name ends in the frame's id, which says nothing about the person. It begins as the shoot's pattern has
it, or else with the sequence number. Names are ASCII and distinct in any case, so that they survive other
systems. A returned name is split into runs of letters and of digits; it matches the sent name whose runs it
contains in sequence, the longest first, or else the one whose id it contains.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from onsite.core.frame_ref import frame_id_text
from onsite.retouch.files_to_retouch import SourceFile
from onsite.roster.find_people import RosterPerson
from onsite.status.picture_status import Pick, PictureStatus

if TYPE_CHECKING:
    from onsite.roster.find_people import RosterPerson


@dataclass(frozen=True, slots=True)
class DuePick:
    """A pick to send."""

    frame: int
    person: RosterPerson
    note: str = ""  # to this picture
    person_note: str = ""  # to all pictures of the person
    version: int = 1
    reason: str = ""  # why the version before was sent back
    pick: int = 1  # its place among the person's picks, from 1


@dataclass(frozen=True, slots=True)
class PickNotSent:
    """A frame that is not sent, and why."""

    frame: int
    why: str


IN_HOUSE = "in house"


@dataclass(frozen=True, slots=True)
class BatchOrder:
    """The options of a send."""

    retoucher: str = IN_HOUSE
    due: str = ""  # ISO date
    price: Decimal | None = None  # for each image
    currency: str = "EUR"
    group: str | None = None
    frames: tuple[str, ...] = ()
    developed: Path | None = None  # folder with developed files
    named: bool = True  # name files by the shoot's pattern, else without people's names
    metadata: bool = True  # keep the metadata about people, places and cameras


@dataclass(frozen=True, slots=True)
class BatchItem:
    """A file of a batch."""

    due: DuePick
    file: str
    source: SourceFile
    original: str


@dataclass(frozen=True, slots=True)
class SentBatch:
    """A batch as it went out, or would go out."""

    batch: str
    folder: Path
    items: tuple[BatchItem, ...]
    not_out: tuple[PickNotSent, ...]
    price: Decimal | None  # of the whole batch, None where none was given
    notices: tuple[str, ...] = ()  # about the names of its files


def due_picks(
    after: Mapping[int, PictureStatus],
    everybody: Mapping[int, RosterPerson],
    owners: Mapping[int, int | None],
    awaited: Mapping[int, int],
    frames: Collection[int] | None = None,
) -> tuple[list[DuePick], list[PickNotSent]]:
    """(picks to send, picks not to send), by sequence number and order of choice.

    Picks that are out or received are left alone; one that was sent back goes out again. `owners` maps frames
    to their present owners, `awaited` to the version that is awaited. A frame that is no longer the person's
    is never sent, even if picked.
    """
    out: list[DuePick] = []
    not_out: list[PickNotSent] = []
    chosen = None if frames is None else set(frames)
    for person_id in sorted(after, key=lambda entry: (everybody[entry].sequence or 0, entry)):
        person = everybody[person_id]
        for number, pick in enumerate(after[person_id].picks, start=1):
            if chosen is not None and pick.frame not in chosen:
                continue
            why = _why_not(pick, owners.get(pick.frame) == person_id)
            if not why:
                version = awaited.get(pick.frame, 1)
                note = after[person_id].note
                out.append(DuePick(pick.frame, person, pick.note, note, version, _reason(pick), number))
            elif chosen is not None or pick.sent is None:
                not_out.append(PickNotSent(pick.frame, why))
    mentioned = {entry.frame for entry in out} | {entry.frame for entry in not_out}
    not_out += [PickNotSent(frame, "nobody picked it") for frame in frames or () if frame not in mentioned]
    return out, not_out


def _why_not(pick: Pick, is_owned: bool) -> str:
    if pick.received is not None:
        return "it is back already"
    if pick.sent is not None and not pick.goes_out_again:
        return f"it is out already, with {pick.batch}"
    return "" if is_owned else "it is not under the name of the person who picked it any more"


def _reason(pick: Pick) -> str:
    return pick.reason if pick.goes_out_again else ""


# File names

_LONGEST = 80  # characters of a name that went out
_TOKEN = re.compile(r"[a-z]+|[0-9]+")


def file_name_out(person: RosterPerson, frame: int, pattern_name: str = "") -> str:
    """The file name without extension under which a frame goes out. Without `pattern_name` it holds no
    person's name."""
    if not pattern_name:
        return f"{person.sequence or 0:04}_{frame_id_text(frame)}"
    text = re.sub(r"[^A-Za-z0-9._-]+", "-", pattern_name)[:_LONGEST].strip("._-")
    return f"{text}_{frame_id_text(frame)}" if text else frame_id_text(frame)


def _latin(text: str) -> str:
    from anyascii import anyascii

    return str(anyascii(text))


def names_matching(stem: str, sent: Iterable[str]) -> tuple[str, ...]:
    """The sent names that a returned name (both without extension) can stand for: none, one, or several that
    it cannot distinguish.

    Additions before and after, other separators and another case are ignored. A sent name contained as a
    whole takes precedence over a frame id.
    """
    words = tokens(stem)
    sent = list(sent)
    whole = [name for name in sent if _holds(words, tokens(name))]
    if whole:
        longest = max(len(tokens(name)) for name in whole)
        return tuple(name for name in whole if len(tokens(name)) == longest)
    return tuple(name for name in sent if _holds(words, tokens(name)[-2:]))


def tokens(stem: str) -> tuple[str, ...]:
    """Runs of letters and of digits, in lower case: `0012_f45-retouched` gives 0012, f, 45, retouched."""
    return tuple(_TOKEN.findall(_latin(stem).casefold()))


def _holds(words: Collection[str], wanted: tuple[str, ...]) -> bool:
    words = tuple(words)
    span = len(wanted)
    return any(words[at : at + span] == wanted for at in range(len(words) - span + 1))
