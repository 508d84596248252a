"""Languages as people write them."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from onsite.core.errors import Problem
from onsite.messages.languages import Languages, language_of
from onsite.store.settings import Agreement, Settings

WRITTEN = {
    "de": "de DE ger deu German Deutsch allemand Alemán aleman tedesco de_CH-1996 deutsch/englisch",
    "de-AT": "de-AT de_AT DE-at",
    "en": "en eng English Englisch anglais Inglés inglese",
    "fr": "fr fra fre French Französisch Français francais francés francese",
    "es": "es spa Spanish Spanisch espagnol Español espanol spagnolo castellano",
    "it": "it ita Italian Italienisch italien italiano",
    "pl": "pl Polish polnisch polonais polaco polacco",
}
"""Codes: ISO 639-1, 639-2/T and 639-2/B. Names: from memory."""


@pytest.mark.parametrize(
    ("tag", "text"), [(tag, text) for tag, all_ in WRITTEN.items() for text in all_.split()]
)
def test_a_language_is_understood_however_it_is_written(tag: str, text: str) -> None:
    found = language_of(text)
    assert (found if tag in ("de-AT",) else found.partition("-")[0]) == tag
    assert language_of(f" {text} ") == found


@pytest.mark.parametrize("text", ["", "?", "-", "n/a", "both", "yes", "Klasse 3", "xx", "12", "=1+1"])
def test_what_is_no_language_means_none(text: str) -> None:
    assert language_of(text) == ""


@example("CI")  # Twi in Italian, of which the tag is Akan's by now
@given(st.text(max_size=30))
def test_any_text_is_a_language_or_none(text: str) -> None:
    found = language_of(text)
    assert found == "" or language_of(found) == found


def test_brackets_and_the_first_of_several() -> None:
    assert language_of("German (Austria)") == "de"
    assert language_of("Français; English") == "fr"


def settings(**agreed: str) -> Settings:
    return Settings("Festival", agreed=Agreement(**agreed), languages={"Altos": "Deutsch", "Basses": "it"})


def test_their_own_then_their_groups_then_the_shoots_then_english() -> None:
    languages = Languages.of_shoot(settings(language="fr-CH"))
    assert languages.language_for("es", "Altos") == "es"
    assert languages.language_for("", "altos ") == "de"
    assert languages.language_for("pl", "Altos") == "de"
    assert languages.language_for("mumbled", "Tenors") == "fr-CH"
    assert Languages.of_shoot(Settings("Festival")).language_for("", "") == "en"


@pytest.mark.parametrize("text", ["Klingonisch?", "pl"])
def test_a_language_for_all_that_has_no_texts_is_refused(text: str) -> None:
    with pytest.raises(Problem, match=r"shoot\.toml: language"):
        Languages.of_shoot(settings(language=text))
