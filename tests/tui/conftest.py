"""A festival's shoot for the screens, and a way to drive them."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from pytest_textual_snapshot import SVGImageExtension
from syrupy.extensions.single_file import SingleFileSnapshotExtension

from onsite.checkin.deck_cards import make_deck
from onsite.core import codes
from onsite.roster.load_roster import load_list
from onsite.simulator.simulated_demo import run_demo
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot
from onsite.tui import themes
from tests.made_once import made_once

NOW = datetime(2026, 6, 13, 7, 42, tzinfo=UTC)
"""When somebody looks at the invented day: a quarter to ten in the morning."""

ROSTER = """\
key;given;family;group;role;slot;consent;note
1;Ana;Horvat;Alto 1;;09:00;yes;
2;Bo;Lind;Tenors;;09:00;yes;
3;Zoë;Ó Súilleabháin;Alto 1;soloist;09:10;no;not in print
4;Jürgen;Weiß;Brass;;09:10;yes;
5;Ana;Horvath;Alto 2;;09:20;yes;
6;Mia;[b]Kern[/b];Alto 2;;09:20;;
"""


class PlainFileNames(SingleFileSnapshotExtension):
    """Names a picture's file by its test and parameters, without brackets or blanks."""

    @classmethod
    def get_snapshot_name(cls, **where: Any) -> str:
        return re.sub(r"[^A-Za-z0-9]+", "-", super().get_snapshot_name(**where)).strip("-")


SVGImageExtension.__bases__ = (PlainFileNames,)


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The themes and the choice of whoever runs the tests are left alone."""
    monkeypatch.setattr(themes, "user_folder", lambda: tmp_path / "themes")


@pytest.fixture
def choirs(tmp_path: Path) -> Iterator[Shoot]:
    """Six people on the list, a deck of five cards, nobody there yet."""
    shoot = create_shoot(
        tmp_path / "festival",
        Settings(name="Festival of choirs", timezone="Europe/Vienna", ends="17:00"),
        "AAAA",
    )
    listed = shoot.folder / "list.csv"
    listed.write_text(ROSTER, encoding="utf-8")
    load_list(shoot, listed)
    make_deck(shoot, 5)
    yield shoot
    shoot.engine.dispose()


@pytest.fixture(scope="session")
def played(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shoot in which the invented day of sixteen people was played, with the same codes at each run. Many
    frames are loose. Copy it to change it."""

    def make(folder: Path) -> None:
        draw = random.Random("snapshots")
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(codes.secrets, "SystemRandom", lambda: draw)
            patch.setattr(Shoot, "now", lambda shoot: NOW.astimezone(shoot.zone))
            done = run_demo(folder / "shoot", 16, 5, lambda *_: None, lambda *_: None)
        done.shoot.engine.dispose()

    return made_once(tmp_path_factory, "played day", make) / "shoot"
