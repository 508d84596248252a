"""The metadata fields that are written, and their names in XMP."""

from __future__ import annotations

from dataclasses import dataclass

RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
XML = "http://www.w3.org/XML/1998/namespace"
META = "adobe:ns:meta/"

# ISO 16684-1, 8.2 and 8.3; IPTC Photo Metadata Standard, sections Core and Extension.
DC = "http://purl.org/dc/elements/1.1/"
XMP = "http://ns.adobe.com/xap/1.0/"
PHOTOSHOP = "http://ns.adobe.com/photoshop/1.0/"
IPTC_EXT = "http://iptc.org/std/Iptc4xmpExt/2008-02-29/"
ONSITE = "https://onsite.invalid/ns/1.0/"
"""The project's own properties; `.invalid` is nobody's domain (RFC 2606)."""

PREFIXES = {
    "x": META,
    "rdf": RDF,
    "dc": DC,
    "xmp": XMP,
    "photoshop": PHOTOSHOP,
    "Iptc4xmpExt": IPTC_EXT,
    "onsite": ONSITE,
}

RATING = f"{{{XMP}}}Rating"
LABEL = f"{{{XMP}}}Label"
TITLE = f"{{{DC}}}title"
DESCRIPTION = f"{{{DC}}}description"
KEYWORDS = f"{{{DC}}}subject"
CREATOR = f"{{{DC}}}creator"
CREATED = f"{{{PHOTOSHOP}}}DateCreated"
EVENT = f"{{{IPTC_EXT}}}Event"
PEOPLE = f"{{{IPTC_EXT}}}PersonInImage"
MADE = f"{{{ONSITE}}}Made"


@dataclass(frozen=True, slots=True)
class MetadataFields:
    """Metadata of a finished picture; empty fields are not written."""

    title: str = ""
    description: str = ""
    keywords: tuple[str, ...] = ()
    people: tuple[str, ...] = ()
    creator: str = ""
    created: str = ""
    """Date, ISO 8601."""
    event: str = ""
    made: str = ""
    """What the file was made from and how, so that an interrupted delivery recognises its own files."""


@dataclass(frozen=True, slots=True)
class RawMark:
    """What a raw developer shows about a picked frame."""

    rating: int
    """1 to 5 (ISO 16684-1, 8.3)."""
    title: str = ""
    keywords: tuple[str, ...] = ()
    people: tuple[str, ...] = ()
