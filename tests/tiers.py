"""What is tested every time, and what only among the long tests."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest


def long_after(quick: int, cases: Iterable[Any]) -> list[Any]:
    """Values for `parametrize`: the first `quick` of them every time, the others among the long tests."""
    return [
        case if number < quick else pytest.param(case, marks=pytest.mark.long)
        for number, case in enumerate(cases)
    ]
