"""Who gets what: pictures divided into sets for the client, for groups, for people, or for a yearbook.

The client publishes what it gets; a person gets their own picture. Whoever said no to publishing, or
something that is neither yes nor no, is therefore left out of every set but their own, and it is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from onsite.delivery.wanted import Wanted
from onsite.files.names import Taken, folder_name, safe
from onsite.roster.consent import Consent
from onsite.roster.find import Someone


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
class Divided:
    """The sets, and who was left out of them, with why."""

    sets: tuple[PictureSet, ...]
    held_back: tuple[tuple[Someone, str], ...]


def divide(
    wanted: Sequence[Wanted], everybody: Sequence[Someone], per: Per, client: str, ascii_only: bool
) -> Divided:
    """Divides pictures into sets; a yearbook takes everybody's first pick. Folders are named by everybody in
    the shoot, so that a later delivery calls them the same."""
    held = {} if per is Per.PERSON else _held_back(wanted)
    allowed = [one for one in wanted if one.person.id not in held]
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
    told = {one.person.id: one.person for one in wanted}
    return Divided(tuple(sets), tuple((told[person], why) for person, why in held.items()))


def _held_back(wanted: Sequence[Wanted]) -> dict[int, str]:
    held: dict[int, str] = {}
    for one in wanted:
        if one.consent is Consent.NO:
            held[one.person.id] = "must not be published"
        elif one.consent is Consent.UNCLEAR:
            held[one.person.id] = "it is not clear whether they may be published"
        elif one.person.withdrawn:
            held[one.person.id] = "no longer on the client's list"
    return held


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
