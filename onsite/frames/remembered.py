"""Which folder a station watches, kept in the shoot so that it goes on after the screens were closed."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass

from onsite.store.shoot import Shoot
from onsite.store.tables import Meta


@dataclass(frozen=True, slots=True)
class WatchedFolder:
    """`label` is the camera's, or empty. `on` is False once somebody stopped it."""

    folder: str
    label: str = ""
    on: bool = True


def read_watched_folder(shoot: Shoot, station: str) -> WatchedFolder | None:
    """The folder that was watched last at a station."""
    with shoot.reading() as session:
        meta = session.get(Meta, _key(station))
    return WatchedFolder(**json.loads(meta.value)) if meta is not None else None


def save_watched_folder(shoot: Shoot, station: str, watched: WatchedFolder) -> None:
    """Keeps it for the next time. Raises Problem where the store cannot be written."""
    with shoot.writing() as session:
        meta = session.get(Meta, _key(station)) or Meta(key=_key(station), value="")
        meta.value = json.dumps(asdict(watched), ensure_ascii=False)
        session.add(meta)


def _key(station: str) -> str:
    return f"watched {station}"
