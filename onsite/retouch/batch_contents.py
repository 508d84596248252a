"""Which picks are to go out."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from onsite.retouch.source_files import SourceFile
from onsite.roster.find_people import RosterPerson
from onsite.status.picture_status import Pick, PictureStatus

if TYPE_CHECKING:
    from onsite.roster.find_people import RosterPerson


@dataclass(frozen=True, slots=True)
class DuePick:
    """A pick that is to go out, `pick` of which number. `note` is about this picture, `person_note` about all
    of the person's; `reason` is why an earlier version was sent back."""

    frame: int
    person: RosterPerson
    note: str = ""
    person_note: str = ""
    version: int = 1
    reason: str = ""
    pick: int = 1


@dataclass(frozen=True, slots=True)
class PickNotSent:
    """A frame that does not go out, and why."""

    frame: int
    why: str


IN_HOUSE = "in house"


@dataclass(frozen=True, slots=True)
class BatchOrder:
    """What is asked for. `price` is for each image; `named` has files carry names by the shoot's pattern,
    `metadata` has them keep what they say of people, places and cameras."""

    retoucher: str = IN_HOUSE
    due: str = ""
    price: Decimal | None = None
    currency: str = "EUR"
    group: str | None = None
    frames: tuple[str, ...] = ()
    developed: Path | None = None
    named: bool = True
    metadata: bool = True


@dataclass(frozen=True, slots=True)
class BatchItem:
    """One file of a batch."""

    due: DuePick
    file: str
    source: SourceFile
    original: str


@dataclass(frozen=True, slots=True)
class SentBatch:
    """A batch as it went out, or would: `price` is that of all of it, None where none was said; `notices` is
    what there is to know of the names of its files."""

    batch: str
    folder: Path
    items: tuple[BatchItem, ...]
    not_out: tuple[PickNotSent, ...]
    price: Decimal | None
    notices: tuple[str, ...] = ()


def due_picks(
    after: Mapping[int, PictureStatus],
    everybody: Mapping[int, RosterPerson],
    owners: Mapping[int, int | None],
    awaited: Mapping[int, int],
    frames: Collection[int] | None = None,
) -> tuple[list[DuePick], list[PickNotSent]]:
    """(picks to go out, picks that must not), by sequence number and order of choice.

    Picks that are out or back stay where they are; one that was sent back goes out again where it is named in
    `frames`. `owners` says whose each frame is now; `awaited` which version of a frame is awaited. A frame
    that is not its person's any more does not go out, whatever was picked.
    """
    out: list[DuePick] = []
    not_out: list[PickNotSent] = []
    chosen = None if frames is None else set(frames)
    for person_id in sorted(after, key=lambda entry: (everybody[entry].sequence or 0, entry)):
        person = everybody[person_id]
        for number, pick in enumerate(after[person_id].picks, start=1):
            if chosen is not None and pick.frame not in chosen:
                continue
            why = _why_not(pick, chosen is not None, owners.get(pick.frame) == person_id)
            if not why:
                version = awaited.get(pick.frame, 1)
                note = after[person_id].note
                out.append(DuePick(pick.frame, person, pick.note, note, version, _reason(pick), number))
            elif chosen is not None or pick.sent is None:
                not_out.append(PickNotSent(pick.frame, why))
    mentioned = {entry.frame for entry in out} | {entry.frame for entry in not_out}
    not_out += [PickNotSent(frame, "nobody picked it") for frame in frames or () if frame not in mentioned]
    return out, not_out


def _why_not(pick: Pick, named: bool, is_owned: bool) -> str:
    if pick.received is not None:
        return "it is back already"
    if pick.sent is not None and not (named and _was_sent_back(pick)):
        return f"it is out already, with {pick.batch}"
    return "" if is_owned else "it is not under the name of the person who picked it any more"


def _was_sent_back(pick: Pick) -> bool:
    return pick.sent is not None and pick.sent_back is not None and pick.sent_back > pick.sent


def _reason(pick: Pick) -> str:
    return pick.reason if _was_sent_back(pick) else ""


# TODO The names of files that go out, and finding them again in what comes back.
# TODO
# TODO Every name ends in the frame's id, which says nothing about anybody; with a pattern it begins as the
# pattern TODO has it, else with the sequence number. Names are ASCII and unlike each other whatever the case,
# so that they TODO survive other machines.

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
