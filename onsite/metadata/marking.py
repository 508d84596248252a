"""Marks in a packet: put in, found again, and taken back without touching what is not ours.

Beside its mark the packet keeps what was written for it (`onsite:Marked`): the keywords and people that were
not there before, the title where there was none, and the rating before. Taking a mark back goes by that, and
leaves whatever somebody changed since.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict

from onsite.metadata import properties
from onsite.metadata.fields import KEYWORDS, ONSITE, PEOPLE, RATING, TITLE, RawMark
from onsite.metadata.packet import NotXmp, XmpPacket
from onsite.metadata.properties import Container

_MARKED = f"{{{ONSITE}}}Marked"
_ASKED, _RATING, _BEFORE, _TITLE, _KEYWORDS, _PEOPLE = (
    f"{{{ONSITE}}}{name}" for name in ("Asked", "Rating", "RatingBefore", "Title", "Keywords", "People")
)


def put_mark(packet: XmpPacket, mark: RawMark | None) -> bool:
    """Brings a packet to carry this mark, or none, and tells whether it was changed.

    A packet that carries the same mark is left as it is, whatever a person did to it since. Raises NotXmp.
    """
    for name in (RATING, TITLE, KEYWORDS, PEOPLE, _MARKED):
        if properties.count(packet.rdf, name) > 1:
            raise NotXmp(f"it has {name.partition('}')[2]} more than once")
    earlier = properties.structure(packet.rdf, _MARKED)
    if mark is None:
        return _take_back(packet, earlier)
    asked = _fingerprint(mark)
    if earlier.get(_ASKED) == [asked]:
        return False
    by_hand = bool(earlier) and [properties.read_value(packet.rdf, RATING)] != earlier.get(_RATING)
    _take_back(packet, earlier)
    _put(packet, mark, asked, by_hand)
    return True


def _put(packet: XmpPacket, mark: RawMark, asked: str, keep_rating: bool) -> None:
    rdf = packet.rdf
    written: dict[str, str | list[str]] = {_ASKED: asked}
    if not keep_rating:
        before = properties.read_value(rdf, RATING)
        properties.set_value(rdf, RATING, str(mark.rating))
        written |= {_RATING: str(mark.rating)} | ({} if before is None else {_BEFORE: before})
    if mark.title and not properties.read_items(rdf, TITLE):
        properties.add_items(rdf, TITLE, Container.ALTERNATIVES, [mark.title])
        written[_TITLE] = mark.title
    written[_KEYWORDS] = properties.add_items(rdf, KEYWORDS, Container.BAG, mark.keywords)
    written[_PEOPLE] = properties.add_items(rdf, PEOPLE, Container.BAG, mark.people)
    properties.add_structure(rdf, _MARKED, written)


def _take_back(packet: XmpPacket, written: dict[str, list[str]]) -> bool:
    """Takes out what was written for an earlier mark, as far as it is still as it was written."""
    if not written:
        return False
    rdf = packet.rdf
    if _RATING in written and [properties.read_value(rdf, RATING)] == written[_RATING]:
        if _BEFORE in written:
            properties.set_value(rdf, RATING, written[_BEFORE][0])
        else:
            properties.remove(rdf, RATING)
    properties.remove_items(rdf, TITLE, written.get(_TITLE, []))
    properties.remove_items(rdf, KEYWORDS, written.get(_KEYWORDS, []))
    properties.remove_items(rdf, PEOPLE, written.get(_PEOPLE, []))
    properties.remove(rdf, _MARKED)
    return True


def _fingerprint(mark: RawMark) -> str:
    text = json.dumps(asdict(mark), ensure_ascii=False, sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()[:16]
