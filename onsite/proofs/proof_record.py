"""That proofs were made, in the record: which frames, under which numbers, on which page.

What a page's code means hangs on these numbers, so they are on the disk before the page is.
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
"""128 bits in a page's name."""


@dataclass(frozen=True, slots=True)
class ProofRecord:
    """What the record says of one person's proofs.

    The place of a frame in `numbered` is its number on the person's proofs, from 0: given once and kept,
    whatever is named differently since, so that a code from an older page still says what was chosen. `page`
    is the file name that their page has, or had; `last` the frames and page as made last, None before.
    """

    numbered: tuple[int, ...] = ()
    page: str = ""
    last: tuple[tuple[int, ...], str] | None = None


NO_PROOFS = ProofRecord()


def proof_records(events: Iterable[Event]) -> dict[int, ProofRecord]:
    """By person, from all events of that kind. Undone ones count too: their page may be out already."""
    numbered: dict[int, dict[int, None]] = defaultdict(dict)
    pages: dict[int, str] = {}
    last: dict[int, tuple[tuple[int, ...], str]] = {}
    for event in sorted(events, key=lambda event: event.id):
        if event.kind is EventKind.PROOFED and event.person_id is not None:
            frames, page = tuple(event.details.get("frames", ())), event.details.get("page", "")
            numbered[event.person_id].update(dict.fromkeys(frames))
            pages[event.person_id] = page or pages.get(event.person_id, "")
            last[event.person_id] = (frames, page)
    return {
        person: ProofRecord(tuple(frames), pages[person], last[person]) for person, frames in numbered.items()
    }


def read_proof_records(session: Session, person_id: int | None = None) -> dict[int, ProofRecord]:
    """The same, out of the store; of one person where one is given."""
    return proof_records(read_events(session, [EventKind.PROOFED], person_id=person_id, undone_too=True))


def record_proofs(
    shoot: Shoot, person_id: int, frames: Sequence[int], with_page: bool, station: str
) -> ProofRecord:
    """Notes that these frames are on the person's proofs, unless that is noted already, and returns what the
    record then says. A page's name is drawn at random the first time."""
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
