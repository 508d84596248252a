"""Charts: what is drawn is what was counted."""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.report.report_charts import HEIGHT, WIDTH, ChartRow, bar_chart, column_chart

COUNTS = st.lists(st.tuples(st.integers(0, 5000), st.integers(0, 5000)), min_size=1, max_size=96)


def boxes(drawn: str) -> list[dict[str, str]]:
    return [element.attrib for element in ElementTree.fromstring(drawn).iter("rect")]


@pytest.mark.long
@given(COUNTS)
def test_columns_are_as_high_as_their_numbers_and_stay_inside(counts: list[tuple[int, int]]) -> None:
    first, second = [a for a, _ in counts], [b for _, b in counts]
    drawn = column_chart(
        "k", "t", "d", ["x"] * len(counts), [ChartRow("a", first), ChartRow("b", second, hatched=True)]
    )
    found = boxes(drawn)
    heights = [float(box["height"]) for box in found]
    wanted = [value for pair in counts for value in pair if value]
    assert len(found) == len(wanted)
    if wanted:
        unit = max(heights) / max(wanted)
        assert all(abs(height - value * unit) < 0.2 for height, value in zip(heights, wanted, strict=True))
    for box in found:
        assert 0 <= float(box["x"]) <= float(box["x"]) + float(box["width"]) <= WIDTH + 0.2
        assert 0 <= float(box["y"]) <= float(box["y"]) + float(box["height"]) <= HEIGHT
    assert sum("url(#k-hatch)" in box["fill"] for box in found) == sum(value > 0 for value in second)


def test_labels_do_not_stand_on_each_other() -> None:
    drawn = column_chart("k", "t", "d", [f"{n:02}:00" for n in range(96)], [ChartRow("a", [1] * 96)])
    places = [
        float(element.attrib["x"])
        for element in ElementTree.fromstring(drawn).iter("text")
        if (element.text or "").endswith(":00")
    ]
    assert len(places) >= 8
    assert all(b - a >= 40 for a, b in pairwise(places))


def test_no_columns_no_chart() -> None:
    assert column_chart("k", "t", "d", [], []) == ""


@pytest.mark.parametrize(
    ("solid", "hatched", "total"), [(0, 0, 0), (0, 0, 5), (2, 1, 5), (5, 0, 5), (0, 5, 5)]
)
def test_a_bar_shows_its_parts(solid: int, hatched: int, total: int) -> None:
    parts = boxes(bar_chart("k", "told", solid, hatched, total))[1:]
    widths = [float(box["width"]) for box in parts]
    assert widths == [200 * part / total for part in (solid, hatched) if part]


def test_words_are_escaped() -> None:
    drawn = column_chart("k", "<b>", '"&', ["<i>"], [ChartRow("a", [1])])
    texts = [element.text for element in ElementTree.fromstring(drawn).iter()]
    assert {"<b>", '"&', "<i>"} <= set(texts)
