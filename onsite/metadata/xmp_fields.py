"""The metadata that are written, and their names in XMP."""

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
    """What a finished picture says of itself; what is empty is not written.

    `created` is a date, ISO 8601. `made` tells what the file was made of and how, so that a delivery that
    was broken off knows its own files again.
    """

    title: str = ""
    description: str = ""
    keywords: tuple[str, ...] = ()
    people: tuple[str, ...] = ()
    creator: str = ""
    created: str = ""
    event: str = ""
    made: str = ""


@dataclass(frozen=True, slots=True)
class RawMark:
    """What a raw developer is to show of a picked frame. `rating` is 1 to 5 (ISO 16684-1, 8.3)."""

    rating: int
    title: str = ""
    keywords: tuple[str, ...] = ()
    people: tuple[str, ...] = ()
