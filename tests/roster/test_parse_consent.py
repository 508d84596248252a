"""Consent read off a list: what is not clearly a yes is never a yes. Words: common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.roster.parse_consent import Consent, parse_consent


@pytest.mark.parametrize(
    "text",
    [
        "yes",
        "Y",
        "TRUE",
        "1",
        "Ja",
        "oui",
        "Sí",
        "sì.",
        "sim",
        "tak",
        "ano",
        "Ναι",
        "да",
        "evet",
        "✓",
        " OK ",
    ],
)
def test_a_clear_yes(text: str) -> None:
    assert parse_consent(text) is Consent.YES


@pytest.mark.parametrize(
    "text",
    ["no", "N", "False", "0", "nein", "Non", "não", "nee", "nej", "nie", "Ne", "όχι", "НЕТ", "hayır", "HAYIR",
     "do not publish", "Refused", "verweigert", "keine Veröffentlichung", "✗"],
)  # fmt: skip
def test_a_clear_no(text: str) -> None:
    assert parse_consent(text) is Consent.NO


@pytest.mark.parametrize(
    "text",
    ["yes, but not online", "yes*", "yes?", "(yes)", "ja (nur Druck)", "pending", "x", "see mail",
     "no objection", "2", "form sent", "[bold]yes", "yes\x1b[31m", "ja nein", "yes" * 100],
)  # fmt: skip
def test_a_condition_or_a_note_is_for_a_person_to_read(text: str) -> None:
    assert parse_consent(text) is Consent.UNCLEAR


@pytest.mark.parametrize("text", ["", "  ", "\t\n"])
def test_nothing_written_is_not_known(text: str) -> None:
    assert parse_consent(text) is Consent.UNKNOWN


@pytest.mark.long
@given(st.sampled_from(["yes", "ja", "oui", "sí"]), st.from_regex(r" [a-z]{2,9}", fullmatch=True))
def test_a_yes_with_anything_behind_it_is_no_clear_yes(word: str, more: str) -> None:
    if more != " please":
        assert parse_consent(word + more) is not Consent.YES
