"""Absent is who never came, once the shoot is over."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from onsite.checkin.check_in import check_in_person
from onsite.status.person_status import is_absent, is_over, shoot_is_over, stage_word
from onsite.status.read_status import read_person_statuses
from onsite.store.shoot import Shoot

VIENNA = ZoneInfo("Europe/Vienna")
SATURDAY = date(2026, 6, 13)
NIGHT = datetime(2026, 6, 13, 23, 59, tzinfo=VIENNA)


@pytest.mark.parametrize(
    ("day", "arrivals", "now", "over"),
    [
        (SATURDAY, [], NIGHT, False),
        (SATURDAY, [], NIGHT + timedelta(minutes=1), True),
        (SATURDAY, [NIGHT + timedelta(hours=10)], NIGHT + timedelta(hours=12), False),  # a second day
        (None, [], NIGHT, False),
        (None, [NIGHT], NIGHT + timedelta(hours=1), True),
    ],
)
def test_a_shoot_is_over_when_its_last_day_is(
    day: date | None, arrivals: list[datetime], now: datetime, over: bool
) -> None:
    assert shoot_is_over(day, arrivals, now) is over


def test_who_never_came_is_absent_and_still_expected(choirs: Shoot, monkeypatch: pytest.MonkeyPatch) -> None:
    check_in_person(choirs, 1, at=datetime(2026, 6, 13, 9, tzinfo=VIENNA))
    monkeypatch.setattr(Shoot, "now", lambda _: NIGHT)
    everybody = read_person_statuses(choirs)
    assert [stage_word(s, is_over(choirs, everybody)) for s in everybody] == ["here", *["expected"] * 3]
    monkeypatch.setattr(Shoot, "now", lambda _: NIGHT + timedelta(days=1))
    assert [stage_word(s, is_over(choirs, everybody)) for s in everybody] == ["here", *["absent"] * 3]


def test_the_withdrawn_are_not_absent(choirs: Shoot) -> None:
    somebody = read_person_statuses(choirs)[0]
    gone = replace(somebody, person=replace(somebody.person, withdrawn=True))
    assert not is_absent(gone, True)
    assert stage_word(gone, True) == "withdrawn"
