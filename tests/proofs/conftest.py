from __future__ import annotations

from pathlib import Path

import pytest

from onsite.store.shoot import Shoot
from tests.proofs.studio import NAMES, agreed, photographed


@pytest.fixture
def studio(shoot: Shoot, tmp_path: Path) -> Shoot:
    """Four of five people photographed, and two pictures agreed for each."""
    photographed(shoot, tmp_path, NAMES)
    return agreed(shoot, 2)
