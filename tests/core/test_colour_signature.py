"""Stored colour signatures: both versions are read, and never compared with each other."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.colour_signature import BINS, pack_signature, unpack_signatures, version_of


def of_version_1(*filled: int) -> bytes:
    return bytes(180 if place in filled else 0 for place in range(192))


def of_version_2(*filled: int, presence: float = 0.5) -> bytes:
    roots = np.zeros(BINS)
    roots[list(filled)] = 1 / max(len(filled), 1) ** 0.5
    return pack_signature(roots, presence)


@pytest.mark.long
@given(st.lists(st.floats(0, 1), min_size=BINS, max_size=BINS), st.floats(0, 1))
def test_what_is_packed_is_unpacked(weights: list[float], presence: float) -> None:
    shares = np.array(weights) / max(sum(weights), 1e-9)
    read = unpack_signatures([pack_signature(np.sqrt(shares), presence)])
    assert read.presence[0] == pytest.approx(presence, abs=0.5 / 255 + 1e-6)
    length = np.linalg.norm(read.roots()[0])
    assert length == pytest.approx(1, abs=1e-5) or not read.roots().any()
    if sum(weights) > 1:
        assert np.abs(read.roots()[0] - np.sqrt(shares)).max() < 0.03


def test_an_older_signature_still_reads() -> None:
    read = unpack_signatures([of_version_1(3, 7), of_version_1(), None])
    assert read.roots().shape == (3, 192)
    assert read.empty.tolist() == [False, True, False]
    assert np.flatnonzero(read.roots()[0]).tolist() == [3, 7]
    assert np.isnan(read.presence[2])


def test_of_mixed_versions_the_most_frequent_is_read() -> None:
    old, new = of_version_1(3), of_version_2(5)
    read = unpack_signatures([old, new, new])
    assert np.isnan(read.presence).tolist() == [True, False, False]
    read = unpack_signatures([old, old, new])
    assert np.isnan(read.presence).tolist() == [False, False, True]
    read = unpack_signatures([old, new])
    assert np.isnan(read.presence).tolist() == [True, False]  # as many of each: the later version


def test_what_is_of_no_version_is_no_signature() -> None:
    assert version_of(b"\x00\xff") is None
    assert np.isnan(unpack_signatures([b"\x00\xff", None]).presence).all()
