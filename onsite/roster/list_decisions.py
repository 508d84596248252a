"""Decisions about how a client's list is read, remembered in the shoot for its newer versions."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from typing import Any

from sqlmodel import Session

from onsite.roster.map_options import ColumnMap
from onsite.roster.person_names import fold_name
from onsite.store.schema import Meta

_KEY = "list decisions"


@dataclass(frozen=True, slots=True)
class ListDecisions:
    """How to read newer versions of the list.

    `maps` are the columns mapped with `--map`, (field, heading); `capitals` is the choice for names in
    capitals (`onsite.roster.name_capitals`), empty if nobody chose.
    """

    maps: tuple[ColumnMap, ...] = ()
    capitals: str = ""


def read_list_decisions(session: Session) -> ListDecisions:
    """The decisions remembered in this shoot."""
    meta = session.get(Meta, _KEY)
    if meta is None:
        return ListDecisions()
    values: dict[str, Any] = json.loads(meta.value)
    return ListDecisions(tuple((name, heading) for name, heading in values["maps"]), values["capitals"])


def save_list_decisions(session: Session, decisions: ListDecisions) -> None:
    """Remembers the decisions; earlier maps of columns that this list does not have are kept."""
    before = read_list_decisions(session)
    headings = {fold_name(heading) for _, heading in decisions.maps}
    single = {name for name, _ in decisions.maps if name not in ("consent", "no-consent", "other")}
    beside = [
        column_map
        for column_map in before.maps
        if fold_name(column_map[1]) not in headings and column_map[0] not in single
    ]
    kept = ListDecisions((*decisions.maps, *beside), decisions.capitals)
    if kept != before:
        session.merge(Meta(key=_KEY, value=json.dumps(asdict(kept), ensure_ascii=False)))
