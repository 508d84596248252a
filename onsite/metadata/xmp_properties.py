"""Reading and changing single properties of an XMP packet; all other properties stay untouched.

XMP is a subset of RDF/XML (ISO 16684-1, clause 7): a property is an attribute or an element of
`rdf:Description`; a value with qualifiers is in `rdf:value`; arrays are `rdf:Bag`, `rdf:Seq`, `rdf:Alt`. All
of these forms are read, and a value is changed in the form that it has.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from enum import StrEnum
from typing import Any

from onsite.metadata.xmp_fields import PREFIXES, RDF, XML

_DESCRIPTION = f"{{{RDF}}}Description"
_ITEM = f"{{{RDF}}}li"
_VALUE = f"{{{RDF}}}value"
_ABOUT = f"{{{RDF}}}about"
_LANGUAGE = f"{{{XML}}}lang"
_DEFAULT = "x-default"  # ISO 16684-1, 8.2.2.4


class Container(StrEnum):
    """The kinds of arrays, by their RDF names."""

    BAG = f"{{{RDF}}}Bag"
    SEQUENCE = f"{{{RDF}}}Seq"
    ALTERNATIVES = f"{{{RDF}}}Alt"


def read_value(rdf: Any, name: str) -> str | None:
    """The text of a simple property; None where there is none."""
    for holder in rdf.findall(_DESCRIPTION):
        if holder.get(name) is not None:
            return str(holder.get(name))
        element = holder.find(name)
        if element is not None:
            return _text(element)
    return None


def read_items(rdf: Any, name: str) -> list[str]:
    """The texts in an array; a simple property counts as an array of one."""
    array = _array(rdf, name)
    if array is not None:
        return [_text(item) for item in array.findall(_ITEM)]
    text = read_value(rdf, name)
    return [text] if text and text.strip() else []


def set_value(rdf: Any, name: str, text: str) -> None:
    """Set a simple property, in the form that it has, else as an element."""
    for holder in rdf.findall(_DESCRIPTION):
        if holder.get(name) is not None:
            holder.set(name, text)
            return
        element = holder.find(name)
        if element is not None:
            _set_text(element, text)
            return
    _new(_holder(rdf), name).text = text


def add_items(rdf: Any, name: str, kind: Container, texts: Iterable[str]) -> list[str]:
    """Add the texts that an array does not contain yet, and return them. Alternatives get the default
    language."""
    there = set(read_items(rdf, name))
    added = [text for text in dict.fromkeys(texts) if text not in there]
    if not added:
        return []
    array = _array(rdf, name)
    if array is None:
        alone = read_items(rdf, name)
        remove(rdf, name)
        array = _new(_new(_holder(rdf), name), kind)
        _add_to(array, alone)
    _add_to(array, added)
    return added


def remove_items(rdf: Any, name: str, texts: Sequence[str]) -> None:
    """Remove each of these texts from an array once, and the array itself if it is then empty."""
    array = _array(rdf, name)
    if array is None:
        return
    for text in texts:
        item = next((item for item in array.findall(_ITEM) if _text(item) == text), None)
        if item is not None:
            _drop(item)
    if not array.findall(_ITEM):
        remove(rdf, name)


def remove(rdf: Any, name: str) -> None:
    """Remove a property."""
    for holder in rdf.findall(_DESCRIPTION):
        holder.attrib.pop(name, None)
        for element in holder.findall(name):
            _drop(element)


def count(rdf: Any, name: str) -> int:
    """How often a property is written; more than once violates ISO 16684-1."""
    holders = rdf.findall(_DESCRIPTION)
    return sum((holder.get(name) is not None) + len(holder.findall(name)) for holder in holders)


def structure(rdf: Any, name: str) -> dict[str, list[str]]:
    """The members of a structure of texts and arrays of texts, by name."""
    for holder in rdf.findall(_DESCRIPTION):
        found = holder.find(name)
        if found is not None:
            inner = found.find(_DESCRIPTION)
            inner = found if inner is None else inner
            simple = {k: [v] for k, v in inner.attrib.items() if not k.startswith(f"{{{RDF}}}")}
            return simple | {member.tag: _texts(member) for member in inner.iterchildren("{*}*")}
    return {}


def add_structure(rdf: Any, name: str, members: Mapping[str, str | Sequence[str]]) -> None:
    """Add a structure of texts and arrays of texts."""
    made = _new(_holder(rdf), name)
    made.set(f"{{{RDF}}}parseType", "Resource")
    for member, content in members.items():
        if isinstance(content, str):
            _new(made, member).text = content
        elif content:
            _add_to(_new(_new(made, member), Container.BAG), content)


def _texts(member: Any) -> list[str]:
    array = next((child for child in member.iterchildren(*Container)), None)
    return [_text(member)] if array is None else [_text(item) for item in array.findall(_ITEM)]


def _holder(rdf: Any) -> Any:
    holder = rdf.find(_DESCRIPTION)
    if holder is None:
        holder = _new(rdf, _DESCRIPTION)
        holder.set(_ABOUT, "")
    return holder


def _array(rdf: Any, name: str) -> Any:
    for holder in rdf.findall(_DESCRIPTION):
        for element in holder.findall(name):
            for child in element.iterchildren(*Container):
                return child
    return None


def _add_to(array: Any, texts: Iterable[str]) -> None:
    for text in texts:
        item = _new(array, _ITEM)
        item.text = text
        if array.tag == Container.ALTERNATIVES:
            item.set(_LANGUAGE, _DEFAULT)


def _qualified(element: Any) -> Any:
    """The element that has the value of a qualified property as a child or attribute, else None."""
    inner = element.find(_DESCRIPTION)
    inner = element if inner is None else inner
    return inner if inner.find(_VALUE) is not None or inner.get(_VALUE) is not None else None


def _text(element: Any) -> str:
    inner = _qualified(element)
    if inner is None:
        return "".join(element.xpath("text()"))
    return str(inner.get(_VALUE) if inner.get(_VALUE) is not None else _text(inner.find(_VALUE)))


def _set_text(element: Any, text: str) -> None:
    inner = _qualified(element)
    if inner is not None and inner.get(_VALUE) is not None:
        inner.set(_VALUE, text)
        return
    target = element if inner is None else inner.find(_VALUE)
    for child in list(target):
        target.remove(child)
    target.text = text


def _new(parent: Any, name: str) -> Any:
    """Append a child, indented like its siblings."""
    from lxml import etree

    space = name[1:].partition("}")[0]
    prefixes = {prefix: uri for prefix, uri in PREFIXES.items() if uri == space}
    depth = sum(1 for _ in parent.iterancestors())
    last = parent[-1] if len(parent) else None
    child = etree.SubElement(parent, name, nsmap=prefixes)
    before, after = "\n" + " " * (depth + 1), "\n" + " " * depth
    if last is None:
        parent.text = before
    else:
        last.tail = before
    child.tail = after
    return child


def _drop(element: Any) -> None:
    """Remove an element and leave the text around it."""
    parent, before = element.getparent(), element.getprevious()
    tail = element.tail
    last = element.getnext() is None
    parent.remove(element)
    if last and before is not None:
        before.tail = tail
    elif last:
        parent.text = tail if tail and tail.strip() else None
