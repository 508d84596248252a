"""Divides pictures into sets for the client, for groups, for people, or for a yearbook.

The client publishes what it gets; a person gets only their own pictures. Whoever may not be published
(`roster.publication_consent`) is therefore left out of every set but their own, and the delivery reports it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from onsite.delivery.deliverables import Deliverable
from onsite.delivery.delivery_packages import Packaging
from onsite.files.file_names import UsedNames, folder_name, safe_name
from onsite.roster.find_people import RosterPerson
from onsite.roster.publication_consent import WithholdingReason


class SetPer(StrEnum):
    """What a set is made for."""

    CLIENT = "client"
    GROUP = "group"
    PERSON = "person"
    YEARBOOK = "yearbook"


@dataclass(frozen=True, slots=True)
class PictureSet:
    """Pictures for one recipient."""

    name: str  # as in the record
    recipient: str
    folder: str  # name of its package
    deliverables: tuple[Deliverable, ...]
    inside: dict[int, str]  # person id -> folder in the package; empty where there are none


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A person who may not be published."""

    person: RosterPerson
    reason: WithholdingReason
    set: str  # the set that their pictures would be in
    own: bool = False  # it is a set of their own, which they get nevertheless


@dataclass(frozen=True, slots=True)
class DividedSets:
    """The sets, and the people left out of them."""

    sets: tuple[PictureSet, ...]
    left_out: tuple[LeftOut, ...]


def divide_into_sets(
    wanted: Sequence[Deliverable],
    everybody: Sequence[RosterPerson],
    per: SetPer,
    client: str,
    ascii_only: bool,
) -> DividedSets:
    """Divides pictures into sets; a yearbook takes everybody's first pick. Folder names depend on everybody
    in the shoot, so that later deliveries use the same."""
    own = per is SetPer.PERSON
    allowed = [picture for picture in wanted if own or picture.person.publication.allowed]
    if per is SetPer.YEARBOOK:
        allowed = [picture for picture in allowed if picture.pick == 1]
    folders = _folders(everybody, per, client, ascii_only)
    groups = _folders(everybody, SetPer.GROUP, client, ascii_only) if per is SetPer.YEARBOOK else {}
    divided: dict[str, list[Deliverable]] = {}
    for picture in allowed:
        divided.setdefault(_of(picture.person, per), []).append(picture)
    sets = [
        PictureSet(
            _name(per, whose),
            client if per in (SetPer.CLIENT, SetPer.YEARBOOK) else whose or "people without a group",
            folders[whose],
            tuple(members),
            {picture.person.id: groups[picture.person.group] for picture in members} if groups else {},
        )
        for whose, members in divided.items()
    ]
    people = {picture.person.id: picture.person for picture in wanted}.values()
    left_out = (
        LeftOut(person, reason, _name(per, _of(person, per)), own)
        for person in people
        if (reason := person.publication.reason) is not None
    )
    return DividedSets(tuple(sets), tuple(left_out))


def _of(person: RosterPerson, per: SetPer) -> str:
    """The key of a person's set."""
    return {SetPer.GROUP: person.group, SetPer.PERSON: person.key}.get(per, "")


def _name(per: SetPer, whose: str) -> str:
    return f"{per}: {whose}" if per in (SetPer.GROUP, SetPer.PERSON) else str(per)


def _folders(everybody: Sequence[RosterPerson], per: SetPer, client: str, ascii_only: bool) -> dict[str, str]:
    taken = UsedNames()
    if per in (SetPer.CLIENT, SetPer.YEARBOOK):
        fallback = "pictures" if per is SetPer.CLIENT else "yearbook"
        return {"": folder_name(client if per is SetPer.CLIENT else fallback, ascii_only) or fallback}
    folders: dict[str, str] = {}
    for person in everybody:
        whose = _of(person, per)
        if whose not in folders:
            wish = person.group if per is SetPer.GROUP else _folder_stem(person, ascii_only)
            empty = "without group" if per is SetPer.GROUP else f"person {person.id}"
            folders[whose] = taken.unused_name(folder_name(wish, ascii_only) or empty)
    return folders


def _folder_stem(person: RosterPerson, ascii_only: bool) -> str:
    name = "_".join(
        part for part in (safe_name(person.family, ascii_only), safe_name(person.given, ascii_only)) if part
    )
    name = name or safe_name(person.name, ascii_only)
    # Where there is no number, the key: a place among namesakes shifts when one is renamed or forgotten.
    number = f"{person.sequence:04}" if person.sequence else safe_name(person.key, ascii_only)
    return f"{name}_{number}"


@dataclass(frozen=True, slots=True)
class DeliveryOrder:
    """The options of a delivery."""

    per: SetPer = SetPer.CLIENT
    kind: Packaging = Packaging.FOLDER
    ascii_only: bool = False  # ASCII file names
    originals: bool = False  # also picks that are not retouched
    sharpen: bool = False
    creator: str = ""  # the photographer, for the metadata
    again: bool = False  # also what was delivered before
