"""The report as one object for other programs: what the page of its kind tells, and everybody."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from onsite.report.numbers import ReportFacts, ReportNumbers
from onsite.report.rows import person_rows


def report_data(facts: ReportFacts, n: ReportNumbers, books: bool = False) -> dict[str, Any]:
    """For the client, or with batches and costs as books.

    Times are ISO 8601 in the shoot's zone, amounts decimal numbers as text, null what is not
    known."""
    return {
        "name": facts.name,
        "report": "books" if books else "client",
        "client": facts.client,
        "date": _plain(facts.day, facts),
        "made": _plain(facts.made, facts),
        "over": facts.over,
        "people": n.people,
        "photographed": n.photographed,
        "absent": n.absent,
        "publication": {
            "may_be_published": n.to_publish,
            "not_published": {reason.value: number for reason, number in n.withheld.items()},
        },
        "stages": {stage.value: number for stage, number in n.stages.items()},
        "groups": [
            {
                "group": group.name,
                "people": group.people,
                "came": group.came,
                "photographed": group.photographed,
                "stages": {stage.value: number for stage, number in group.stages.items()},
            }
            for group in n.groups
        ],
        "pace": [_plain(asdict(slot), facts) for slot in n.pace],
        "waited": {
            "known": n.waited.known,
            "median_minutes": _rounded(n.waited.median),
            "longest_minutes": _rounded(n.waited.longest),
            "bins": [{"from": low, "to": high, "people": number} for low, high, number in n.waited.bins],
        },
        "frames": asdict(n.frames),
        "frames_a_person": [{"frames": frames, "people": people} for frames, people in n.frames_each],
        "make_up_day": [
            {"key": s.person.key, "name": s.person.name, "group": s.person.group} for s in n.never_came
        ],
        "waits": [
            {"for": line.what.value, "people": line.people, "since": _plain(line.since, facts)}
            for line in n.waits
        ],
        "picks": asdict(n.picks),
        "pictures": {stage.value: number for stage, number in n.pictures.items()},
        "deliveries": [_plain(asdict(delivery), facts) for delivery in n.deliveries],
        "everybody": [_plain(asdict(row), facts) for row in person_rows(facts)],
        **(_book_data(facts, n) if books else {}),
    }


def _book_data(facts: ReportFacts, n: ReportNumbers) -> dict[str, Any]:
    """What only the photographer is told: who retouches, and what it costs."""
    return {
        "batches": [
            {
                "name": batch.name,
                "hand": batch.retoucher,
                "sent": _plain(batch.sent, facts),
                "due": _plain(batch.due, facts),
                "price": _plain(batch.price, facts),
                "currency": batch.currency,
                "files": batch.files,
                "out": batch.out,
                "back": batch.back,
                "again": batch.sent_back,
                "overdue": batch.overdue(facts.made.date()),
            }
            for batch in n.batches
        ],
        "costs": _plain({**asdict(n.costs), "retouch": dict(n.costs.retouch)}, facts),
    }


def _rounded(minutes: float | None) -> float | None:
    return None if minutes is None else round(minutes, 1)


def _plain(value: Any, facts: ReportFacts) -> Any:
    if isinstance(value, dict):
        return {name: _plain(item, facts) for name, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item, facts) for item in value]
    if isinstance(value, datetime):
        return value.astimezone(facts.made.tzinfo).isoformat(timespec="seconds")
    if isinstance(value, date):
        return value.isoformat()
    return str(value) if isinstance(value, Decimal) else value
