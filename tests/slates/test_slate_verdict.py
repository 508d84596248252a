"""What is said of the slates in a frame, and in which words."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onsite.core.codes import SlateKind, clock_code, slate_kind
from onsite.slates.reader.seen_symbol import ReadBy
from onsite.slates.slate_verdict import SlateCounts, SlateVerdict, slate_verdict

OURS = "NXAJTP47KDKP"
SHOOT = "AJTP"


@dataclass(frozen=True)
class Symbol:
    text: str | None
    by: ReadBy | None = None
    margin: float | None = None


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        (OURS, SlateKind.READ),
        (OURS.lower(), SlateKind.READ),
        (None, SlateKind.UNREAD),
        ("NXAJTP47KDKK", SlateKind.UNREAD),  # one character wrong: ISO/IEC 7064 finds every one
        (clock_code(SHOOT, 1_781_336_487), SlateKind.CLOCK),
        (clock_code("AAAA", 1_781_336_487), SlateKind.OTHER_SHOOT),
        ("https://example.org/programme", SlateKind.FOREIGN),
        ("", SlateKind.FOREIGN),
    ],
)
def test_each_symbol_is_one_thing(text: str | None, kind: SlateKind) -> None:
    assert slate_kind(text, SHOOT) is kind


def test_a_slate_is_another_shoots_where_the_mark_differs() -> None:
    assert slate_kind(OURS, "AAAA") is SlateKind.OTHER_SHOOT
    assert slate_verdict([Symbol(OURS, ReadBy.DECODER)], "AAAA") == SlateVerdict(SlateKind.OTHER_SHOOT)


def test_no_symbols_are_nothing() -> None:
    assert slate_verdict([], SHOOT) == SlateVerdict(SlateKind.NOTHING)


symbols = st.lists(
    st.builds(
        Symbol,
        st.sampled_from([OURS, None, "NXAJTP47KDKK", "https://example.org"]),
        st.sampled_from([None, *ReadBy]),
    ),
    max_size=6,
)


@given(symbols, st.randoms())
def test_the_order_of_symbols_does_not_matter(seen: list[Symbol], shuffled) -> None:  # type: ignore[no-untyped-def]
    other = list(seen)
    shuffled.shuffle(other)
    assert slate_verdict(seen, SHOOT) == slate_verdict(other, SHOOT)


@given(symbols)
def test_a_slate_of_this_shoot_outweighs_all_else(seen: list[Symbol]) -> None:
    assert slate_verdict([*seen, Symbol(OURS, ReadBy.DECODER)], SHOOT).kind is SlateKind.READ
    if OURS not in [symbol.text for symbol in seen]:
        assert slate_verdict(seen, SHOOT).kind is not SlateKind.READ


def test_the_words_say_how_it_was_read_and_how_surely() -> None:
    read = slate_verdict([Symbol("https://example.org"), Symbol(OURS, ReadBy.KNOWN, 9.54)], SHOOT)
    assert read.text == (
        "read by comparing with this shoot's codes: NXAJ TP47 KDKP, 9.5 standard deviations ahead of the next"
    )
    assert (
        slate_verdict([Symbol(OURS)], SHOOT).text == "read: NXAJ TP47 KDKP"
    )  # as earlier versions stored it
    assert slate_verdict([Symbol(None)], SHOOT).text == "seen but not read"


def test_counts_are_told_in_one_line() -> None:
    count = SlateCounts.none()
    for symbol in (*[Symbol(OURS, ReadBy.DECODER)] * 207, *[Symbol(OURS, ReadBy.KNOWN, 8.0)] * 5):
        count.add(slate_verdict([symbol], SHOOT))
    for symbol in (Symbol(None), Symbol(None), Symbol("a"), Symbol("b")):
        count.add(slate_verdict([symbol], SHOOT))
    count.add(slate_verdict([], SHOOT))
    assert count.text == (
        "212 read, 5 of them by comparing with this shoot's codes; 2 seen but not read; 2 foreign codes"
    )
    assert count.data() == {
        "read": 212,
        "clock_slates": 0,
        "read_by": {"decoder": 207, "known codes": 5, "several copies": 0},
        "another_shoots": 0,
        "not_read": 2,
        "foreign": 2,
        "nothing": 1,
    }
    assert SlateCounts.none().text == ""
