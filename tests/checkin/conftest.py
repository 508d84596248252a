"""A festival of choirs: a shoot with a few invented people on its list."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from onsite.roster.load_roster import load_list
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot

ROSTER = """key,given,family,group
S-1,Mira,Okafor,Soprano
S-2,Tomas,Brandl,Bass
S-3,Anna,Lindqvist,Alto
S-4,Anna,Lindqvist,Tenor
S-5,Zoë,Ágoston,Alto
"""


@pytest.fixture
def shoot(tmp_path: Path) -> Iterator[Shoot]:
    settings = Settings(name="Choirs", timezone="Europe/Vienna", date="2026-06-13")
    opened = create_shoot(tmp_path / "festival", settings, "AAAA")
    roster = tmp_path / "roster.csv"
    roster.write_text(ROSTER, encoding="utf-8")
    load_list(opened, roster)
    yield opened
    opened.engine.dispose()
