"""What each heading and answer of the table means; held through the rules and through the command."""

from __future__ import annotations

import csv
import shlex
from pathlib import Path

import pytest

from onsite.core.errors import Problem
from onsite.roster.column_mapping import ColumnMapping, find_columns
from onsite.roster.consent_answers import ConsentSense, consent_answer
from onsite.roster.parse_consent import Consent
from onsite.roster.read_list_table import RosterTable, TableRow
from tests.cli.command_line import Onsite, refused
from tests.cli.consent_table import (
    AGREES,
    ANSWERS,
    ASK_BOTH,
    ASK_NO,
    ASK_YES,
    FORBIDS,
    HEADINGS,
    ORDINARY,
    UNCLEAR,
)

PROPOSED = {
    ASK_NO: ["no-consent", "other"],
    ASK_BOTH: ["no-consent", "consent", "other"],
    ASK_YES: ["consent", "no-consent", "other"],
}
COMMAND_SAMPLE = [
    pytest.param(*row, marks=[] if number % 3 == 0 else pytest.mark.long)
    for number, row in enumerate(HEADINGS[::9])
]


def mapping(heading: str, *by_hand: tuple[str, str]) -> ColumnMapping:
    rows = (("Name", heading), ("Ana Horvat", "yes"), ("Bo Lind", "no"), ("Cy Ro", ""))
    table = RosterTable(tuple(TableRow(number, cells, 2) for number, cells in enumerate(rows, 1)))
    return find_columns(table, by_hand)[0]


def test_the_table_is_as_large_as_it_must_be() -> None:
    assert len({heading for heading, _ in HEADINGS}) >= 60
    assert len({text for text, _, _ in ANSWERS}) >= 60


@pytest.mark.parametrize(("heading", "means"), HEADINGS)
def test_what_a_heading_means_and_what_is_asked(heading: str, means: str) -> None:
    read = mapping(heading)
    senses = [one.sense for one in read.consents]
    proposed = [list(one.fields) for one in read.asked]
    if means in PROPOSED:
        assert (senses, proposed) == ([], [PROPOSED[means]])
    else:
        known = {AGREES: [ConsentSense.AGREES], FORBIDS: [ConsentSense.FORBIDS], ORDINARY: []}
        assert (senses, proposed) == (known[means], [])


@pytest.mark.parametrize(("heading", "means"), HEADINGS)
def test_no_heading_that_denies_can_be_mapped_to_a_yes(heading: str, means: str) -> None:
    if means in (FORBIDS, ASK_NO):
        with pytest.raises(Problem):
            mapping(heading, ("consent", heading))
        if means == ASK_NO:
            assert [one.sense for one in mapping(heading, ("no-consent", heading)).consents] == [
                ConsentSense.FORBIDS
            ]
    elif means == AGREES:
        with pytest.raises(Problem):
            mapping(heading, ("no-consent", heading))
        with pytest.raises(Problem):
            mapping(heading, ("other", heading))
    else:
        assert [one.sense for one in mapping(heading, ("consent", heading)).consents] == [ConsentSense.AGREES]


@pytest.mark.parametrize(("text", "agreeing", "forbidding"), ANSWERS)
def test_what_an_answer_means(text: str, agreeing: str, forbidding: str) -> None:
    assert consent_answer(ConsentSense.AGREES, text).value == agreeing
    assert consent_answer(ConsentSense.FORBIDS, text).value == forbidding


@pytest.mark.parametrize(
    "text", [text for text, agreeing, _ in ANSWERS if agreeing == UNCLEAR and text != "."]
)
@pytest.mark.parametrize("sense", ConsentSense)
def test_what_is_not_a_plain_answer_is_never_a_yes(text: str, sense: ConsentSense) -> None:
    for more in (text, text.upper(), f" {text} ", f"{text}!", f"yes {text}", f"no {text}"):
        assert consent_answer(sense, more) is not Consent.YES, more


@pytest.fixture
def day(onsite: Onsite) -> Onsite:
    onsite("new", ".", "--name", "Day", "--timezone", "Europe/Vienna")
    return onsite


def write(path: Path, *rows: tuple[str, ...]) -> Path:
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows(rows)
    return path


@pytest.mark.parametrize(("heading", "means"), COMMAND_SAMPLE)
def test_a_heading_through_the_command(day: Onsite, tmp_path: Path, heading: str, means: str) -> None:
    file = write(
        tmp_path / "list.csv",
        ("key", "name", heading),
        ("1a", "Ana Horvat", "yes"),
        ("2a", "Bo Lind", "no"),
        ("3a", "Cy Ro", ""),
    )
    dry = day("roster", "load", file, "--dry-run", "--json")
    asked = dry.data["consent_questions"]
    if means not in PROPOSED:
        assert (dry.status, asked) == (0, [])
        counts = {AGREES: (1, 1), FORBIDS: (1, 1), ORDINARY: (None, None)}[means]
        assert (dry.data["consents"].get("yes"), dry.data["consents"].get("no")) == counts
        assert day("roster", "load", file).status == 0
        who = {AGREES: "Ana Horvat", FORBIDS: "Bo Lind"}.get(means)
        assert published(day) == ([who] if who else [])
        return
    assert dry.status == 3
    (question,) = asked
    assert [answer["field"] for answer in question["answers"]] == PROPOSED[means]
    told = refused(day("roster", "load", file))
    assert "Nothing was loaded" in told
    assert day("roster", "list", "--json").data["people"] == []
    for answer in question["answers"]:  # as a shell takes the option that was printed
        option = shlex.split(answer["option"])
        assert answer["option"] in told
        then = day("roster", "load", file, "--dry-run", "--json", *option)
        assert (then.status, then.data["consent_questions"]) == (0, [])
        if answer["field"] != "other":
            assert {said: n for said, n in then.data["consents"].items() if n} == answer["counts"]
            assert sorted(answer["examples"].values()) == ["Ana Horvat: yes", "Bo Lind: no"]
    first = shlex.split(question["answers"][0]["option"])
    assert day("roster", "load", file, *first).status == 0
    assert published(day) == (["Ana Horvat"] if PROPOSED[means][0] == "consent" else ["Bo Lind"])


def published(day: Onsite) -> list[str]:
    """Who may be published by what the list says."""
    from onsite.roster.parse_consent import parse_consent

    people = day("roster", "list", "--json").data["people"]
    return [one["name"] for one in people if parse_consent(one["consent"]) is Consent.YES]


@pytest.mark.long
def test_answers_through_the_command(day: Onsite, tmp_path: Path) -> None:
    rows = [(f"K-{n}", f"Person {'abcdefghij'[n // 10]}{'abcdefghij'[n % 10]}") for n in range(len(ANSWERS))]
    for heading, place in (("Consent", 1), ("Do not publish", 2)):
        texts = [(*row, text) for row, (text, *_) in zip(rows, ANSWERS, strict=True)]
        file = write(tmp_path / "list.csv", ("key", "name", heading), *texts)
        told = day("roster", "load", file, "--dry-run", "--json")
        assert told.status == 0
        wanted = [answer[place] for answer in ANSWERS]
        assert told.data["consents"] == {
            said: wanted.count(said) for said in ("yes", "no", "unclear", "unknown")
        }
        assert day("roster", "load", file, "--json").status == 0
        assert published(day) == [
            name for (_, name), answer in zip(rows, ANSWERS, strict=True) if answer[place] == "yes"
        ]
