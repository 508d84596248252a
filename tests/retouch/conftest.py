from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot
from tests.made_once import copied, made_once
from tests.retouch.prints import pick, shoot_day


@pytest.fixture(scope="session")
def picked_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shoot of three people with two frames each, of whom each picked the first."""

    def make(folder: Path) -> None:
        shoot = create_shoot(folder / "shoot", Settings(name="Festival", timezone="Europe/Vienna"), "AAAA")
        for person, frames in shoot_day(shoot, folder / "card").items():
            pick(shoot, person, frames[:1], {frames[0]: "=stray hair"})
        shoot.engine.dispose()

    return made_once(tmp_path_factory, "picked", make)


@pytest.fixture
def picked(picked_once: Path, tmp_path: Path) -> Iterator[Shoot]:
    """A copy of it."""
    shoot = copied(picked_once, tmp_path, "shoot")
    yield shoot
    shoot.engine.dispose()
