from __future__ import annotations

from pathlib import Path

import pytest

from onsite.store.shoot import Shoot
from tests.retouch.prints import pick, shoot_day


@pytest.fixture
def picked(shoot: Shoot, tmp_path: Path) -> Shoot:
    """A shoot of three people with two frames each, of whom each picked the first."""
    theirs = shoot_day(shoot, tmp_path / "card")
    for person, frames in theirs.items():
        pick(shoot, person, frames[:1], {frames[0]: "=stray hair"})
    return shoot
