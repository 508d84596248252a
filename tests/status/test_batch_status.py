"""Batches at retouch, from the record."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.status.batch_status import Batch, BatchFrame, batches_from_events, most_urgent_first
from onsite.store.events import Event, EventKind

NOON = datetime(2026, 6, 14, 12, tzinfo=UTC)

Step = tuple[EventKind, str, int | None]


def told(*steps: Step, **about: Any) -> list[Batch]:
    events = [
        Event(
            number,
            NOON + timedelta(hours=number),
            kind,
            person_id=None if kind is EventKind.BATCH else 1,
            frame_id=frame,
            details={"batch": batch, **(about if kind is EventKind.BATCH else {})},
        )
        for number, (kind, batch, frame) in enumerate(steps)
    ]
    return batches_from_events(events)


def numbers(batch: Batch) -> tuple[int, int, int, int]:
    return batch.files, batch.out, batch.back, batch.sent_back


B1 = (EventKind.BATCH, "B1", None)
OUT = [(EventKind.SENT, "B1", frame) for frame in (7, 8, 9)]


def test_what_is_known_of_a_batch() -> None:
    (batch,) = told(B1, *OUT, hand="in house", due="2026-06-20", price="12.50", currency="EUR")
    assert (batch.name, batch.retoucher, batch.sent, batch.due) == ("B1", "in house", NOON, date(2026, 6, 20))
    assert (batch.price, batch.currency, numbers(batch)) == (Decimal("12.50"), "EUR", (3, 3, 0, 0))


def test_neither_a_due_date_nor_a_price_need_be_known() -> None:
    for nothing in ("", "soon", "NaN"):
        (batch,) = told(B1, *OUT, due=nothing, price=nothing)
        assert (batch.due, batch.price) == (None, None)
        assert not batch.overdue(date(2036, 1, 1))


def test_files_come_back_and_go_out_again() -> None:
    back = [(EventKind.RECEIVED, "B1", 7), (EventKind.RECEIVED, "B1", 8)]
    assert numbers(told(B1, *OUT, *back)[0]) == (3, 1, 2, 0)
    assert numbers(told(B1, *OUT, *back, (EventKind.SENT_BACK, "B1", 8))[0]) == (3, 2, 1, 1)
    assert numbers(told(B1, *OUT, *back, (EventKind.SENT_BACK, "B1", 8), (EventKind.SENT, "B1", 8))[0]) == (
        3,
        2,
        1,
        0,
    )


def test_what_goes_out_with_a_later_batch_is_out_there() -> None:
    again = [(EventKind.SENT_BACK, "B1", 7), (EventKind.BATCH, "B2", None), (EventKind.SENT, "B2", 7)]
    first, second = told(B1, *OUT, *again)
    assert (numbers(first), numbers(second)) == ((3, 2, 0, 0), (1, 1, 0, 0))


def test_overdue_comes_first_and_all_back_last() -> None:
    today = date(2026, 6, 20)
    out = (BatchFrame(7, 1, "B1"),)
    late = Batch("late", due=date(2026, 6, 19), frames=out)
    due_today = Batch("today", due=today, frames=out)
    open_end = Batch("no date", frames=out)
    back = Batch("back", due=date(2026, 6, 1), frames=(BatchFrame(7, 1, "B1", received=NOON),))
    assert most_urgent_first([back, open_end, due_today, late], today) == [late, due_today, open_end, back]
    assert [batch.overdue(today) for batch in (late, due_today, open_end, back)] == [
        True,
        False,
        False,
        False,
    ]


STEPS = st.tuples(
    st.sampled_from([EventKind.SENT, EventKind.RECEIVED, EventKind.SENT_BACK]),
    st.sampled_from(["B1", "B2"]),
    st.integers(1, 4),
)


@pytest.mark.long
@given(st.lists(STEPS, max_size=20))
def test_a_frame_is_out_in_one_batch_or_none_and_never_out_and_back(steps: list[Step]) -> None:
    sent: set[tuple[str, int | None]] = set()
    sensible = []
    for kind, batch, frame in steps:  # only what went out comes back
        if kind is EventKind.SENT:
            sent.add((batch, frame))
        if (batch, frame) in sent:
            sensible.append((kind, batch, frame))
    for batch in told(*sensible):
        assert batch.out + batch.back <= batch.files
        assert batch.sent_back <= batch.out
