"""The counter in a file's name."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.file_counter import counter_from_name


@pytest.mark.parametrize(
    ("stem", "counter"),
    [
        ("IMG_0001", 1),  # DCF (JEITA CP-3461): four characters, then 0001 to 9999
        ("_DSC9999", 9999),
        ("DSC09999", 9999),
        ("P6130012", 12),
        ("100-0042", 42),
        ("IMG_0042-2", 42),
        ("IMG_0042 (1)", 42),
        ("20260613_094107", 4107),
        ("portrait", None),
        ("a1", None),
        ("", None),
        ("IMG_٠٠٤٢", None),
    ],
)
def test_counters(stem: str, counter: int | None) -> None:
    assert counter_from_name(stem) == counter


@given(st.integers(1, 9999), st.sampled_from(["IMG_", "DSC_", "_MG_", "Chor ", "2026-06-13 "]))
def test_four_digits_at_the_end_are_the_counter(number: int, head: str) -> None:
    assert counter_from_name(f"{head}{number:04}") == number
