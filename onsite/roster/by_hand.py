"""What hands have put right at the door, so that no list puts it wrong again.

A correction is a change in the record with `by` "hand". From then on two values of that field are known: the
hand's, which the person has, and the one on the client's list, which only tells a newer list from an old one.
When a newer list says something new there, the record notes it under `listed`. Only a refusal to be published
that is new on the list goes before the hand's word: it was given later.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any

from sqlmodel import Session

from onsite.store.record import EventKind, read_events

CORRECTED_BY = "by"
"""In a change's details: who made it, as a text. What changed has lists of two, so that a column of the
client's that is called "by" is not mistaken for it."""

LISTED = "listed"
"""In a change's details: {field: [old, new]} of what the client's list says where a hand's word stays."""

NAMES = ("name", "given", "family")


@dataclass(slots=True)
class Corrections:
    """Of one person: the fields that stay as a hand has put them, and what the client's list has there,
    where that is something else."""

    fields: set[str] = field(default_factory=set)
    listed: dict[str, str] = field(default_factory=dict)


def read_corrections(session: Session) -> dict[int, Corrections]:
    """By person, for those whom a hand corrected or whose name was confirmed.

    The parts of a name stay together: where one was put right, or the name confirmed, all three stay.
    """
    found: dict[int, Corrections] = defaultdict(Corrections)
    events = read_events(session, (EventKind.CHANGED, EventKind.CONFIRMED))
    for event in sorted(events, key=lambda event: event.id):
        if event.person_id is None:
            continue
        if event.kind is EventKind.CONFIRMED:
            found[event.person_id].fields.update(NAMES)
        elif event.details.get(CORRECTED_BY) == "hand":
            _correct(found[event.person_id], event.details)
        elif isinstance(event.details.get(LISTED), dict):
            for name, (_, new) in event.details[LISTED].items():
                found[event.person_id].listed[name] = new
        elif isinstance(event.details.get("consent"), list) and event.person_id in found:
            found[event.person_id].fields.discard("consent")  # the list has refused since
            found[event.person_id].listed.pop("consent", None)
    return dict(found)


def _correct(corrections: Corrections, details: dict[str, Any]) -> None:
    for name, values in details.items():
        if isinstance(values, list):
            corrections.listed.setdefault(name, values[0])
            corrections.fields.add(name)
    if not corrections.fields.isdisjoint(NAMES):
        corrections.fields.update(NAMES)
