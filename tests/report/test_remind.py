"""Reminders: written for whoever sends them, and recorded."""

from __future__ import annotations

import csv
import email
import email.policy
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlmodel import select

from onsite.checkin.walk_ins_and_corrections import correct_person
from onsite.core.errors import Problem
from onsite.picks.due_pick_reminders import due_for_picks
from onsite.picks.pick_reminders import ReminderResult, write_reminders
from onsite.roster.roster_groups import in_group
from onsite.status.person_status import PersonStatus
from onsite.status.status_cache import StatusCache
from onsite.store.events import EventKind, read_events
from onsite.store.schema import Person
from onsite.store.shoot import Shoot


def everybody(shoot: Shoot) -> list[PersonStatus]:
    known = StatusCache()
    known.catch_up(shoot)
    return list(known.statuses.values())


def remind(
    shoot: Shoot, group: str | None = None, again: bool = False, by: date | None = None, at: str = ""
) -> ReminderResult:
    chosen = in_group(everybody(shoot), group, lambda s: s.person.group)
    return write_reminders(shoot, due_for_picks(chosen, shoot.now(), again), "desk", by, at)


def keys(people: tuple[PersonStatus, ...]) -> list[str]:
    return [s.person.key for s in people]


def merged(done: ReminderResult) -> list[dict[str, str]]:
    assert done.folder is not None
    with (done.folder / "merge.csv").open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def reminded(shoot: Shoot) -> list[tuple[int | None, str]]:
    with shoot.reading() as session:
        return [
            (event.person_id, event.details["of"]) for event in read_events(session, (EventKind.REMINDED,))
        ]


def test_whose_proofs_are_out_without_picks_are_reminded(after: Shoot) -> None:
    done = remind(after)
    assert keys(done.people) == ["S-3", "S-4", "S-5"]
    assert done.folder is not None
    assert done.folder.relative_to(after.folder) == Path("reminders", "2026-06-20 picks 1")
    assert reminded(after) == [(3, "picks"), (4, "picks"), (5, "picks")]
    assert [row["key"] for row in merged(done)] == ["S-3", "S-4", "S-5"]


def test_a_mail_says_all_that_is_needed(after: Shoot) -> None:
    done = remind(after, "alto", by=date(2026, 6, 24))
    assert done.folder is not None
    (path,) = (done.folder / "mails").iterdir()
    message = email.message_from_bytes(path.read_bytes(), policy=email.policy.default)
    assert (path.name, message["To"]) == ("0001 S-3.eml", "anna@example.org")
    assert message["Subject"] == "Festival: please choose your picture"
    text = message.get_body().get_content()  # type: ignore[union-attr]
    assert "Dear Anna <script>alert(1)</script>," in text
    assert "ready since 14 June 2026" in text
    assert "(we sent you its address), choose one picture" in " ".join(text.split())
    assert "page-3.html" not in text
    assert "by 24 June 2026." in text
    assert merged(done)[0]["text"].split() == text.split()


def test_a_mail_has_the_address_of_the_page_where_it_is_known(after: Shoot) -> None:
    page = "https://proofs.example.org/festival/page-3.html"
    row = merged(remind(after, "alto", at="https://proofs.example.org/festival/"))[0]
    assert page in row["text"]
    assert row["page"] == page
    terms = replace(after.settings.agreed, pages="https://proofs.example.org/festival")
    agreed = replace(after, settings=replace(after.settings, agreed=terms))
    assert page in merged(remind(agreed, "alto", again=True))[0]["text"]


@pytest.mark.parametrize("at", ["pages", "file:///home/pages", "https://a b", "https://x\nBcc: y"])
def test_what_is_no_address_of_pages_is_refused(after: Shoot, at: str) -> None:
    with pytest.raises(Problem, match="no address of a folder"):
        remind(after, at=at)
    assert reminded(after) == []


def test_an_answer_by_a_day_that_is_past_is_refused(after: Shoot) -> None:
    with pytest.raises(Problem, match="past"):
        remind(after, by=date(2026, 6, 19))
    assert reminded(after) == []
    assert remind(after, by=date(2026, 6, 20)).mails == 1


