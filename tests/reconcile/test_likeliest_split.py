"""Where a run is split, as the screens propose it."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
import pytest

from onsite.core.colour_signature import BINS, pack_signature
from onsite.reconcile.likeliest_split import likeliest_split
from onsite.store.schema import Camera, Frame
from onsite.store.shoot import Shoot

RED, BLUE, BACKDROP = 3, 40, -1
"""The bin in which all colours of somebody's clothes are; nobody there."""


def look(clothes: int) -> bytes:
    roots = np.full(BINS, 0.05)
    roots[clothes] = 1.0
    return pack_signature(roots / np.linalg.norm(roots), 0.0 if clothes == BACKDROP else 0.4)


def day(shoot: Shoot, clothes: list[int | None], pauses: list[int]) -> list[int]:
    """Frames in these clothes, seconds apart; their ids."""
    at = datetime(2026, 6, 13, 9)
    with shoot.writing() as session:
        session.add(Camera(id=1, label="A", identity="A", serial="1"))
        session.flush()
        for number, (worn, pause) in enumerate(zip(clothes, pauses, strict=True), 1):
            at += timedelta(seconds=pause)
            looks = None if worn is None else look(worn)
            name = f"A{number:04}.JPG"
            session.add(Frame(id=number, camera_id=1, name=name, taken=at, source="card", look=looks))
    return list(range(1, len(clothes) + 1))


@pytest.mark.parametrize(
    ("clothes", "begins"),
    [
        ([RED, RED, RED, BLUE, BLUE], 4),
        ([RED, BLUE, BLUE, BLUE], 2),
        ([BACKDROP, RED, RED, RED], 2),
        ([RED, RED, BACKDROP], 3),
        ([RED, None, BLUE, BLUE], 2),
    ],
)
def test_it_is_where_clothes_change_whatever_the_pauses(
    shoot: Shoot, clothes: list[int | None], begins: int
) -> None:
    frames = day(shoot, clothes, [3, 90, *[3] * (len(clothes) - 2)])
    assert likeliest_split(shoot, frames) == begins


def test_without_colours_it_is_after_the_longest_pause(shoot: Shoot) -> None:
    assert likeliest_split(shoot, day(shoot, [None] * 4, [3, 3, 30, 3])) == 3


def test_a_single_frame_is_not_split(shoot: Shoot) -> None:
    assert likeliest_split(shoot, day(shoot, [RED], [0])) is None
