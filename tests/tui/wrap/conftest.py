"""A day of the festival, drawn once, and a copy of it for each test."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from onsite.demo.run import run_demo
from onsite.store.shoot import Shoot, open_shoot


@pytest.fixture(scope="session")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a shoot of twelve people, with its frames; much on that day is loose."""
    folder = tmp_path_factory.mktemp("festival") / "shoot"
    played = run_demo(folder, 12, 1, lambda *_: None, lambda *_: None)
    played.shoot.engine.dispose()
    return folder


@pytest.fixture
def day(drawn: Path, tmp_path: Path) -> Iterator[Shoot]:
    folder = tmp_path / "day"
    shutil.copytree(drawn, folder, ignore=shutil.ignore_patterns("cards"))
    shoot = open_shoot(folder)
    yield shoot
    shoot.engine.dispose()
