"""A copy of the invented day for each test."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from onsite.store.shoot import Shoot, open_shoot


@pytest.fixture
def day(played: Path, tmp_path: Path) -> Iterator[Shoot]:
    folder = tmp_path / "day"
    shutil.copytree(played, folder, ignore=shutil.ignore_patterns("cards"))
    shoot = open_shoot(folder)
    yield shoot
    shoot.engine.dispose()
