"""The older form of metadata: every field within its bytes, cut between letters."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from onsite.metadata.iptc_iim import iim_segment
from onsite.metadata.xmp_fields import MetadataFields

LIMITS = {(1, 90): 3, (2, 0): 2, (2, 5): 64, (2, 25): 64, (2, 55): 8, (2, 80): 32, (2, 120): 2000}
TEXT = st.text(max_size=300)


def datasets(segment: bytes) -> list[tuple[int, int, bytes]]:
    """The segment taken apart by IIM 4.2, chapter 1."""
    assert int.from_bytes(segment[2:4], "big") == len(segment) - 2
    at = segment.index(b"8BIM\x04\x04") + 8
    size = int.from_bytes(segment[at : at + 4], "big")
    rest, found = segment[at + 4 : at + 4 + size], []
    while rest:
        assert rest[0] == 0x1C
        length = int.from_bytes(rest[3:5], "big")
        found.append((rest[1], rest[2], rest[5 : 5 + length]))
        rest = rest[5 + length :]
    return found


@given(TEXT, TEXT, st.lists(TEXT, max_size=3), TEXT)
def test_every_field_keeps_to_its_bytes(
    title: str, description: str, keywords: list[str], creator: str
) -> None:
    fields = MetadataFields(title, description, tuple(keywords), (), creator, "2026-06-13")
    found = datasets(iim_segment(fields))
    assert [one[:2] for one in found] == sorted(one[:2] for one in found)
    for record, number, content in found:
        assert len(content) <= LIMITS[record, number]
        content.decode()


def test_what_fits_is_whole() -> None:
    found = datasets(iim_segment(MetadataFields("Ελένη", "", ("Altos", "Χορωδία"), (), "Ж", "2026-06-13")))
    assert [
        content.decode() for record, number, content in found if (record, number) not in ((1, 90), (2, 0))
    ] == [
        "Ελένη",
        "Altos",
        "Χορωδία",
        "20260613",
        "Ж",
    ]


def test_a_name_is_cut_between_letters() -> None:
    found = datasets(iim_segment(MetadataFields("Ж" * 40)))
    assert found[-1] == (2, 5, ("Ж" * 32).encode())
