from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from onsite.proofs.build_proofs import build_proofs
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot, open_shoot
from tests.made_once import made_once
from tests.proofs.studio import NAMES, agreed, photographed


@pytest.fixture(scope="session")
def photographed_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shoot in which four of five people are photographed, and beside it their card."""

    def make(folder: Path) -> None:
        shoot = create_shoot(folder / "shoot", Settings(name="Festival", timezone="Europe/Vienna"), "AAAA")
        photographed(shoot, folder, NAMES)
        shoot.engine.dispose()

    return made_once(tmp_path_factory, "photographed", make)


@pytest.fixture(scope="session")
def proofed_once(photographed_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same with proofs in `out`."""

    def make(folder: Path) -> None:
        shutil.copytree(photographed_once / "shoot", folder / "shoot")
        shoot = open_shoot(folder / "shoot")
        build_proofs(agreed(shoot, 2), folder / "out")
        shoot.engine.dispose()

    return made_once(tmp_path_factory, "proofed", make)


@pytest.fixture
def studio(photographed_once: Path, tmp_path: Path) -> Iterator[Shoot]:
    """Four of five people photographed, and two pictures agreed for each."""
    with copy_of(photographed_once, tmp_path) as shoot:
        yield shoot


@pytest.fixture
def proofed(proofed_once: Path, tmp_path: Path) -> Iterator[Shoot]:
    """The same, with proofs made in `out` beside the shoot."""
    shutil.copytree(proofed_once / "out", tmp_path / "out")
    with copy_of(proofed_once, tmp_path) as shoot:
        yield shoot


@contextmanager
def copy_of(made: Path, folder: Path) -> Iterator[Shoot]:
    shutil.copytree(made / "shoot", folder / "shoot")
    shoot = open_shoot(folder / "shoot")
    yield agreed(shoot, 2)
    shoot.engine.dispose()
