"""A person as the client's list has them, and notices about a list."""

from __future__ import annotations

from dataclasses import dataclass

FIELDS = (
    "key",
    "given",
    "family",
    "name",
    "spoken",
    "group",
    "role",
    "email",
    "phone",
    "slot",
    "consent",
    "note",
    "language",
)
"""The fields to which a column of a list can be mapped."""


@dataclass(frozen=True, slots=True)
class RosterEntry:
    """A row of the list; every text is as written, empty when absent.

    `name` is the name as displayed, `spoken` its pronunciation. `extra` holds the other columns as (heading,
    value). `row` is the row of the file as a spreadsheet numbers it, from 1; 0 if the entry is not from a
    file.
    """

    key: str = ""
    name: str = ""
    given: str = ""
    family: str = ""
    group: str = ""
    role: str = ""
    email: str = ""
    phone: str = ""
    slot: str = ""
    consent: str = ""
    note: str = ""
    spoken: str = ""
    language: str = ""
    extra: tuple[tuple[str, str], ...] = ()
    row: int = 0


@dataclass(frozen=True, slots=True)
class ListNotice:
    """A notice about a list; `row` is 0 for the whole list; `refused`: the row was left out."""

    row: int
    text: str
    refused: bool = False
    may_be_total: bool = False
    """Whether the row may be a total, and is kept as a person."""
    left_out: bool = False
    """Whether the row was taken for a total on request, and left out."""
