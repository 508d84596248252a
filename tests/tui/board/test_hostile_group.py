"""Names that hold escape codes, on the screens."""

from __future__ import annotations

import unicodedata
from pathlib import Path

import pytest

from onsite.roster.load_roster import load_list
from onsite.store.shoot import Shoot
from tests.tui.driving import opened, screen_text

ROSTER = "key,name,group\nS-1,Eve\x1b[31m Red,Alto\x1b]0;title\x07\nS-2,Ana,Alto\x1b]0;title\x07\n"


@pytest.mark.long
async def test_no_screen_sends_what_a_terminal_would_obey(shoot: Shoot, tmp_path: Path) -> None:
    (tmp_path / "list.csv").write_text(ROSTER, encoding="utf-8")
    load_list(shoot, tmp_path / "list.csv")
    for mode in ("door", "set", "board", "desk", "reconcile"):
        async with opened(shoot, mode) as pilot:
            for keys in ((), ("right",), ("down",), ("enter",)):
                await pilot.press(*keys)
                text = screen_text(pilot)
                sent = [char for char in text if char != "\n" and unicodedata.category(char) == "Cc"]
                assert sent == [], f"{mode}, {keys}"
