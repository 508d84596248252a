"""No sequence of lists, mappings and corrections makes a yes of a no, or of what nobody answered."""

from __future__ import annotations

import csv
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from sqlmodel import select

from onsite.checkin.walk_ins_and_corrections import correct_person
from onsite.core.errors import Problem
from onsite.roster.consent_answers import ConsentSense, consent_answer
from onsite.roster.load_roster import load_list
from onsite.roster.parse_consent import Consent, parse_consent
from onsite.store.schema import Person
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot

PEOPLE = ("K-1", "K-2", "K-3")
COLUMNS = {
    "Consent": ConsentSense.AGREES,
    "Publish (yes/no)": ConsentSense.AGREES,
    "Do not publish": ConsentSense.FORBIDS,
    "Keine Fotos": ConsentSense.FORBIDS,
    "Consent refused": ConsentSense.FORBIDS,
    "Sin fotos": ConsentSense.FORBIDS,
    "Blocked": ConsentSense.FORBIDS,
}
"""What a yes under each heading means; a speaker of the language knows, the program may not."""

KNOWN = {"Consent", "Publish (yes/no)", "Do not publish", "Keine Fotos"}
"""Headings known word for word: such a column is another one only as long as nobody has an answer in it."""

_texts = st.sampled_from(
    ["", "", "yes", "no", "ja", "nein", "x", "?", "yes, not online", "no problem", "refused"]
)
_fields = st.sampled_from([None, None, "consent", "no-consent", "other", "note"])


@st.composite
def a_list(draw: st.DrawFn) -> tuple[dict[str, tuple[str, ...]], list[tuple[str, str]]]:
    """The columns of a list, each with a text for each person, and what is mapped by hand."""
    headings = draw(st.lists(st.sampled_from(sorted(COLUMNS)), min_size=1, max_size=2, unique=True))
    columns = {heading: tuple(draw(_texts) for _ in PEOPLE) for heading in headings}
    maps = [(field, heading) for heading in headings if (field := draw(_fields))]
    return columns, maps


_corrections = st.tuples(st.sampled_from(PEOPLE), st.sampled_from(["yes", "no"]))


@pytest.mark.long
@example(
    steps=[
        ({"Consent": ("", "", "")}, [("other", "Consent")]),
        ({"Consent": ("", "", "yes")}, []),
    ]
)
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.one_of(a_list(), a_list(), a_list(), _corrections), min_size=1, max_size=5))
def test_nobody_gets_a_yes_that_they_did_not_give(steps: list[tuple[object, object]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        shoot = create_shoot(Path(folder) / "day", Settings(name="Day", timezone="Europe/Vienna"), "AAAA")
        try:
            _play(shoot, Path(folder) / "list.csv", steps)
        finally:
            shoot.engine.dispose()


def _play(shoot: Shoot, path: Path, steps: list[tuple[object, object]]) -> None:
    said: dict[str, Consent] = {}
    corrected: set[str] = set()
    said_to_be_another: set[str] = set()
    for first, second in steps:
        if isinstance(first, dict) and isinstance(second, list):
            said_to_be_another -= {heading for _, heading in second}
            said_to_be_another |= {h for field, h in second if field in ("other", "note") and h not in KNOWN}
            before = _stored(shoot)
            try:
                _load(shoot, path, first, second)
            except Problem:
                assert _stored(shoot) == before
                continue
            for person in set(PEOPLE) - corrected:
                if clear := _said(person, first, said_to_be_another):
                    said[person] = clear
        else:
            key, text = str(first), str(second)
            with shoot.reading() as session:
                ids = {one.key: one.id for one in session.exec(select(Person))}
            if key in ids:
                correct_person(shoot, ids[key] or 0, {"consent": text}, "door-1")
                said[key] = parse_consent(text)
                corrected.add(key)
        for key, text in _stored(shoot).items():
            if parse_consent(text) is Consent.YES:
                assert said.get(key) is Consent.YES, (key, text)


def _said(person: str, columns: dict[str, tuple[str, ...]], others: set[str]) -> Consent | None:
    """The strictest clear answer of a person in a list."""
    place = PEOPLE.index(person)
    answers = {
        consent_answer(COLUMNS[heading], texts[place])
        for heading, texts in columns.items()
        if heading not in others
    }
    return next((answer for answer in (Consent.NO, Consent.YES) if answer in answers), None)


def _load(shoot: Shoot, path: Path, columns: dict[str, tuple[str, ...]], maps: list[tuple[str, str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(["key", "name", *columns])
        for place, key in enumerate(PEOPLE):
            writer.writerow([key, f"Person {'ABC'[place]}", *(texts[place] for texts in columns.values())])
    load_list(shoot, path, maps=maps)


def _stored(shoot: Shoot) -> dict[str, str]:
    with shoot.reading() as session:
        return {one.key: one.consent for one in session.exec(select(Person))}