def test_who_has_no_page_is_asked_for_numbers(after: Shoot) -> None:
    (row,) = merged(remind(after, "Bass"))
    assert (row["key"], row["page"]) == ("S-5", "")
    assert "reply to this mail with the number under it" in row["text"]


def test_no_mail_leads_to_a_page_of_somebody_who_refuses_now(after: Shoot) -> None:
    (row,) = [row for row in merged(remind(after, at="https://proofs.example.org")) if row["page"]][:1]
    with after.reading() as session:
        person = session.exec(select(Person).where(Person.key == row["key"])).one().id
    assert person is not None
    correct_person(after, person, {"consent": "no"})
    again = remind(after, again=True, at="https://proofs.example.org")
    (now,) = [one for one in merged(again) if one["key"] == row["key"]]
    assert now["page"] == ""
    assert "https://" not in now["text"]


def test_no_address_and_no_second_heading_out_of_one(after: Shoot) -> None:
    done = remind(after)
    assert keys(done.without_address) == ["S-4", "S-5"]  # a line break in one, none in the other
    assert done.folder is not None
    assert [path.name for path in (done.folder / "mails").iterdir()] == ["0001 S-3.eml"]


@pytest.mark.parametrize("listed", ["a@example.org, b@example.org", "a@example.org;b@example.org"])
def test_both_parents_are_written_to(after: Shoot, listed: str) -> None:
    with after.writing() as session:
        person = session.get_one(Person, 5)
        person.email = listed
    done = remind(after)
    assert keys(done.without_address) == ["S-4"]
    assert done.folder is not None
    message = email.message_from_bytes((done.folder / "mails" / "0003 S-5.eml").read_bytes())
    assert message["To"] == "a@example.org, b@example.org"
    assert merged(done)[2]["email"] == listed


@pytest.mark.parametrize(
    "listed", ["Ana <a@example.org>", "a@example.org, none", "a@example.org\nBcc: x@y.org"]
)
def test_what_is_no_plain_address_is_not_written_to(after: Shoot, listed: str) -> None:
    with after.writing() as session:
        session.get_one(Person, 5).email = listed
    assert "S-5" in keys(remind(after).without_address)


def test_cells_are_no_formulas(after: Shoot) -> None:
    rows = {row["key"]: row for row in merged(remind(after))}
    assert (rows["S-4"]["given"], rows["S-4"]["name"]) == ("'=1+1", "'=1+1 Lindqvist")


def test_nobody_is_reminded_twice_in_a_day_unless_it_is_asked_for(
    after: Shoot, monkeypatch: pytest.MonkeyPatch
) -> None:
    remind(after)
    second = remind(after)
    assert (second.folder, keys(second.people), keys(second.rested)) == (None, [], ["S-3", "S-4", "S-5"])
    third = remind(after, again=True)
    assert third.folder is not None
    assert third.folder.name == "2026-06-20 picks 2"
    tomorrow = after.now() + timedelta(days=1, minutes=1)
    monkeypatch.setattr(Shoot, "now", lambda _: tomorrow)
    assert keys(remind(after).people) == ["S-3", "S-4", "S-5"]


def test_what_cannot_be_written_is_not_recorded(after: Shoot) -> None:
    (after.folder / "reminders").write_text("in the way", encoding="utf-8")
    with pytest.raises(Problem, match="reminders cannot be written"):
        remind(after)
    assert reminded(after) == []


def test_a_folder_left_half_written_is_in_nobodys_way(after: Shoot) -> None:
    left = after.folder / "reminders" / ".2026-06-20 picks.part" / "mails"
    left.mkdir(parents=True)
    (left / "0001 S-9.eml").write_text("half", encoding="utf-8")
    done = remind(after)
    assert done.folder is not None
    assert [path.name for path in (after.folder / "reminders").iterdir()] == [done.folder.name]
    assert [path.name for path in (done.folder / "mails").iterdir()] == ["0001 S-3.eml"]
