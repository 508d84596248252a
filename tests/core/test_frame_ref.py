"""References to frames: what is written is what is understood."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.file_counter import LAST_COUNTER, LAST_LONG_COUNTER
from onsite.core.frame_ref import (
    CounterRange,
    counter_label,
    format_frame_labels,
    frame_id_text,
    is_frame_id,
    parse_frame_ref,
)


@given(st.integers(0, 10**12 - 1))
def test_an_id_is_understood(frame: int) -> None:
    assert parse_frame_ref(frame_id_text(frame)).id == frame
    assert is_frame_id(f" {frame_id_text(frame).upper()}, ".strip())


@given(st.sampled_from(["A", "Set 2", "é"]), st.integers(0, 99_999))
def test_a_label_is_understood(camera: str, counter: int) -> None:
    ref = parse_frame_ref(f"“{counter_label(camera, counter)}”,")
    assert ref.counters == CounterRange(camera, counter, counter)
    assert not ref.is_range


@pytest.mark.parametrize(
    ("first", "last", "end", "counters"),
    [
        (1043, 1045, LAST_COUNTER, [1043, 1044, 1045]),
        (9998, 2, LAST_COUNTER, [9998, 9999, 0, 1, 2]),  # 0000 is no counter by DCF; some bodies write it
        (10_005, 10_006, LAST_LONG_COUNTER, [10_005, 10_006]),
        (10_005, 10_006, LAST_COUNTER, [10_005, 10_006]),
        (99_999, 1, LAST_LONG_COUNTER, [99_999, 0, 1]),
        (1051, 1043, LAST_COUNTER, []),
    ],
)
def test_a_range_goes_over_the_roll_over(first: int, last: int, end: int, counters: list[int]) -> None:
    assert CounterRange("A", first, last).counters(end) == counters


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("IMG_1043.JPG", ("img_1043.jpg",)),
        ("DCIM/100/IMG_1043.JPG,", ("img_1043.jpg,", "img_1043.jpg")),
        ("IMG_0042 (1)", ("img_0042 (1)", "img_0042 (1")),
        ("C:\\card\\IMG_1.JPG", ("img_1.jpg",)),
    ],
)
def test_a_file_name_is_without_its_folder(text: str, names: tuple[str, ...]) -> None:
    assert parse_frame_ref(text).names == names


def test_every_frame_has_a_label_of_its_own() -> None:
    frames = [(1, "A", 7, "IMG_0007"), (2, "A", 7, "IMG_0007b"), (3, "B", None, "x"), (4, "B", None, "x")]
    assert format_frame_labels(frames) == {1: "IMG_0007", 2: "IMG_0007b", 3: "f3", 4: "f4"}
