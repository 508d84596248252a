"""Colour differences against the published table, and colours in CIE L*a*b*."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from onsite.frames.frame_measures import Lab, colour_difference, lab_of

TABLE = Path(__file__).with_name("data") / "ciede2000.csv"


def pairs() -> list[list[float]]:
    """Sharma, Wu and Dalal (2005), table 1: two colours and their CIEDE2000 difference."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = csv.reader(line for line in file if not line.startswith("#"))
        next(rows)
        return [[float(value) for value in row] for row in rows]


def test_the_table_is_all_there() -> None:
    assert len(pairs()) == 34


@pytest.mark.parametrize("pair", pairs())
def test_differences_are_those_of_the_table(pair: list[float]) -> None:
    one, other, difference = Lab(*pair[:3]), Lab(*pair[3:6]), pair[6]
    assert round(colour_difference(one, other), 4) == difference
    assert round(colour_difference(other, one), 4) == difference


# IEC 61966-2-1 gives sRGB's primaries in CIE XYZ; their L*a*b* by CIE 15 for D65, two decimals, as in
# the usual tables of them (from memory).
@pytest.mark.parametrize(
    ("light", "lab"),
    [
        ((1.0, 1.0, 1.0), (100.0, 0.0, 0.0)),
        ((0.0, 0.0, 0.0), (0.0, 0.0, 0.0)),
        ((1.0, 0.0, 0.0), (53.24, 80.09, 67.20)),
        ((0.0, 1.0, 0.0), (87.74, -86.18, 83.18)),
        ((0.0, 0.0, 1.0), (32.30, 79.19, -107.86)),
        ((0.1842, 0.1842, 0.1842), (50.0, 0.0, 0.0)),  # the 18 % of a grey card: L* 50 (CIE 15, by hand)
    ],
)
def test_colours_of_linear_light(light: tuple[float, float, float], lab: tuple[float, float, float]) -> None:
    assert lab_of(*light) == pytest.approx(lab, abs=0.05)
