"""Names that go out, and what comes back in their place."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.files.file_name_pattern import file_stem, parse_pattern
from onsite.retouch.batch_contents import file_name_out, names_matching
from onsite.roster.find_people import RosterPerson
from onsite.store.settings import Settings

PATTERN = "{family}_{given}_{group}_{sequence:04}"


def someone(family: str = "Lindqvarn", given: str = "Åsa", group: str = "Harbour Choir") -> RosterPerson:
    return RosterPerson(1, "C-1", "AAAA", 12, f"{given} {family}", given, family, group)


def out(person: RosterPerson, frame: int, pattern: str = PATTERN) -> str:
    settings = Settings("Concert")
    agreed = file_stem(
        parse_pattern(pattern), person, settings, frame=frame, pick=1, original="", ascii_only=True
    )
    return file_name_out(person, frame, agreed.text)


def test_in_house_a_name_is_as_the_pattern_has_it() -> None:
    assert out(someone(), 45) == "Lindqvarn_Asa_Harbour-Choir_0012_f45"


def test_for_other_hands_it_says_nothing_about_anybody() -> None:
    assert file_name_out(someone(), 45) == "0012_f45"


@given(st.text(), st.text(), st.text(), st.integers(1, 10**6))
def test_any_name_becomes_a_file_name_everywhere(family: str, given_: str, group: str, frame: int) -> None:
    name = out(someone(family, given_, group), frame)
    assert re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]*", name)
    assert len(name) < 100
    assert name.endswith(f"f{frame}")


@pytest.mark.parametrize("family", ["../../etc", "a/b\\c", "CON", "\u202eevil", "🎻", "مينا", "x\0y\n"])
def test_hostile_names(family: str) -> None:
    name = out(someone(family, "", ""), 7, "{family}")
    assert re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]*", name)
    assert ".." not in name
    assert names_matching(name, [name]) == (name,)


SENT = ["Lindqvarn_Asa_0012_f45", "Lindqvarn_Asa_0012_f4", "Keller_Maria_0013_f450", "0014_f46"]


@pytest.mark.parametrize(
    "back",
    [
        "Lindqvarn_Asa_0012_f45",
        "Lindqvarn_Asa_0012_f45-retouched",
        "lindqvarn_asa_0012_f45_v2",
        "LINDQVARN ASA 0012 F45 (1)",
        "Copy of Lindqvarn_Asa_0012_f45",
        "Lindqvarn_Asa_0012_f45 copy 2",
        "Lindqvarn-Asa-0012-f45.jpg",
        "lindqvarnasa0012f45_final_FINAL",
        "f45_edit",
    ],
)
def test_a_returned_name_is_found_with_additions(back: str) -> None:
    assert names_matching(back, SENT) == ("Lindqvarn_Asa_0012_f45",)


@pytest.mark.parametrize("back", ["holiday", "f4500", "0012", "Lindqvarn_Asa", "IMG_0045", ""])
def test_a_name_that_did_not_go_out_is_none(back: str) -> None:
    assert names_matching(back, SENT) == ()


def test_a_name_that_holds_two_is_both() -> None:
    assert set(names_matching("f45 and f46", SENT)) == {"Lindqvarn_Asa_0012_f45", "0014_f46"}


frames = st.lists(st.integers(1, 99_999), min_size=1, max_size=20, unique=True)
additions = st.sampled_from(["", "-retouched", "_v2", " (1)", " copy", "-final-2", "_RGB_16bit", " 300dpi"])


@pytest.mark.long
@given(frames, st.data(), additions, st.sampled_from([str, str.lower, str.upper]))
def test_no_name_is_taken_for_another(
    frames: list[int], data: st.DataObject, more: str, case: object
) -> None:
    way = st.sampled_from([file_name_out, out])
    sent = [data.draw(way)(someone(), frame) for frame in frames]
    name = data.draw(st.sampled_from(sent))
    assert names_matching(case(name + more), sent) == (name,)
