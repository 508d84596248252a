"""The numbers of a report, from made-up facts."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.report.report_numbers import FrameCounts, ReportFacts, count_report
from onsite.roster.find_people import RosterPerson
from onsite.status.batch_status import Batch
from onsite.status.person_status import PersonStatus, Stage, stage_of
from onsite.store.settings import Agreement

NINE = datetime(2026, 6, 13, 9, tzinfo=UTC)


def at(minutes: float) -> datetime:
    return NINE + timedelta(minutes=minutes)


def somebody(
    number: int, arrived: datetime | None = None, frames: int = 0, group: str = "Alto"
) -> PersonStatus:
    person = RosterPerson(number, f"S-{number}", "", number, f"Singer {number}", "", "", group)
    return PersonStatus(person, stage_of(arrived is not None, frames), arrived, frames)


def facts(*people: PersonStatus, firsts: dict[int, datetime] | None = None) -> ReportFacts:
    return ReportFacts(
        "Festival", "", date(2026, 6, 13), at(600), False, Agreement(), people, firsts or {}, FrameCounts()
    )


def test_how_long_people_waited() -> None:
    people = [somebody(n, at(n), 2) for n in range(1, 5)]
    firsts = {1: at(4), 2: at(12), 3: at(30), 4: at(90)}  # 3, 10, 27, 86 minutes
    waited = count_report(facts(*people, firsts=firsts)).waited
    assert (waited.known, waited.median, waited.longest) == (4, 18.5, 86)
    assert waited.bins == ((0, 5, 1), (5, 10, 0), (10, 20, 1), (20, 30, 1), (30, 60, 0), (60, None, 1))


def test_whoever_was_photographed_on_another_day_or_before_arriving() -> None:
    people = [somebody(1, at(10), 2), somebody(2, at(0), 2)]
    waited = count_report(facts(*people, firsts={1: at(8), 2: at(60 * 24)})).waited
    assert (waited.known, waited.longest) == (1, 0)


def test_the_pace_goes_on_through_quarters_without_anybody() -> None:
    people = [somebody(1, at(3), 2), somebody(2, at(40), 1), somebody(3, at(60 * 24))]
    pace = count_report(facts(*people, firsts={1: at(20)})).pace
    assert [(slot.start, slot.arrived, slot.photographed) for slot in pace] == [
        (at(0), 1, 0),
        (at(15), 0, 1),
        (at(30), 1, 0),
        (at(60 * 24), 1, 0),
    ]


def test_withdrawn_people_count_only_once_something_happened_to_them() -> None:
    gone, came = somebody(1), somebody(2, at(5), 1)
    people = [replace(s, person=replace(s.person, withdrawn=True)) for s in (gone, came)]
    numbers = count_report(facts(*people, somebody(3)))
    assert (numbers.people, numbers.photographed) == (2, 1)
    assert [s.person.id for s in numbers.never_came] == [3]


def test_costs_by_currency_and_what_to_bill() -> None:
    batches = (
        Batch("B1", price=Decimal("12.50"), currency="EUR"),
        Batch("B2", price=Decimal("64"), currency="CHF"),
        Batch("B3", price=Decimal("7.50"), currency="EUR"),
        Batch("B4"),
    )
    known = replace(facts(), batches=batches, delivered=12, agreed=Agreement(price="24.90"))
    costs = count_report(known).costs
    assert costs.retouch == (("CHF", Decimal("64")), ("EUR", Decimal("20.00")))
    assert (costs.unpriced, costs.bill, costs.currency) == (1, Decimal("298.80"), "EUR")


@pytest.mark.parametrize("price", ["", "twelve", "NaN", "Infinity"])
def test_no_price_no_bill(price: str) -> None:
    assert count_report(replace(facts(), delivered=3, agreed=Agreement(price=price))).costs.bill is None


PEOPLE = st.lists(
    st.tuples(
        st.none() | st.floats(0, 3000).map(at), st.integers(0, 5), st.sampled_from(["Alto", "Bass", ""])
    ),
    max_size=20,
)


@given(PEOPLE)
def test_every_part_adds_up_to_the_whole(listed: list[tuple[datetime | None, int, str]]) -> None:
    people = [somebody(number, *one) for number, one in enumerate(listed)]
    firsts = {s.person.id: at(100) for s in people if s.frames}
    n = count_report(facts(*people, firsts=firsts))
    assert (
        sum(group.people for group in n.groups)
        == n.stages[Stage.EXPECTED] + n.stages[Stage.ARRIVED]
        == n.people
        == len(people)
    )
    assert sum(group.photographed for group in n.groups) == n.photographed == n.stages[Stage.PHOTOGRAPHED]
    assert sum(slot.arrived for slot in n.pace) == sum(s.arrived is not None for s in people)
    assert sum(slot.photographed for slot in n.pace) == n.photographed
    assert sum(frames * number for frames, number in n.frames_each) == sum(s.frames for s in people)
    assert sum(number for _, _, number in n.waited.bins) == n.waited.known
    for group in n.groups:
        assert group.photographed <= group.came <= group.people
