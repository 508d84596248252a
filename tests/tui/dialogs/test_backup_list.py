"""Going back to a backup: what each holds is shown, and only a yes closes the screens for it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from onsite.checkin.check_in import check_in
from onsite.store.backups import FOLDER, make_backup
from onsite.store.shoot import Shoot
from onsite.tui.app import OnsiteApp
from onsite.tui.dialogs.backup_list import BackupListScreen
from onsite.tui.dialogs.question_dialogs import ChoiceScreen
from tests.tui.driving import opened, screen_text, until

DAY = "2026-06-13"


@pytest.mark.long
async def test_the_backups_are_listed_with_what_they_hold_and_a_yes_goes_back(choirs: Shoot) -> None:
    into, now = choirs.folder / FOLDER, datetime(2026, 6, 13, 9, tzinfo=UTC)
    make_backup(choirs.folder, into, now)
    check_in(choirs, "2")
    newest = make_backup(choirs.folder, into, now + timedelta(minutes=10))
    async with opened(choirs) as pilot:
        app = pilot.app
        assert isinstance(app, OnsiteApp)
        app.action_go_back()
        await until(pilot, lambda: isinstance(app.screen, BackupListScreen))
        await until(pilot, lambda: screen_text(pilot).count(DAY) == 2)
        first, second = [line.split()[2:] for line in screen_text(pilot).splitlines() if DAY in line]
        assert (first, second) == (["6", "1", "0"], ["6", "0", "0"])
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, ChoiceScreen))
        await pilot.press("enter", "escape")
        await until(pilot, lambda: isinstance(app.screen, BackupListScreen))
        assert app.going_back is None
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, ChoiceScreen))
        await pilot.press("y")
        await until(pilot, lambda: app.going_back is not None)
    assert app.going_back == newest
