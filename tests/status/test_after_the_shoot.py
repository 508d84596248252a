"""What became of pictures after the shoot."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from onsite.status.picture_status import picture_statuses
from onsite.store.events import Event, EventKind

NOON = datetime(2026, 6, 6, 12, tzinfo=UTC)


def events(*what: tuple[EventKind, int | None, dict[str, Any]], person: int = 1) -> list[Event]:
    return [
        Event(number, NOON + timedelta(hours=number), kind, person_id=person, frame_id=frame, details=details)
        for number, (kind, frame, details) in enumerate(what)
    ]


PICKED = (EventKind.PICKED, None, {"frames": [7, 9], "notes": {"9": "stray hair"}, "note": "soft light"})
SENT = (EventKind.SENT, 7, {"batch": "B1", "file": "a.jpg", "version": 1})
RECEIVED = (EventKind.RECEIVED, 7, {"batch": "B1", "version": 1, "file": "retouched/a.jpg", "sha256": "00"})


def test_picks_hold_their_notes_in_the_order_chosen() -> None:
    after = picture_statuses(events(PICKED))[1]
    assert [(pick.frame, pick.note) for pick in after.picks] == [(7, ""), (9, "stray hair")]
    assert after.note == "soft light"
    assert not any(pick.at_retouch for pick in after.picks)


def test_the_last_word_on_picks_counts() -> None:
    after = picture_statuses(
        events(PICKED, (EventKind.PICKED, None, {"frames": [9], "notes": {}, "note": ""}))
    )[1]
    assert [pick.frame for pick in after.picks] == [9]


def test_picks_taken_back_are_none() -> None:
    after = picture_statuses(
        events(PICKED, (EventKind.PICKED, None, {"frames": [], "notes": {}, "note": ""}))
    )[1]
    assert after.picked is None
    assert after.picks == ()


def test_a_frame_is_at_retouch_from_sending_to_acceptance() -> None:
    out, back = picture_statuses(events(PICKED, SENT))[1], picture_statuses(events(PICKED, SENT, RECEIVED))[1]
    assert [pick.at_retouch for pick in out.picks] == [True, False]
    assert [pick.at_retouch for pick in back.picks] == [False, False]
    assert back.picks[0].file == "retouched/a.jpg"


def test_what_was_sent_back_is_at_retouch_again() -> None:
    sent_back = (EventKind.SENT_BACK, 7, {"batch": "B1", "version": 1, "reason": "too smooth"})
    first = picture_statuses(events(PICKED, SENT, RECEIVED, sent_back))[1].picks[0]
    assert first.at_retouch
    assert (first.reason, first.file) == ("too smooth", "")


def test_a_changed_mind_keeps_what_is_known_of_a_frame_chosen_again() -> None:
    without = (EventKind.PICKED, None, {"frames": [9], "notes": {}, "note": ""})
    assert picture_statuses(events(PICKED, SENT, without, PICKED))[1].picks[0].at_retouch


@given(st.lists(st.sampled_from([PICKED, SENT, RECEIVED]), max_size=8), st.integers(2, 9))
def test_people_do_not_touch_each_other(what: list[Any], other: int) -> None:
    alone = picture_statuses(events(*what))
    both = picture_statuses([*events(*what), *events(PICKED, SENT, person=other)])
    assert both.get(1) == alone.get(1)


def test_a_delivery_is_known_also_of_a_frame_that_was_not_picked() -> None:
    delivered = (EventKind.DELIVERED, 12, {"delivery": 1})
    assert picture_statuses(events(delivered))[1].delivered == NOON
