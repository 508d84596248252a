"""Which picks are to go out."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from onsite.progress.after import After, Picked
from onsite.retouch.sources import Source
from onsite.roster.find import Someone


@dataclass(frozen=True, slots=True)
class DueOut:
    """A pick that is to go out, `pick` of which number. `note` is about this picture, `person_note` about all
    of the person's; `reason` is why an earlier version was sent back."""

    frame: int
    person: Someone
    note: str = ""
    person_note: str = ""
    version: int = 1
    reason: str = ""
    pick: int = 1


@dataclass(frozen=True, slots=True)
class NotOut:
    """A frame that does not go out, and why."""

    frame: int
    why: str


IN_HOUSE = "in house"


@dataclass(frozen=True, slots=True)
class Order:
    """What is asked for. `price` is for each image; `named` has files carry names by the shoot's pattern,
    `metadata` has them keep what they say of people, places and cameras."""

    hand: str = IN_HOUSE
    due: str = ""
    price: Decimal | None = None
    currency: str = "EUR"
    group: str | None = None
    frames: tuple[str, ...] = ()
    developed: Path | None = None
    named: bool = True
    metadata: bool = True


@dataclass(frozen=True, slots=True)
class Item:
    """One file of a batch."""

    due: DueOut
    file: str
    source: Source
    original: str


@dataclass(frozen=True, slots=True)
class Sent:
    """A batch as it went out, or would: `price` is that of all of it, None where none was said; `notices` is
    what there is to know of the names of its files."""

    batch: str
    folder: Path
    items: tuple[Item, ...]
    not_out: tuple[NotOut, ...]
    price: Decimal | None
    notices: tuple[str, ...] = ()


def due_out(
    after: Mapping[int, After],
    everybody: Mapping[int, Someone],
    owners: Mapping[int, int | None],
    awaited: Mapping[int, int],
    frames: Collection[int] | None = None,
) -> tuple[list[DueOut], list[NotOut]]:
    """(picks to go out, picks that must not), by sequence number and order of choice.

    Picks that are out or back stay where they are; one that was sent back goes out again where it is named in
    `frames`. `owners` says whose each frame is now; `awaited` which version of a frame is awaited. A frame
    that is not its person's any more does not go out, whatever was picked.
    """
    out: list[DueOut] = []
    not_out: list[NotOut] = []
    chosen = None if frames is None else set(frames)
    for person_id in sorted(after, key=lambda one: (everybody[one].sequence or 0, one)):
        person = everybody[person_id]
        for number, pick in enumerate(after[person_id].picks, start=1):
            if chosen is not None and pick.frame not in chosen:
                continue
            why = _why_not(pick, chosen is not None, owners.get(pick.frame) == person_id)
            if not why:
                version = awaited.get(pick.frame, 1)
                note = after[person_id].note
                out.append(DueOut(pick.frame, person, pick.note, note, version, _reason(pick), number))
            elif chosen is not None or pick.sent is None:
                not_out.append(NotOut(pick.frame, why))
    told = {one.frame for one in out} | {one.frame for one in not_out}
    not_out += [NotOut(frame, "nobody picked it") for frame in frames or () if frame not in told]
    return out, not_out


def _why_not(pick: Picked, named: bool, theirs: bool) -> str:
    if pick.received is not None:
        return "it is back already"
    if pick.sent is not None and not (named and _was_sent_back(pick)):
        return f"it is out already, with {pick.batch}"
    return "" if theirs else "it is not under the name of the person who picked it any more"


def _was_sent_back(pick: Picked) -> bool:
    return pick.sent is not None and pick.sent_back is not None and pick.sent_back > pick.sent


def _reason(pick: Picked) -> str:
    return pick.reason if _was_sent_back(pick) else ""
