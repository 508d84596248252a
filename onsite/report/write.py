"""The report written, for the client or as books: its ending says the kind of file."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from onsite.files.saving import atomic_file
from onsite.files.tables import csv_text
from onsite.problems import Problem
from onsite.progress.collector import collector_paused
from onsite.report.data import report_data
from onsite.report.gather import STEPS, Step, gather_facts
from onsite.report.numbers import ReportFacts, count_report
from onsite.report.page import report_html
from onsite.report.rows import COLUMNS, OF_BOOKS, book_cells, person_rows, row_cells
from onsite.store.shoot import Shoot


def write_report(shoot: Shoot, path: Path, step: Step, books: bool = False) -> int:
    """Writes the report for the client, or with costs and retouchers as `books`, whole or not at all.

    Returns how many people it tells of.

    Raises Problem for another ending than .html, .csv or .json, for a file that is there and is no report,
    and where it cannot be written. `step` is told how far it is.
    """
    make = _KINDS.get(path.suffix.lower())
    if make is None:
        raise Problem(f"{path} does not end in {', '.join(_KINDS)}.", "The ending says the kind of report.")
    _refuse_other_file(path)
    with collector_paused():
        facts = gather_facts(shoot, step, STEPS + 1)
        content = make(facts, books).encode("utf-8")
    with atomic_file(path) as stream:
        stream.write(content)
    step(STEPS + 1, STEPS + 1)
    return len(facts.people)


def _html(facts: ReportFacts, books: bool) -> str:
    return report_html(facts, count_report(facts), books)


def _csv(facts: ReportFacts, books: bool) -> str:
    rows = [row_cells(row) for row in person_rows(facts)]
    if books:
        batches = {batch.name: batch for batch in facts.batches}
        rows = [[*row, *book_cells(status, batches)] for row, status in zip(rows, facts.people, strict=True)]
    return csv_text([*COLUMNS, *(OF_BOOKS if books else ())], rows)


def _json(facts: ReportFacts, books: bool) -> str:
    return json.dumps(report_data(facts, count_report(facts), books), ensure_ascii=False, indent=1) + "\n"


_KINDS: dict[str, Callable[[ReportFacts, bool], str]] = {".html": _html, ".csv": _csv, ".json": _json}

_BEGINS = (b"<!DOCTYPE html>", ",".join(COLUMNS).encode(), b'{\n "name":')
"""How reports begin, in the same order."""

_MARKS = (b'content="onsite report"', b"<title>Report: ")
"""One of them is in the head of every page: the second in those of earlier versions."""


def _refuse_other_file(path: Path) -> None:
    """An earlier report may be written over; a client's list or somebody's page must not be lost."""
    if not path.is_file():
        return
    begins = dict(zip(_KINDS, _BEGINS, strict=True))[path.suffix.lower()]
    with path.open("rb") as file:
        is_own = file.read(len(begins)) == begins
        is_own = is_own and (path.suffix.lower() != ".html" or _has_mark(file.read(2000)))
    if not is_own:
        raise Problem(f"{path} is there and is not a report.", "Name another file, or move it away.")


def _has_mark(head: bytes) -> bool:
    return any(mark in head for mark in _MARKS)
