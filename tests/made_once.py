"""Folders that take long to make, made once for all processes that run the tests."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from filelock import FileLock
from sqlmodel import select

from onsite.store.schema import FilePlace
from onsite.store.shoot import Shoot, open_shoot


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], None]) -> Path:
    """The folder that `make` fills; whoever asks first makes it, the others wait. Nobody may change it."""
    base = factory.getbasetemp()
    shared = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    with FileLock(shared / f"{name}.lock"):
        folder, complete = shared / name, shared / f"{name}.complete"
        if not complete.exists():
            folder.mkdir()
            make(folder)
            complete.touch()
    return folder


def copied(made: Path, to: Path, shoot: str) -> Shoot:
    """A copy in `to` of a folder that holds a shoot and the memory cards it was read from."""
    shutil.copytree(made, to, dirs_exist_ok=True)
    opened = open_shoot(to / shoot)
    with opened.writing() as session:
        for place in session.exec(select(FilePlace)):
            place.path = str(to / Path(place.path).relative_to(made))
    return opened
