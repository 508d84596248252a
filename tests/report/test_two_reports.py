"""The client's report tells nothing that is the photographer's alone; the books do; both count alike."""

from __future__ import annotations

import csv
import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from onsite.messages.languages import CATALOGUES
from onsite.report.write_report import write_report
from onsite.status.person_status import Stage, cumulative_counts
from onsite.status.read_status import read_person_statuses
from onsite.store.events import EventKind, add_event
from onsite.store.schema import Person
from onsite.store.settings import Agreement
from onsite.store.shoot import Shoot
from tests.tiers import long_after

RETOUCHER, NOTE, TO_RETOUCHER, STATION = "Retusza Wolska", "allergic to lilies", "hide the scar", "door-77"
SECRETS = (RETOUCHER, NOTE, TO_RETOUCHER, STATION, "43.21", "12.34", "56.78", "Secret batch")


@pytest.fixture
def told(after: Shoot) -> Shoot:
    """The festival with a batch that says whose and how dear, notes, and a station of its own."""
    with after.writing() as session:
        now = after.now()
        add_event(
            session,
            EventKind.BATCH,
            now,
            station=STATION,
            batch="Secret batch",
            hand=RETOUCHER,
            due="2026-06-30",
            price="43.21",
            currency="EUR",
        )
        add_event(
            session,
            EventKind.PICKED,
            now,
            station=STATION,
            person_id=3,
            frames=[6],
            notes={"6": TO_RETOUCHER},
            note=TO_RETOUCHER,
        )
        add_event(
            session,
            EventKind.SENT,
            now,
            station=STATION,
            person_id=3,
            frame_id=6,
            batch="Secret batch",
            file="c",
            version=1,
        )
        session.get_one(Person, 3).note = NOTE
    terms = Agreement(price="12.34", studio="Studio Møll", reply_to="pics@example.net")
    return replace(after, settings=replace(after.settings, agreed=terms))


def made(shoot: Shoot, ending: str, books: bool = False) -> str:
    path = shoot.folder.parent / f"{'books' if books else 'client'}{ending}"
    write_report(shoot, path, lambda *_: None, books)
    return path.read_text(encoding="utf-8")


@pytest.mark.parametrize("language", long_after(1, CATALOGUES))
@pytest.mark.parametrize("ending", [".html", ".csv", ".json"])
def test_nothing_of_the_photographers_is_in_the_clients(told: Shoot, ending: str, language: str) -> None:
    terms = replace(told.settings.agreed, language=language)
    text = made(replace(told, settings=replace(told.settings, agreed=terms)), ending)
    assert [secret for secret in SECRETS if secret in text] == []
    assert not re.search(r"(?i)\b(price|cost|hand|retoucher|station)s?\b", text)


@pytest.mark.parametrize("ending", [".html", ".csv", ".json"])
def test_the_books_tell_who_retouches(told: Shoot, ending: str) -> None:
    text = made(told, ending, books=True)
    assert RETOUCHER in text
    assert ("43.21" in text) == (ending != ".csv")  # a price is that of a batch, not of a person
    assert [secret for secret in (NOTE, TO_RETOUCHER, STATION) if secret in text] == []


@pytest.mark.long
def test_each_says_in_its_title_which_it_is(told: Shoot) -> None:
    assert "<title>Report for the client: Festival</title>" in made(told, ".html")
    assert "<title>Books: Festival</title>" in made(told, ".html", books=True)
    assert json.loads(made(told, ".json"))["report"] == "client"
    assert json.loads(made(told, ".json", books=True))["report"] == "books"
    headings = [next(csv.reader(made(told, ".csv", books).splitlines())) for books in (False, True)]
    assert headings[1] == [*headings[0], "batches", "retouchers"]


@pytest.mark.long
def test_the_same_word_has_the_same_number_everywhere(told: Shoot) -> None:
    counts = cumulative_counts(read_person_statuses(told))
    assert counts[Stage.PHOTOGRAPHED] == 5
    for books in (False, True):
        data = json.loads(made(told, ".json", books))
        assert data["stages"] == {stage.value: count for stage, count in counts.items()}
        assert data["photographed"] == counts[Stage.PHOTOGRAPHED]
        html = made(told, ".html", books)
        found = re.findall(r"<b>(\d+)</b> photographed|>photographed</th><td class=\"n\">(\d+)<", html)
        assert [a or b for a, b in found] == ["5", "5"]
        groups = re.findall(r"(\d+) of \d+</td><td class=\"drawn\"><svg class=\"bar\"[^>]*photographed", html)
        assert sum(map(int, groups)) == 5


@pytest.mark.long
def test_a_report_is_known_again_in_any_language(told: Shoot) -> None:
    for language in CATALOGUES:
        terms = replace(told.settings.agreed, language=language)
        assert made(replace(told, settings=replace(told.settings, agreed=terms)), ".html")


def test_a_report_of_an_earlier_version_is_written_over(told: Shoot) -> None:
    Path(told.folder.parent / "client.html").write_text(
        "<!DOCTYPE html>\n<title>Report: Festival</title>", encoding="utf-8"
    )
    assert "Studio Møll" in made(told, ".html")
