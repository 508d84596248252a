"""Packets in and out: encodings, wrappers, and what is refused."""

from __future__ import annotations

import codecs

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rdflib.compare import isomorphic

from onsite.metadata.xmp_fields import KEYWORDS, PEOPLE, TITLE, MetadataFields
from onsite.metadata.xmp_packet import NotXmp, packet_of, parse_xmp
from tests.metadata.foreign import BARE, DEVELOPED, WRAPPED, graph, items, packet

NAMES = st.text(st.characters(codec="utf-8"), min_size=1, max_size=12)


@pytest.mark.parametrize(
    ("encoded", "begins"),
    [
        (DEVELOPED.encode(), b"<x:xmpmeta"),
        (codecs.BOM_UTF8 + DEVELOPED.encode(), codecs.BOM_UTF8 + b"<x:xmpmeta"),
        (DEVELOPED.encode("utf-16"), codecs.BOM_UTF16_LE + "<x".encode("utf-16-le")),
        (codecs.BOM_UTF16_BE + DEVELOPED.encode("utf-16-be"), (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)),
        (b'<?xml version="1.0" encoding="UTF-8"?>\n' + DEVELOPED.encode(), b"<?xml "),
        (b'<?xml version="1.0" encoding="iso-8859-1"?>\n' + DEVELOPED.encode("latin-1"), b"<?xml "),
        (WRAPPED.encode(), b"<?xpacket begin="),
    ],
    ids=["utf-8", "utf-8 with mark", "utf-16", "utf-16 big", "declared", "latin-1", "wrapped"],
)
def test_a_packet_comes_out_in_the_encoding_it_came_in(
    encoded: bytes, begins: bytes | tuple[bytes, ...]
) -> None:
    content = parse_xmp(encoded).content()
    assert content.startswith(begins)
    assert isomorphic(graph(content), graph(encoded))
    assert parse_xmp(content).encoding == parse_xmp(encoded).encoding


def test_the_wrapper_stays_around_a_packet() -> None:
    content = parse_xmp(WRAPPED.encode()).content().decode()
    assert content.startswith('<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>')
    assert content.endswith('<?xpacket end="w"?>')


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"", "empty"),
        (b"\0" * 500, "empty"),
        (DEVELOPED.encode()[:-40], "damaged or no XML"),
        (b"\xff\xd8\xff\xe1 a JPEG", "damaged or no XML"),
        ("Ångström".encode("latin-1"), "damaged or no XML"),
        (b"<settings><exposure>1</exposure></settings>", "no XMP"),
        (b'<x:xmpmeta xmlns:x="adobe:ns:meta/"/>', "no RDF"),
        (b'<!DOCTYPE a [<!ENTITY b "c">]>' + BARE.encode(), "entities"),
        (packet("|<other:a>&nowhere;</other:a>").encode(), "damaged or no XML"),
    ],
)
def test_what_is_no_packet_is_refused(content: bytes, reason: str) -> None:
    with pytest.raises(NotXmp, match=reason):
        parse_xmp(content)


def test_entities_that_grow_without_end_are_refused_at_once() -> None:
    levels = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 12))
    with pytest.raises(NotXmp):
        parse_xmp(f'<!DOCTYPE x [<!ENTITY a0 "ha">{levels}]>{packet("|<other:a>&a11;</other:a>")}'.encode())


@pytest.mark.long
@settings(deadline=None)
@given(NAMES, NAMES, NAMES)
def test_any_text_can_be_written(title: str, keyword: str, person: str) -> None:
    said = graph(packet_of(MetadataFields(title=title, keywords=(keyword,), people=(person,))))
    for name, text in ((TITLE, title), (KEYWORDS, keyword), (PEOPLE, person)):
        for found in items(said, name):
            assert all(char.isprintable() or char in "\u200c\u200d" for char in found)
            if text.isalnum() and text.isascii():
                assert found == text
