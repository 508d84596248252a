"""Packets as other programs write them, and an XMP reader that shares nothing with the project: rdflib.

XMP is RDF/XML in a subset (ISO 16684-1, clause 7): two packets say the same where their
graphs are isomorphic.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from xml.sax.saxutils import escape, quoteattr

from hypothesis import strategies as st
from rdflib import BNode, Graph, URIRef
from rdflib.term import Node

from onsite.metadata.xmp_fields import KEYWORDS, PEOPLE, RATING, TITLE

RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
BASE = "https://example.org/picture"
OURS = "https://onsite.invalid/ns/1.0/Marked"
WRITTEN = (RATING, TITLE, KEYWORDS, PEOPLE, OURS)

NAMESPACES = """xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmlns:dc="http://purl.org/dc/elements/1.1/"
 xmlns:xmpMM="http://ns.adobe.com/xap/1.0/mm/" xmlns:stEvt="http://ns.adobe.com/xap/1.0/sType/ResourceEvent#"
 xmlns:Iptc4xmpExt="http://iptc.org/std/Iptc4xmpExt/2008-02-29/" xmlns:dev="http://example.org/develop/1.0/"
 xmlns:other="http://example.org/other#" """


def packet(*descriptions: str, head: str = "", about: str = 'rdf:about=""') -> str:
    """A packet with these contents of `rdf:Description`, each `attributes|elements`."""
    parts = (description.partition("|") for description in descriptions)
    inside = "\n".join(
        f"<rdf:Description {about} {NAMESPACES} {attributes}>{elements}</rdf:Description>"
        for attributes, _, elements in parts
    )
    return (
        f'{head}<x:xmpmeta xmlns:x="adobe:ns:meta/" x:xmptk="a toolkit">\n<rdf:RDF xmlns:rdf="{RDF}">\n'
        f"{inside}\n"
        "</rdf:RDF>\n</x:xmpmeta>"
    )


def bag(*texts: str, kind: str = "Bag", attributes: str = "") -> str:
    items = "".join(f"<rdf:li {attributes}>{escape(text)}</rdf:li>" for text in texts)
    return f"<rdf:{kind}>{items}</rdf:{kind}>"


DEVELOPED = packet(
    'xmp:Rating="2" dev:Exposure="+0.50" dev:Version="15.1" xmpMM:DocumentID="xmp.did:1"|'
    f"<dev:Curve>{bag('0, 0', '64, 58', '255, 255', kind='Seq')}</dev:Curve>"
    f"<dc:subject>{bag('concert', 'stage')}</dc:subject>"
    '<dev:Masks><rdf:Seq><rdf:li rdf:parseType="Resource"><dev:Name>sky &amp; sea</dev:Name><dev:Points>'
    f'{bag("1 2", "3 4", kind="Seq")}</dev:Points></rdf:li><rdf:li dev:Name="face" dev:Amount="0"/></rdf:Seq>'
    "</dev:Masks>"
    '<xmpMM:History><rdf:Seq><rdf:li stEvt:action="saved" stEvt:when="2026-06-13T10:00:00+02:00"/>'
    "<rdf:li><rdf:Description><stEvt:action>derived</stEvt:action></rdf:Description></rdf:li></rdf:Seq>"
    "</xmpMM:History>"
)
"""The settings of a raw developer: attributes and elements, ordered arrays, structures in all forms."""

DESCRIBED = packet(
    "|<dc:title><rdf:Alt><rdf:li xml:lang='x-default'>Evening</rdf:li><rdf:li xml:lang='de-AT'>Abend</rdf:li>"
    "<rdf:li xml:lang='el'>Βράδυ</rdf:li></rdf:Alt></dc:title>",
    "|<xmp:Rating>3</xmp:Rating><other:Source rdf:resource='https://example.org/a?b=c'/>"
    "<other:Price rdf:parseType='Resource'><rdf:value>12</rdf:value><other:in>EUR</other:in></other:Price>",
    f"|<Iptc4xmpExt:PersonInImage>{bag('Ana Horvat')}</Iptc4xmpExt:PersonInImage>"
    "<dc:rights xml:lang='en'>nobody's</dc:rights>",
)
"""Language alternatives, qualifiers, a URI, and one resource described in several parts."""

QUALIFIED = packet(
    "|<xmp:Rating rdf:parseType='Resource'><rdf:value>1</rdf:value><other:by>a critic</other:by></xmp:Rating>"
    "<dc:subject><rdf:Bag><rdf:li rdf:parseType='Resource'><rdf:value>choir</rdf:value>"
    "<other:sure>0.9</other:sure></rdf:li><rdf:li><rdf:Description rdf:value='solo' other:sure='0'/></rdf:li>"
    "</rdf:Bag></dc:subject>"
)
"""Qualifiers on what is to be changed (XMP specification part 1, 7.8)."""

BARE = f'<rdf:RDF xmlns:rdf="{RDF}"><rdf:Description rdf:about=""/></rdf:RDF>'
NOTHING = f'<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="{RDF}"/></x:xmpmeta>'
WRAPPED = (
    packet("|<other:a>1</other:a>", head='<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>\n')
    + ("\n" + " " * 100) * 20
    + '\n<?xpacket end="w"?>'
)

ALL = (DEVELOPED, DESCRIBED, QUALIFIED, BARE, NOTHING, WRAPPED)


def graph(content: bytes) -> Graph:
    """What a packet says."""
    root = ET.fromstring(content)
    inner = root if root.tag == f"{{{RDF}}}RDF" else root.find(f"{{{RDF}}}RDF")
    assert inner is not None
    return Graph().parse(data=ET.tostring(inner, encoding="unicode"), format="xml", publicID=BASE)


def without(said: Graph, names: tuple[str, ...] = WRITTEN) -> Graph:
    """The same without these properties and all that stands below them."""
    for name in names:
        for subject, predicate, value in list(said.triples((None, URIRef(_iri(name)), None))):
            said.remove((subject, predicate, value))
            _drop(said, value)
    return said


def items(said: Graph, name: str) -> list[str]:
    """The items of an array, in their order; values of qualified ones alone."""
    array = next(iter(said.objects(None, URIRef(_iri(name)))), None)
    found = []
    number = 1
    while array is not None and (item := said.value(array, URIRef(f"{RDF}_{number}"))) is not None:
        inner = said.value(item, URIRef(f"{RDF}value")) if isinstance(item, BNode) else item
        found.append(str(inner))
        number += 1
    return found


def simple(said: Graph, name: str) -> str | None:
    found = next(iter(said.objects(None, URIRef(_iri(name)))), None)
    if isinstance(found, BNode):
        found = said.value(found, URIRef(f"{RDF}value"))
    return None if found is None else str(found)


def _iri(name: str) -> str:
    return name.replace("{", "").replace("}", "")


def _drop(said: Graph, node: Node) -> None:
    if isinstance(node, BNode):
        for subject, predicate, value in list(said.triples((node, None, None))):
            said.remove((subject, predicate, value))
            _drop(said, value)


# Content that nobody thought of: nested to any depth, in every form that XMP knows.

texts = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Co", "Cn"], exclude_characters="|"),
    max_size=8,
).map(lambda text: " ".join(text.split()))
languages = st.sampled_from(["", ' xml:lang="en"', ' xml:lang="x-default"', ' xml:lang="sr-Cyrl"'])
names = st.sampled_from("abcdefgh")


@st.composite
def _attributes(draw: st.DrawFn) -> str:
    chosen = draw(st.dictionaries(names, texts, max_size=3))
    return " ".join(f"other:{name}={quoteattr(text)}" for name, text in chosen.items())


def _elements(contents: st.SearchStrategy[tuple[str, str]]) -> st.SearchStrategy[str]:
    """Property elements with different names; contents are (attributes, inside)."""
    return st.dictionaries(names, contents, max_size=3).map(
        lambda chosen: "".join(f"<dev:{n} {a}>{i}</dev:{n}>" for n, (a, i) in chosen.items())
    )


def _deeper(contents: st.SearchStrategy[tuple[str, str]]) -> st.SearchStrategy[tuple[str, str]]:
    members = _elements(contents)
    array = st.tuples(st.sampled_from(["Bag", "Seq", "Alt"]), st.lists(contents, max_size=3)).map(
        lambda found: (
            "",
            f"<rdf:{found[0]}>{''.join(f'<rdf:li {a}>{i}</rdf:li>' for a, i in found[1])}</rdf:{found[0]}>",
        )
    )
    return st.one_of(
        array,
        members.map(lambda inside: ('rdf:parseType="Resource"', inside)),
        st.tuples(_attributes(), members).map(
            lambda found: ("", f"<rdf:Description {found[0]}>{found[1]}</rdf:Description>")
        ),
    )


_leaves = st.one_of(
    st.tuples(languages, texts.map(escape)),
    st.just(('rdf:resource="https://example.org/there"', "")),
    _attributes().map(lambda attributes: (attributes, "")),
)
contents = st.recursive(_leaves, _deeper, max_leaves=8)

_OWN = st.sampled_from(
    (
        "|",
        'xmp:Rating="4"|',
        "|<xmp:Rating>-1</xmp:Rating>",
        f"|<dc:subject>{bag('choir', 'pick', 'choir')}</dc:subject>",
        f"|<dc:subject>{bag('tenor', kind='Seq')}</dc:subject><dc:title>{bag('T', kind='Alt')}</dc:title>",
        f"|<Iptc4xmpExt:PersonInImage>{bag('Елена', 'Bo')}</Iptc4xmpExt:PersonInImage>",
    )
)


@st.composite
def packets(draw: st.DrawFn) -> str:
    """A packet with anything in it, and perhaps with some of what is to be written."""
    parts = [f"{draw(_attributes())}|{draw(_elements(contents))}", draw(_OWN)]
    return packet(
        *draw(st.permutations(parts)), about=draw(st.sampled_from(['rdf:about=""', 'rdf:about="uuid:1"']))
    )
