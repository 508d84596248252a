"""What other programs rely on: names of commands and options, the keys of `--json`, and columns of lists.

The recorded files beside this one are the promise. A name may be added, and is recorded with
`--snapshot-update`; none may be changed or lost.
"""

from __future__ import annotations

import csv
import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from syrupy.assertion import SnapshotAssertion
from syrupy.extensions.json import JSONSnapshotExtension

from onsite.cli.command_tree import root_command
from tests.cli.command_line import Onsite

COMMANDS = """
    roster find maria
    roster list
    roster load roster.csv --dry-run
    plan
    slates images out/slates
    slates sheet out/tickets.pdf
    slates deck out/deck.pdf --cards 2 --images out/deck
    slates show {key}
    slates clock
    checkin {key}
    checkin undo {key}
    walkin --given Ida --family Sommer --consent yes
    undo
    checkin --from out/paper.csv
    ingest cards
    match
    frames export out/frames.csv
    frames why {frame}
    frames give {frame} {key}
    frames aside {frame}
    frames free {frame}
    frames split {inside}
    frames undo
    status
    proofs build out/proofs
    picks list
    picks load out/picks.csv
    picks add {key} {own}
    remind
    marks --to out/marks
    retouch send out/batch
    retouch receive out/batch
    retouch list
    retouch cost --images 10
    deliver out/delivery
    report out/report.html
    report out/report.json
    report out/report.csv
    check
    verify
    backup
    restore
    restore 1
    retain
    forget {key} --dry-run
"""
"""Every command that ends by itself, in the order of the work, in a shoot whose day and week were played."""

COLUMNS = ("out/slates/slates.csv", "out/deck/deck.csv", "out/frames.csv", "out/report.csv")


class Recorded(JSONSnapshotExtension):
    """One file for all answers of a test, under its plain name."""


@pytest.fixture
def recorded(snapshot: SnapshotAssertion) -> SnapshotAssertion:
    return snapshot.use_extension(Recorded)


def shape(value: Any) -> Any:
    """A value's keys and kinds, without what stands in it."""
    if isinstance(value, dict):
        return {key: shape(part) for key, part in value.items()}
    if isinstance(value, list):
        kinds = [shape(part) for part in value]
        if kinds and all(isinstance(kind, dict) for kind in kinds):
            return [{key: part for kind in kinds for key, part in kind.items()}]
        return sorted({json.dumps(kind) for kind in kinds})
    return type(value).__name__


def tree(command: Any) -> Any:
    """The options and arguments of a command, or the commands of a group by their names."""
    if hasattr(command, "commands"):
        return {name: tree(command.commands[name]) for name in sorted(command.commands)}
    names = [name for parameter in command.params for name in (*parameter.opts, *parameter.secondary_opts)]
    return sorted(name for name in names if name != "--help")


def test_commands_and_their_options(recorded: SnapshotAssertion) -> None:
    assert tree(root_command) == recorded


@pytest.mark.long
def test_the_keys_of_every_answer_and_the_columns_of_every_list(
    demo: Path, onsite: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, recorded: SnapshotAssertion
) -> None:
    shutil.copytree(demo / "day", tmp_path / "day")
    monkeypatch.chdir(tmp_path / "day")
    answers: dict[str, Any] = {"demo": shape(json.loads((demo / "printed.json").read_text(encoding="utf-8")))}
    people = onsite("roster", "list", "--json").data["people"]
    key = next(person["key"] for person in people if person["stage"] == "photographed")
    Path("out").mkdir()
    Path("out/paper.csv").write_text(
        f"who,at,card,station\n{key},2026-06-13T11:00,,door-1\n", encoding="utf-8"
    )
    names = {"key": key}
    for line in COMMANDS.split("\n")[1:-1]:
        done = onsite(*line.format(**names).split(), "--json")
        assert done.status in (0, 3), (line, done)
        answers[line.strip()] = shape(done.data)
        if "export" in line:
            with Path("out/frames.csv").open(encoding="utf-8", newline="") as stream:
                rows = list(csv.DictReader(stream))
            names["frame"] = next(row["frame"] for row in rows if row["kind"] == "loose")
            own = [row["frame"] for row in rows if row["key"] == key and row["kind"] == "named"]
            names["own"], names["inside"] = own[:2]
            Path("out/picks.csv").write_text(f"key,file\n{key},{names['own']}\nnobody,1\n", encoding="utf-8")
    for path in COLUMNS:
        with Path(path).open(encoding="utf-8-sig", newline="") as stream:
            answers[path] = next(csv.reader(stream))
    assert answers == recorded
