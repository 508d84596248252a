"""Joining a shoot in a shared store from another machine: its settings travel in the store.

The machine that makes a shoot, or moves it to a server, keeps the settings in the store as the text of its
`shoot.toml`, without the store's address: each machine has its own, with its own password.
"""

from __future__ import annotations

import tomllib
from dataclasses import asdict, replace
from pathlib import Path

from sqlalchemy import Engine, inspect
from sqlmodel import Session

from onsite.core.errors import Problem
from onsite.store.database_engine import engine_for, read_session
from onsite.store.migrations import migrate
from onsite.store.schema import Meta
from onsite.store.settings import (
    SETTINGS_FILE,
    SQLITE_FILE,
    Settings,
    make_private_folder,
    settings_from,
    write_settings,
)

_SETTINGS = "settings"


def keep_settings(session: Session, settings: Settings) -> None:
    """Keeps the settings in the store, for machines that join."""
    import tomli_w

    text = tomli_w.dumps(asdict(replace(settings, store="")))
    session.merge(Meta(key=_SETTINGS, value=text))


def settings_in_store(engine: Engine) -> Settings:
    """The settings kept in a store, without its address. Raises Problem where there is no shoot in it."""
    with read_session(engine) as session:
        if not inspect(session.connection()).has_table("meta"):
            raise Problem("There is no shoot in this store.", "Make one there: onsite new DIR --store URL")
    migrate(engine)
    with read_session(engine) as session:
        kept = session.get(Meta, _SETTINGS)
    if kept is None:
        raise Problem(
            "The store holds a shoot that no other machine can join yet.",
            "Copy shoot.toml from the machine that made it.",
        )
    return settings_from(tomllib.loads(kept.value), "the store")


def join_store(url: str, folder: Path) -> Settings:
    """Makes `folder` this machine's folder of the shoot in the store at `url`. Raises Problem."""
    if (folder / SETTINGS_FILE).exists() or (folder / SQLITE_FILE).exists():
        raise Problem(f"{folder} is a shoot already.", "Choose another folder.")
    engine = engine_for(folder, url)
    try:
        settings = replace(settings_in_store(engine), store=url)
    finally:
        engine.dispose()
    try:
        make_private_folder(folder)
        write_settings(folder, settings)
    except OSError as error:
        raise Problem(
            f"{folder} cannot be made: {error.strerror or error}", "Choose another folder."
        ) from error
    return settings
