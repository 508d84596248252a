"""Names brought up to date only where something happened that may change one."""

from __future__ import annotations

from sqlmodel import col, select

from onsite.progress.told_after import AFTERWARDS
from onsite.store.shoot import Shoot
from onsite.store.tables import Event
from onsite.wrap.current import bring_up_to_date, matched_until


def bring_names_up_to_date(shoot: Shoot) -> None:
    """Matches again where it may matter. What happens after the shoot, such as proofs made or a picture
    delivered, names no frame: a match of 100,000 frames is not made anew for it."""
    with shoot.reading() as session:
        until = matched_until(session)
        since = select(Event.id).where(
            col(Event.id) > until, col(Event.kind).not_in([kind.value for kind in AFTERWARDS])
        )
        settled = until >= 0 and session.exec(since.limit(1)).first() is None
    if not settled:
        bring_up_to_date(shoot)
