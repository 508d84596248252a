"""The report written: its ending says the kind."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from onsite.files.saving import whole_file
from onsite.files.tables import csv_text
from onsite.problems import Problem
from onsite.progress.collector import collector_paused
from onsite.report.data import report_data
from onsite.report.gather import STEPS, Step, gather
from onsite.report.numbers import Facts, count
from onsite.report.page import page
from onsite.report.rows import COLUMNS, cells, person_rows
from onsite.store.shoot import Shoot


def write_report(shoot: Shoot, path: Path, step: Step) -> int:
    """Writes the report, whole or not at all, and returns how many people it tells of.

    Raises Problem for another ending than .html, .csv or .json, for a file that is there and is no report,
    and where it cannot be written. `step` is told how far it is.
    """
    make = _KINDS.get(path.suffix.lower())
    if make is None:
        raise Problem(f"{path} does not end in {', '.join(_KINDS)}.", "The ending says the kind of report.")
    _refuse_other_file(path)
    with collector_paused():
        facts = gather(shoot, step, STEPS + 1)
        content = make(facts).encode("utf-8")
    with whole_file(path) as stream:
        stream.write(content)
    step(STEPS + 1, STEPS + 1)
    return len(facts.people)


def _html(facts: Facts) -> str:
    return page(facts, count(facts))


def _csv(facts: Facts) -> str:
    return csv_text(COLUMNS, map(cells, person_rows(facts)))


def _json(facts: Facts) -> str:
    return json.dumps(report_data(facts, count(facts)), ensure_ascii=False, indent=1) + "\n"


_KINDS: dict[str, Callable[[Facts], str]] = {".html": _html, ".csv": _csv, ".json": _json}

_BEGINS = (b"<!DOCTYPE html>", ",".join(COLUMNS).encode(), b'{\n "name":')
"""How reports begin, in the same order."""


def _refuse_other_file(path: Path) -> None:
    """An earlier report may be written over; a client's list or somebody's page must not be lost."""
    if not path.is_file():
        return
    begins = dict(zip(_KINDS, _BEGINS, strict=True))[path.suffix.lower()]
    with path.open("rb") as file:
        ours = file.read(len(begins)) == begins
        ours = ours and (path.suffix.lower() != ".html" or b"<title>Report: " in file.read(2000))
    if not ours:
        raise Problem(f"{path} is there and is not a report.", "Name another file, or move it away.")
