"""A shoot after reconciling: a few people with frames under their names, and picks."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.delivery.choices import Choir, made_choir
from tests.made_once import copied, made_once


@pytest.fixture(scope="session")
def choir_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    def make(folder: Path) -> None:
        made_choir(folder / "choir").shoot.engine.dispose()

    return made_once(tmp_path_factory, "delivered choir", make)


@pytest.fixture
def choir(choir_once: Path, tmp_path: Path) -> Iterator[Choir]:
    """A copy of it."""
    shoot = copied(choir_once, tmp_path, "choir")
    yield Choir(shoot)
    shoot.engine.dispose()
