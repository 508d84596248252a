from __future__ import annotations

import csv
import unicodedata
from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from onsite.files.program_resources import shipped_folder
from onsite.simulator.invented_people import invent_people, shipped_guests


def test_the_shipped_list_comes_first_as_it_is_written():
    shipped_names = [guest.name for guest in shipped_guests()]
    assert len(shipped_names) == 40
    assert [guest.name for guest in invent_people(60, seed=3)][:40] == shipped_names
    assert "Joris van den Eikhof" in shipped_names
    assert "Suryawati" in shipped_names


def test_the_shipped_list_holds_the_names_that_are_hard():
    guests = shipped_guests()
    twice = [name for name, times in Counter(guest.name for guest in guests).items() if times == 2]
    assert twice == ["Maria Keller"]
    assert len({guest.group for guest in guests if guest.name == "Maria Keller"}) == 2
    scripts = {unicodedata.name(guest.name[0]).split()[0] for guest in guests}
    assert {"LATIN", "GREEK", "CYRILLIC", "ARABIC", "HEBREW", "CJK"} <= scripts
    assert [guest.given for guest in guests if not guest.given] == [""]


def test_addresses_are_at_a_domain_that_nobody_can_own():
    """example.org is reserved for documentation (RFC 2606, section 3)."""
    assert all(guest.email.endswith("@example.org") for guest in invent_people(300, seed=1))


def test_the_paper_list_speaks_of_people_on_the_list():
    known = {guest.key for guest in shipped_guests()} | {guest.name for guest in shipped_guests()}
    with (shipped_folder("demo_roster") / "paper-list.csv").open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    assert list(rows[0]) == ["who", "at", "card", "station"]
    assert {row["who"] for row in rows} <= known


@given(number=st.integers(0, 400), more=st.integers(0, 50), seed=st.integers(0, 99))
def test_a_larger_number_begins_with_the_smaller_ones_people(number: int, more: int, seed: int):
    fewer, everybody = invent_people(number, seed), invent_people(number + more, seed)
    assert len(fewer) == number
    assert everybody[:number] == fewer


def test_ten_thousand_people_have_keys_of_their_own_and_no_namesake_in_their_group():
    guests = invent_people(10_000, seed=5)
    assert len({guest.key for guest in guests}) == 10_000
    assert len({(guest.name, guest.group) for guest in guests}) == 10_000
