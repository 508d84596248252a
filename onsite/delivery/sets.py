"""Who gets what: pictures divided into sets for the client, for groups, for people, or for a yearbook.

The client publishes what it gets; a person gets their own picture. Whoever may not be published
(`roster.publication`) is therefore left out of every set but their own, and the delivery says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from onsite.delivery.wanted import Wanted
from onsite.files.names import Taken, folder_name, safe
from onsite.roster.find import Someone
from onsite.roster.publication import Reason


class Per(StrEnum):
    """For whom a set is."""

    CLIENT = "client"
    GROUP = "group"
    PERSON = "person"
    YEARBOOK = "yearbook"


@dataclass(frozen=True, slots=True)
class PictureSet:
    """Pictures for one recipient. `name` is how the record calls it, `recipient` who gets it, `folder` the
    name of its package; `inside` the folders in it by person, empty where there are none."""

    name: str
    recipient: str
    folder: str
    wanted: tuple[Wanted, ...]
    inside: dict[int, str]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Somebody who may not be published, with the set that their pictures would be in. `own` is True for a
    set of their own, which they get all the same."""

    person: Someone
    reason: Reason
    set: str
    own: bool = False


@dataclass(frozen=True, slots=True)
class Divided:
    """The sets, and who was left out of them."""

    sets: tuple[PictureSet, ...]
    left_out: tuple[LeftOut, ...]


def divide(
    wanted: Sequence[Wanted], everybody: Sequence[Someone], per: Per, client: str, ascii_only: bool
) -> Divided:
    """Divides pictures into sets; a yearbook takes everybody's first pick. Folders are named by everybody in
    the shoot, so that a later delivery calls them the same."""
    own = per is Per.PERSON
    allowed = [one for one in wanted if own or one.person.publication.allowed]
    if per is Per.YEARBOOK:
        allowed = [one for one in allowed if one.pick == 1]
    folders = _folders(everybody, per, client, ascii_only)
    groups = _folders(everybody, Per.GROUP, client, ascii_only) if per is Per.YEARBOOK else {}
    divided: dict[str, list[Wanted]] = {}
    for one in allowed:
        divided.setdefault(_of(one.person, per), []).append(one)
    sets = [
        PictureSet(
            _name(per, whose),
            client if per in (Per.CLIENT, Per.YEARBOOK) else whose or "people without a group",
            folders[whose],
            tuple(theirs),
            {one.person.id: groups[one.person.group] for one in theirs} if groups else {},
        )
        for whose, theirs in divided.items()
    ]
    people = {one.person.id: one.person for one in wanted}.values()
    left_out = (
        LeftOut(person, reason, _name(per, _of(person, per)), own)
        for person in people
        if (reason := person.publication.reason) is not None
    )
    return Divided(tuple(sets), tuple(left_out))


def _of(person: Someone, per: Per) -> str:
    """What a person's set goes by."""
    return {Per.GROUP: person.group, Per.PERSON: person.key}.get(per, "")


def _name(per: Per, whose: str) -> str:
    return f"{per}: {whose}" if per in (Per.GROUP, Per.PERSON) else str(per)


def _folders(everybody: Sequence[Someone], per: Per, client: str, ascii_only: bool) -> dict[str, str]:
    taken = Taken()
    if per in (Per.CLIENT, Per.YEARBOOK):
        fallback = "pictures" if per is Per.CLIENT else "yearbook"
        return {"": folder_name(client if per is Per.CLIENT else fallback, ascii_only) or fallback}
    folders: dict[str, str] = {}
    for person in everybody:
        whose = _of(person, per)
        if whose not in folders:
            wish = person.group if per is Per.GROUP else _called(person, ascii_only)
            empty = "without group" if per is Per.GROUP else f"person {person.id}"
            folders[whose] = taken.free(folder_name(wish, ascii_only) or empty)
    return folders


def _called(person: Someone, ascii_only: bool) -> str:
    name = "_".join(
        part for part in (safe(person.family, ascii_only), safe(person.given, ascii_only)) if part
    )
    name = name or safe(person.name, ascii_only)
    return f"{name}_{person.sequence:04}" if person.sequence else name
