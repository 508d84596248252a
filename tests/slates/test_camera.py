"""The second camera that slates are measured with: the same every time, and it leaves a slate that reads."""

from __future__ import annotations

import random

import pytest
import zxingcpp

from onsite.core.codes import new_code
from tests.bench.bench_slates import bare
from tests.bench.trouble.camera import KINDS, SIZE, STRENGTHS, Taken, photograph, taken
from tests.bench.trouble.paper import Held

CODE = new_code("AAAA", (), random.Random(18004))


@pytest.mark.long
def test_a_frame_is_the_same_every_time() -> None:
    one, other = (photograph(bare(CODE), *taken("motion", 3, 5)) for _ in range(2))
    assert (one.size, one.mode) == (SIZE, "L")
    assert one.tobytes() == other.tobytes()


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_has_five_strengths_and_every_seed_its_own_frame(kind: str) -> None:
    assert len({repr(taken(kind, strength, seed)[0]) for strength in STRENGTHS for seed in range(3)}) == 15


@pytest.mark.long
def test_a_card_held_without_trouble_reads() -> None:
    picture = photograph(bare(CODE), Taken(Held(place=(0.5, 0.5))), random.Random(1))
    assert [seen.text for seen in zxingcpp.read_barcodes(picture)] == [CODE]


def test_a_sitter_without_a_card_has_nothing_to_read() -> None:
    assert zxingcpp.read_barcodes(photograph(None, Taken(Held()), random.Random(1))) == []
