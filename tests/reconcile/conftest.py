from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot
from tests.matching.days import SHOOT


@pytest.fixture
def timezone() -> str:
    return "Europe/Vienna"


@pytest.fixture
def shoot(tmp_path: Path, timezone: str) -> Iterator[Shoot]:
    """A shoot whose mark is in the codes of the days made up for tests."""
    made = create_shoot(tmp_path / "shoot", Settings(name="Festival", timezone=timezone), SHOOT)
    yield made
    made.engine.dispose()
