"""Marks in packets: put in and taken back, and whatever else a packet holds stays. Read by rdflib."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from rdflib.compare import isomorphic

from onsite.metadata.xmp_fields import KEYWORDS, PEOPLE, RATING, TITLE, RawMark
from onsite.metadata.xmp_packet import NotXmp, parse_xmp
from onsite.metadata.xmp_sidecar import put_mark
from tests.metadata.foreign import (
    ALL,
    DESCRIBED,
    DEVELOPED,
    NOTHING,
    QUALIFIED,
    graph,
    items,
    packet,
    packets,
    simple,
    without,
)

MARK = RawMark(5, "Ελένη Παπασταύρου", ("pick", "Χορωδία"), ("Ελένη Παπασταύρου",))


def marked(text: str, *marks: RawMark | None) -> bytes:
    """A packet's content after these marks, one after the other, each written and read anew."""
    content = text.encode()
    for mark in marks:
        found = parse_xmp(content)
        put_mark(found, mark)
        content = found.content()
    return content


@pytest.mark.parametrize("text", ALL)
def test_a_mark_is_put_in_and_all_else_stays(text: str) -> None:
    before, after = graph(text.encode()), graph(marked(text, MARK))
    assert simple(after, RATING) == "5"
    assert set(items(after, KEYWORDS)) == {*items(before, KEYWORDS), "pick", "Χορωδία"}
    assert items(after, KEYWORDS)[: len(items(before, KEYWORDS))] == items(before, KEYWORDS)
    assert items(after, PEOPLE)[-1] == "Ελένη Παπασταύρου"
    assert isomorphic(without(before), without(after))


@pytest.mark.parametrize("text", ALL)
def test_a_mark_taken_back_leaves_what_was_there(text: str) -> None:
    assert isomorphic(graph(marked(text, MARK, None)), graph(text.encode()))


@pytest.mark.long
@settings(deadline=None)
@given(packets())
def test_anything_in_a_packet_outlives_marks(text: str) -> None:
    before, after = graph(text.encode()), graph(marked(text, MARK))
    assert simple(after, RATING) == "5"
    assert {"pick", "Χορωδία"} <= set(items(after, KEYWORDS))
    assert MARK.title in items(after, PEOPLE)
    assert isomorphic(without(graph(text.encode())), without(after))
    assert isomorphic(graph(marked(text, MARK, None)), before)
    assert isomorphic(graph(marked(text, MARK, RawMark(3, "B", ("x",)), None)), before)


@pytest.mark.long
@settings(deadline=None)
@given(packets())
def test_marking_twice_changes_nothing(text: str) -> None:
    once = parse_xmp(marked(text, MARK))
    assert not put_mark(once, MARK)
    assert isomorphic(graph(once.content()), graph(marked(text, MARK)))


def test_qualifiers_stay_with_their_values() -> None:
    after = marked(QUALIFIED, MARK).decode()
    assert "<other:by>a critic</other:by>" in after
    assert items(graph(after.encode()), KEYWORDS) == ["choir", "solo", "pick", "Χορωδία"]


def test_a_title_in_any_language_stays() -> None:
    assert items(graph(marked(DESCRIBED, MARK)), TITLE) == ["Evening", "Abend", "Βράδυ"]
    assert items(graph(marked(DEVELOPED, MARK)), TITLE) == [MARK.title]


def test_keywords_in_a_plain_text_become_the_first_of_the_list() -> None:
    after = graph(marked(packet("|<dc:subject>stage</dc:subject>"), MARK))
    assert items(after, KEYWORDS) == ["stage", "pick", "Χορωδία"]


def test_what_somebody_changed_since_is_not_taken_back() -> None:
    content = marked(DEVELOPED, MARK).decode()
    content = content.replace('xmp:Rating="5"', 'xmp:Rating="1"').replace(
        "pick</rdf:li>", "choice</rdf:li>", 1
    )
    after = graph(marked(content, None))
    assert simple(after, RATING) == "1"
    assert items(after, KEYWORDS) == ["concert", "stage", "choice"]
    assert items(after, PEOPLE) == []


def test_a_rating_given_by_hand_stays_when_a_name_is_corrected() -> None:
    content = marked(DEVELOPED, MARK).decode().replace('xmp:Rating="5"', 'xmp:Rating="4"')
    after = graph(marked(content, RawMark(5, "Eleni", ("pick",), ("Eleni",))))
    assert simple(after, RATING) == "4"
    assert items(after, PEOPLE) == ["Eleni"]
    assert simple(graph(marked(content, RawMark(5, "Eleni"), None)), RATING) == "4"


def test_a_keyword_that_was_there_already_is_not_taken_out() -> None:
    after = graph(marked(DEVELOPED, RawMark(5, "", ("concert",)), None))
    assert items(after, KEYWORDS) == ["concert", "stage"]


def test_no_mark_changes_nothing() -> None:
    assert not put_mark(parse_xmp(DEVELOPED.encode()), None)
    assert not put_mark(parse_xmp(NOTHING.encode()), None)


def test_a_property_written_twice_is_refused() -> None:
    twice = packet('xmp:Rating="1"|<xmp:Rating>2</xmp:Rating>')
    with pytest.raises(NotXmp, match="Rating more than once"):
        marked(twice, MARK)
