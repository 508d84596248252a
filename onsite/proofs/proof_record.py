"""The record of proofs: which frames of a person, under which numbers, on which page.

A pick code refers to these numbers, so they are committed before the page is written.
"""

from __future__ import annotations

import secrets
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlmodel import Session

from onsite.store.events import Event, EventKind, add_event, read_events
from onsite.store.shoot import Shoot

_RANDOM_BYTES = 16
"""128 bits in a page's file name."""


@dataclass(frozen=True, slots=True)
class ProofRecord:
    """The recorded proofs of one person."""

    numbered: tuple[int, ...] = ()
    """Frame ids. Its index in here is a frame's number on the person's proofs: given once and never changed,
    so that a code from an older page still means the same pictures after frames were renamed."""
    page: str = ""  # file name of their present or earlier page
    last: tuple[tuple[int, ...], str] | None = None  # frames and page of the last build


NO_PROOFS = ProofRecord()


def proof_records(events: Iterable[Event]) -> dict[int, ProofRecord]:
    """Folds PROOFED events into records by person id. Include undone events: their pages may be public."""
    numbered: dict[int, dict[int, None]] = defaultdict(dict)
    pages: dict[int, str] = {}
    last: dict[int, tuple[tuple[int, ...], str]] = {}
    for event in events:
        if event.kind is EventKind.PROOFED and event.person_id is not None:
            frames, page = tuple(event.details.get("frames", ())), event.details.get("page", "")
            numbered[event.person_id].update(dict.fromkeys(frames))
            pages[event.person_id] = page or pages.get(event.person_id, "")
            last[event.person_id] = (frames, page)
    return {
        person: ProofRecord(tuple(frames), pages[person], last[person]) for person, frames in numbered.items()
    }


def read_proof_records(session: Session, person_id: int | None = None) -> dict[int, ProofRecord]:
    """Reads the records by person id from the store; of one person where `person_id` is given."""
    return proof_records(read_events(session, [EventKind.PROOFED], person_id=person_id, undone_too=True))


def record_proofs(
    shoot: Shoot, person_id: int, frames: Sequence[int], with_page: bool, station: str
) -> ProofRecord:
    """Records these frames as the person's proofs, unless they are already, and returns the new record. The
    first time, a random name for the page is drawn."""
    with shoot.writing() as session:
        before = read_proof_records(session, person_id).get(person_id, NO_PROOFS)
        name = before.page or f"{secrets.token_hex(_RANDOM_BYTES)}.html"
        now = (tuple(frames), name if with_page else "")
        if now != before.last:
            add_event(
                session,
                EventKind.PROOFED,
                shoot.now(),
                station=station,
                person_id=person_id,
                frames=list(frames),
                page=now[1],
            )
        numbered = tuple(dict.fromkeys([*before.numbered, *frames]))
        return ProofRecord(numbered, name if with_page else before.page, now)
