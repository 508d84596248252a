"""XMP packets: parsed to a tree and written back (ISO 16684-1, clause 7) without losing content."""

from __future__ import annotations

import codecs
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from onsite.metadata import xmp_properties
from onsite.metadata.xmp_fields import (
    CREATED,
    CREATOR,
    DESCRIPTION,
    EVENT,
    KEYWORDS,
    MADE,
    META,
    PEOPLE,
    RDF,
    TITLE,
    MetadataFields,
)
from onsite.metadata.xmp_properties import Container

_ROOTS = (f"{{{META}}}xmpmeta", f"{{{META}}}xapmeta", f"{{{RDF}}}RDF")
_EMPTY = f"""<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="{META}">
 <rdf:RDF xmlns:rdf="{RDF}">
  <rdf:Description rdf:about=""/>
 </rdf:RDF>
</x:xmpmeta>
<?xpacket end="w"?>"""


class NotXmp(Exception):  # noqa: N818
    """The content is no XMP, or damaged XMP; the text says why, in a few words."""


@dataclass(frozen=True, slots=True)
class XmpPacket:
    """A parsed packet; its trees change in place."""

    tree: Any
    """The whole document."""
    rdf: Any
    """Its `rdf:RDF` element."""
    encoding: str
    byte_order_mark: bool
    declared: bool
    """Whether it has an XML declaration."""

    def content(self) -> bytes:
        """The packet as bytes, in its original encoding and with everything around it."""
        from lxml import etree

        written: bytes = etree.tostring(self.tree, encoding=self.encoding, xml_declaration=self.declared)
        if self.byte_order_mark and not written.startswith(codecs.BOM_UTF8):
            return codecs.BOM_UTF8 + written
        return written


def empty_packet() -> XmpPacket:
    """A packet without properties, in UTF-8."""
    return parse_xmp(_EMPTY.encode())


def parse_xmp(content: bytes) -> XmpPacket:
    """The packet in the content of a sidecar or of a file's segment. Raises NotXmp."""
    from lxml import etree

    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    try:
        root = etree.fromstring(content, parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        raise NotXmp("it is damaged or no XML" if content.strip(b"\0 \r\n\t") else "it is empty") from error
    tree = root.getroottree()
    if tree.docinfo.doctype:
        raise NotXmp("it defines entities, which no XMP does")
    if root.tag not in _ROOTS:
        raise NotXmp("it is XML and no XMP")
    found = [root] if root.tag == _ROOTS[-1] else root.findall(f"{{{RDF}}}RDF")
    if len(found) != 1:
        raise NotXmp("it has no RDF in it" if not found else "it has more than one RDF in it")
    bom = content.startswith(codecs.BOM_UTF8)
    start = content[3:] if bom else content
    declared = start.startswith(b"<?xml ") or "<?xml ".encode("utf-16-le") in start[:16]
    declared = declared or "<?xml ".encode("utf-16-be") in start[:16]
    return XmpPacket(tree, found[0], _encoding(content, tree.docinfo.encoding), bom, declared)


def _encoding(content: bytes, found: str | None) -> str:
    """The encoding to write in: either byte order of UTF-16 as `UTF-16`, which is written with its byte order
    mark."""
    name = (found or "UTF-8").upper()
    if name.startswith("UTF-16") or content[:2] in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE):
        return "UTF-16"
    return name


def keep_only(packet: XmpPacket, names: Iterable[str]) -> XmpPacket:
    """A new packet with only these simple properties of another packet."""
    kept = empty_packet()
    for name in names:
        if (text := xmp_properties.read_value(packet.rdf, name)) is not None:
            xmp_properties.set_value(kept.rdf, name, text)
    return kept


def packet_of(fields: MetadataFields) -> bytes:
    """A packet with only these fields, for embedding in a finished file."""
    packet = empty_packet()
    fields = legible(fields)
    for name, text in ((TITLE, fields.title), (DESCRIPTION, fields.description), (EVENT, fields.event)):
        if text:
            xmp_properties.add_items(packet.rdf, name, Container.ALTERNATIVES, [text])
    for name, kind, texts in (
        (KEYWORDS, Container.BAG, fields.keywords),
        (PEOPLE, Container.BAG, fields.people),
        (CREATOR, Container.SEQUENCE, (fields.creator,)),
    ):
        xmp_properties.add_items(packet.rdf, name, kind, [text for text in texts if text])
    for name, text in ((CREATED, fields.created), (MADE, fields.made)):
        if text:
            xmp_properties.set_value(packet.rdf, name, text)
    return packet.content()


def legible(fields: MetadataFields) -> MetadataFields:
    """The fields without characters that XML forbids or that cannot be displayed."""
    from onsite.core.text import shown

    return replace(
        fields,
        title=shown(fields.title),
        description=shown(fields.description),
        keywords=tuple(map(shown, fields.keywords)),
        people=tuple(map(shown, fields.people)),
        creator=shown(fields.creator),
        event=shown(fields.event),
    )
