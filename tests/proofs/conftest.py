from __future__ import annotations

from pathlib import Path

import pytest
from studio import photographed

from onsite.store.shoot import Shoot

NAMES = {
    "S-1": ["IMG_0001.JPG", "IMG_0002.JPG", "IMG_0003.JPG", "IMG_0004.JPG"],
    "S-2": ["IMG_0011.JPG", "IMG_0012.JPG"],
    "S-3": ["IMG_0021.JPG", "IMG_0022.JPG"],
    "S-4": ["IMG_0031.JPG"],
}


@pytest.fixture
def studio(shoot: Shoot, tmp_path: Path) -> Shoot:
    """Four of five people photographed, and two pictures agreed for each."""
    photographed(shoot, tmp_path, NAMES)
    return agreed(shoot, 2)


def agreed(shoot: Shoot, picks: int) -> Shoot:
    """The same shoot with so many pictures agreed for each person."""
    from dataclasses import replace

    terms = replace(shoot.settings.agreed, picks=picks)
    return replace(shoot, settings=replace(shoot.settings, agreed=terms))
