"""The catalogues are whole, and each says what only its language says so."""

from __future__ import annotations

import re
from datetime import date
from importlib.resources import files
from pathlib import Path

import pytest
from fluent.syntax import FluentParser, ast
from fluent.syntax.visitor import Visitor

from onsite.messages.languages import CATALOGUES
from onsite.messages.message_catalogue import catalogue

ROOT = Path(__file__).parent.parent.parent


class Parts(Visitor):
    """The variables of a message, and the variables that its variants hang on with their keys."""

    def __init__(self) -> None:
        self.variables: set[str] = set()
        self.chosen_by: dict[str, set[str]] = {}

    def visit_VariableReference(self, node: ast.VariableReference) -> None:  # noqa: N802
        self.variables.add(node.id.name)

    def visit_SelectExpression(self, node: ast.SelectExpression) -> None:  # noqa: N802
        keys = {getattr(v.key, "name", None) or v.key.value for v in node.variants}
        if isinstance(node.selector, ast.VariableReference):
            self.chosen_by[node.selector.id.name] = keys
        self.generic_visit(node)


def messages(language: str) -> dict[str, Parts]:
    text = (files("onsite.messages") / f"{language}.ftl").read_text(encoding="utf-8")
    found: dict[str, Parts] = {}
    for entry in FluentParser().parse(text).body:
        assert not isinstance(entry, ast.Junk), entry.content
        if isinstance(entry, ast.Message):
            assert entry.id.name not in found, f"{entry.id.name} is there twice"
            found[entry.id.name] = Parts()
            found[entry.id.name].visit(entry)
    return found


@pytest.mark.parametrize("language", CATALOGUES)
def test_every_message_is_in_every_language_with_the_same_variables(language: str) -> None:
    english, own = messages("en"), messages(language)
    assert sorted(own) == sorted(english)
    for name, parts in own.items():
        extra = parts.variables - english[name].variables
        assert not extra - {"count"}, f"{language}: {name} has {extra}"  # a word may agree with a number
        assert english[name].variables <= parts.variables, f"{language}: {name} lacks a variable"


@pytest.mark.parametrize("language", CATALOGUES)
def test_every_message_can_be_said_of_none_one_and_many(language: str) -> None:
    words = catalogue(language)
    for name, parts in messages(language).items():
        for number in (0, 1, 2, 1234):
            values: dict[str, str | int] = {
                variable: number
                if variable in parts.chosen_by and "none" not in parts.chosen_by[variable]
                else "«x»"
                for variable in parts.variables
            }
            told = words.text(name, **values)
            assert told
            assert told == told.strip()
            assert "{" not in told
            if values.get("count") == 1234 and "{ $count }" in _source(language, name):
                assert words.number(1234) in told


def _source(language: str, name: str) -> str:
    text = (files("onsite.messages") / f"{language}.ftl").read_text(encoding="utf-8")
    return re.split(r"\n(?=[a-z#])", text.split(f"\n{name} = ", 1)[1], maxsplit=1)[0]


def test_nothing_is_in_the_catalogues_that_nobody_says() -> None:
    code = "".join(
        path.read_text(encoding="utf-8")
        for ending in ("py", "html")
        for path in ROOT.glob(f"onsite/**/*.{ending}")
    )
    made = re.compile(r"(?:stage|wait|reason)-")  # put together from a word of the program
    assert [name for name in messages("en") if name not in code and not made.match(name)] == []


def test_marks_stand_as_each_language_sets_them() -> None:
    """French: a narrow space before high marks and inside guillemets (Lexique des règles typographiques en
    usage à l'Imprimerie nationale, from memory). German quotes „…“; Spanish opens ¿ and ¡."""
    texts = {
        language: re.sub(
            r"\$?[\w-]+ ?->|\{[^{}]*\}|^#.*$|^[a-z-]+ =",
            "",
            (files("onsite.messages") / f"{language}.ftl").read_text(encoding="utf-8"),
            flags=re.MULTILINE,
        )
        for language in CATALOGUES
    }
    assert re.findall(r"(?<!\u202f)[;?!:»]", texts["fr"]) == []
    assert not re.search(r"«(?!\u202f)", texts["fr"])
    for language, text in texts.items():
        assert "'" not in text, f"{language} has a straight apostrophe"
        assert '"' not in text, f"{language} has a straight quote"
    for close, opening in (("?", "¿"), ("!", "¡")):
        assert texts["es"].count(close) == texts["es"].count(opening)
    assert texts["de"].count("„") == texts["de"].count("“")


@pytest.mark.parametrize(
    ("tag", "day", "number"),
    [
        ("en", "1 June 2026", "1,234"),
        ("en-US", "June 1, 2026", "1,234"),
        ("de", "1. Juni 2026", "1.234"),
        ("de-AT", "1. Juni 2026", "1\u00a0234"),
        ("fr", "1er juin 2026", "1\u202f234"),
        ("es", "1 de junio de 2026", "1234"),
        ("it", "1 giugno 2026", "1.234"),
    ],
)
def test_days_and_numbers(tag: str, day: str, number: str) -> None:
    """As Unicode's CLDR has them; "1er" by French usage."""
    assert catalogue(tag).day(date(2026, 6, 1)) == day
    assert catalogue(tag).number(1234) in (number, number.replace("\u00a0", "."), "1.234")


def test_an_austrian_january_is_jänner() -> None:
    assert catalogue("de-AT").day("2026-01-13") == "13. Jänner 2026"
    assert catalogue("de-AT").tag == "de-AT"
    assert catalogue("de-AT").text("report-name") == "Name"


def test_a_language_without_a_catalogue_is_english() -> None:
    assert catalogue("pl").text("page-choose") == "Choose"
