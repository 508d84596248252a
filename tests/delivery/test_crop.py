"""What is cut off a picture."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.errors import Problem
from onsite.delivery.finish_delivered_picture import crop_box, ratio_of, size_of

SIDE = st.integers(1, 12000)


@pytest.mark.parametrize(
    ("size", "ratio", "box"),
    [
        ((6000, 4000), 0.8, (1400, 0, 4600, 4000)),
        ((4000, 6000), 0.8, (0, 250, 4000, 5250)),
        ((4000, 5000), 0.8, (0, 0, 4000, 5000)),
        ((4000, 6000), None, (0, 0, 4000, 6000)),
        ((4000, 6000), 1.0, (0, 500, 4000, 4500)),
    ],
)
def test_the_middle_of_the_width_and_most_of_what_is_above(
    size: tuple[int, int], ratio: float | None, box: tuple[int, ...]
) -> None:
    assert crop_box(*size, ratio) == box


@given(SIDE, SIDE, st.floats(0.1, 10), st.integers(0, 6000))
def test_the_ratio_is_kept_and_nothing_is_enlarged(
    width: int, height: int, ratio: float, longest: int
) -> None:
    box = crop_box(width, height, ratio)
    left, top, right, bottom = box
    assert 0 <= left < right <= width
    assert 0 <= top < bottom <= height
    across, down = right - left, bottom - top
    assert abs(across - down * ratio) <= max(ratio, 1)
    assert across == width or down == height
    finished = size_of(box, longest)
    assert finished[0] <= across
    assert finished[1] <= down
    assert not longest or max(finished) <= longest


@pytest.mark.parametrize(
    ("text", "ratio"), [("4:5", 0.8), ("2 x 3", 2 / 3), ("1", None), ("", None), ("5/4", 1.25)]
)
def test_ratios(text: str, ratio: float | None) -> None:
    if text == "1":
        with pytest.raises(Problem):
            ratio_of(text)
    else:
        assert ratio_of(text) == ratio


@pytest.mark.parametrize("text", ["4", "4:0", "0:5", "-4:5", "a:b", "1:1000", "4:5:6", "NaN:1"])
def test_what_is_no_ratio_is_refused(text: str) -> None:
    with pytest.raises(Problem, match="not a ratio"):
        ratio_of(text)
