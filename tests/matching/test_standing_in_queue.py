from __future__ import annotations

from onsite.matching.deck_card_holders import ArrivalOrder

WAITS = [500.0, 620.0, 540.0, 480.0, 700.0, 560.0, 610.0, 450.0, 530.0, 590.0, 640.0, 510.0]


def test_too_few_people_are_no_queue() -> None:
    assert ArrivalOrder.of((place, -wait) for place, wait in enumerate(WAITS[:9])) is None


def test_somebody_who_came_long_after_those_around_is_late() -> None:
    queue = ArrivalOrder.of((place, -wait) for place, wait in enumerate(WAITS))
    assert queue is not None
    assert queue.expected(6) == -575.0  # the median of the ten around
    assert not queue.is_late(6, -575.0 + 899.0)
    assert queue.is_late(6, -575.0 + 901.0)
    assert not queue.is_late(6, -9000.0), "who came early let others go first"


def test_where_waits_vary_widely_nobody_is_soon_late() -> None:
    queue = ArrivalOrder.of((place, -wait * (1 + place % 4)) for place, wait in enumerate(WAITS))
    assert queue is not None
    assert not queue.is_late(6, queue.expected(6) + 1200.0)
    assert queue.is_late(6, queue.expected(6) + 5000.0)


def test_what_is_usual_follows_the_day() -> None:
    grown = ArrivalOrder.of((place, -60.0 * place) for place in range(40))
    assert grown is not None
    assert grown.expected(5) > grown.expected(20) > grown.expected(35)
