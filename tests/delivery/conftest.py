"""A shoot after the wrap: a few people with frames under their names, and picks."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.delivery.choices import Choir, made_choir


@pytest.fixture
def choir(tmp_path: Path) -> Iterator[Choir]:
    made = made_choir(tmp_path / "choir")
    yield made
    made.shoot.engine.dispose()
