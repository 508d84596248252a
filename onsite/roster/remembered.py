"""What somebody decided about a client's list, kept in the shoot for its newer versions."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from typing import Any

from sqlmodel import Session

from onsite.roster.maps import Map
from onsite.roster.names import fold
from onsite.store.tables import Meta

_KEY = "list decisions"


@dataclass(frozen=True, slots=True)
class Decisions:
    """`maps` are the columns mapped by hand, (field, heading); `capitals` what is done with names in capitals
    (`onsite.roster.capitals`), empty where nobody said."""

    maps: tuple[Map, ...] = ()
    capitals: str = ""


def remembered_decisions(session: Session) -> Decisions:
    """What was decided when lists were loaded into this shoot."""
    meta = session.get(Meta, _KEY)
    if meta is None:
        return Decisions()
    values: dict[str, Any] = json.loads(meta.value)
    return Decisions(tuple((name, heading) for name, heading in values["maps"]), values["capitals"])


def remember_decisions(session: Session, decisions: Decisions) -> None:
    """Keeps them; maps of columns that this list does not have are kept beside."""
    before = remembered_decisions(session)
    headings = {fold(heading) for _, heading in decisions.maps}
    single = {name for name, _ in decisions.maps if name not in ("consent", "no-consent", "other")}
    beside = [one for one in before.maps if fold(one[1]) not in headings and one[0] not in single]
    kept = Decisions((*decisions.maps, *beside), decisions.capitals)
    if kept != before:
        session.merge(Meta(key=_KEY, value=json.dumps(asdict(kept), ensure_ascii=False)))
