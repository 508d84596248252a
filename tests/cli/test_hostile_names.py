"""Names that would do harm in a spreadsheet or a terminal, through every command with names in it."""

from __future__ import annotations

import csv
import io
import unicodedata
from pathlib import Path

import openpyxl
import pytest
from PIL import Image

from onsite.roster.person_names import fold_name
from tests.cli.command_line import Onsite, Outcome

HOSTILE = (
    "=1+1",
    '=HYPERLINK("http://example.org","Ana")',
    "+49",
    "-2",
    "@SUM(A1)",
    "\ttab",
    "car\rriage",
    "two\nlines",
    "Eve\x1b[31m\x1b]0;title\x07",
    "n\x00ul",
    "C1\x9b31m",
    "\u202egnp.exe",
    "'=quoted",
    "｟＝1＋1｠",
    "＝1+1",
)
"""Formulas (OWASP, "CSV Injection"), control functions (ECMA-48), and an override of direction (UAX 9)."""

_FORMULA = ("=", "+", "-", "@", "＝", "＋", "－", "＠")


def only_text(text: str, breaks: str = "") -> bool:
    kinds = ("Cc", "Cs", "Zl", "Zp")
    return not any(
        (unicodedata.category(char) in kinds and char not in breaks) or char in "\u202e\u2066"
        for char in text
    )


def written_tables(folder: Path) -> dict[Path, list[list[str]]]:
    """Every table under a folder, as a spreadsheet or a script reads it."""
    found: dict[Path, list[list[str]]] = {}
    for path in sorted(folder.rglob("*")):
        if path.suffix in (".csv", ".tsv"):
            text = io.StringIO(path.read_text(encoding="utf-8-sig"), newline="")
            delimiter = "\t" if path.suffix == ".tsv" else ","
            found[path] = list(csv.reader(text, delimiter=delimiter, strict=True))
        elif path.suffix == ".xlsx":
            rows = list(openpyxl.load_workbook(path).active.iter_rows())
            assert {cell.data_type for row in rows for cell in row if cell.value is not None} == {"s"}, path
            found[path] = [["" if cell.value is None else str(cell.value) for cell in row] for row in rows]
    return found


@pytest.fixture
def hostile(onsite: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Onsite:
    """A shoot in which everybody, every group and a camera have such names, each with two frames."""
    said: list[Outcome] = []

    def run(*words: object) -> Outcome:
        said.append(onsite(*words))
        for text in (said[-1].out, said[-1].err):
            if "--json" not in words:
                assert only_text(text, "\n"), f"{words} prints {text!r}"
        return said[-1]

    assert run("new", "day", "--name", "=Day\x1b[2J", "--timezone", "Europe/Vienna").status == 0
    monkeypatch.chdir(tmp_path / "day")
    for number, name in enumerate(HOSTILE):
        came = run(
            "walkin", f"--given={name}", f"--family={name}", f"--group={name}",
            f"--email=x{number}@example.org", "--new-group", "--another", "--consent=yes",
        )  # fmt: skip
        assert came.status == (2 if "\0" in name else 0), came
    everybody = onsite("roster", "list", "--json").data["people"]
    card = tmp_path / "card"
    card.mkdir()
    for number in range(len(everybody)):
        for which in range(2):
            colour = (20 + 9 * number, 90 + 40 * which, 128)
            name = f"=IMG_{number:02}{which}1.JPG"
            Image.new("RGB", (300, 450), colour).save(card / name)
    assert run("ingest", card, "--camera", "=A").status == 0
    for number, person in enumerate(everybody):
        names = [f"=IMG_{number:02}{which}1.JPG" for which in range(2)]
        assert run("frames", "give", *names, person["key"]).status == 0
    return run


@pytest.mark.long
def test_no_table_and_no_line_that_a_command_writes_does_harm(hostile: Onsite, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    everybody = hostile("roster", "list", "--json").data["people"]
    commands: list[tuple[object, ...]] = [
        ("slates", "images", out / "slates"),
        ("slates", "sheet", out / "tickets.pdf", "--up", 8),
        ("slates", "deck", out / "deck.pdf", "--cards", 2, "--images", out / "deck"),
        ("match",),
        ("frames", "export", out / "frames.csv"),
        ("status",),
        ("roster", "list"),
        ("roster", "find", "=1+1"),
        ("roster", "find", "Eve\x1b[31m"),
        ("checkin", HOSTILE[8]),
        ("checkin", "nobody\x1b[31m"),
        ("proofs", "build", out / "proofs"),
        ("picks", "list"),
        ("remind",),
        ("retouch", "send", out / "batch", "--names"),
        ("retouch", "list"),
        ("deliver", out / "client", "--originals"),
        ("deliver", out / "yearbook", "--yearbook", "--originals", "--again"),
        ("report", out / "report.csv"),
        ("report", out / "report.html"),
    ]
    for command in commands:
        if command[0] == "retouch" and command[1] == "send":
            for number, person in enumerate(everybody):
                assert hostile("picks", "add", person["key"], f"=IMG_{number:02}01.JPG").status == 0
        done = hostile(*command)
        assert done.status in (0, 2, 3), (command, done)
        assert "unexpected" not in done.err, (command, done)
    tables = written_tables(tmp_path)
    names = {path.name for path in tables}
    assert names == {
        "slates.csv", "deck.csv", "frames.csv", "pages.csv", "merge.csv", "list.csv", "list.xlsx",
        "index.tsv", "report.csv",
    }  # fmt: skip
    for path, rows in tables.items():
        for row in rows:
            assert len(row) == len(rows[0]), path
            for heading, cell in zip(rows[0], row, strict=True):
                assert not cell.lstrip().startswith(_FORMULA), (path, cell)
                assert only_text(cell, "\n" if (path.name, heading) == ("merge.csv", "text") else ""), (
                    path,
                    cell,
                )


@pytest.mark.long
def test_a_name_out_of_our_own_tables_is_the_same_person_when_it_is_read_back(
    hostile: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    everybody = {
        person["key"]: person["name"] for person in hostile("roster", "list", "--json").data["people"]
    }
    assert hostile("report", out / "report.csv").status == 0
    # Answers that name people as the report does, and nobody by a key.
    (report,) = written_tables(out).values()
    name_at = report[0].index("name")
    with (out / "answers.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(("name", "file"))
        keys = list(everybody)
        for row in report[1:]:
            number = keys.index(row[report[0].index("key")])
            writer.writerow((row[name_at], f"'=IMG_{number:02}01.JPG"))
    loaded = hostile("picks", "load", out / "answers.csv", "--json").data
    assert loaded["refused"] == []
    assert {person["key"] for person in loaded["taken"]} == set(everybody)
    # The same table as a list, in another shoot.
    assert hostile("new", tmp_path / "other", "--name", "Other").status == 0
    monkeypatch.chdir(tmp_path / "other")
    assert hostile("roster", "load", out / "report.csv", "--map", "other=not_published_because").status in (
        0,
        3,
    )
    read = {person["key"]: person["name"] for person in hostile("roster", "list", "--json").data["people"]}
    assert {key: fold_name(name) for key, name in read.items()} == {
        key: fold_name(name) for key, name in everybody.items()
    }
