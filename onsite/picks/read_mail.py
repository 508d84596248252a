"""Reads mail files into lines of text: one mail (`.eml`), many (mbox), or the HTML of one.

Headers, transfer encodings and charsets are read by the standard library's `email` (RFC 5322, 2045 to 2049).
Of a text in both plain text and HTML, the plain text is taken. Quotations in HTML come out with `>` before
each line, and a rule across the page as a line of underscores.
"""

from __future__ import annotations

import mailbox
import re
from collections.abc import Iterator
from dataclasses import dataclass
from email.message import EmailMessage
from email.parser import BytesParser
from email.policy import default
from email.utils import getaddresses
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO, cast

from onsite.roster.list_encoding import decode

if TYPE_CHECKING:
    from lxml.html import HtmlElement

_MBOX = re.compile(rb"From \S+.*\d{4}")
_FIELD = re.compile(rb"([!-9;-~]+):[ \t]|[ \t]+\S")
_OF_TRANSPORT = frozenset(
    (b"received", b"message-id", b"mime-version", b"content-type", b"return-path", b"delivered-to", b"date")
)
_HTML = re.compile(rb"\s*(?:<!doctype\s+html|<html|<\?xml[^>]*>\s*<!doctype\s+html)", re.IGNORECASE)

_ENCRYPTED = ("multipart/encrypted", "application/pkcs7-mime", "application/x-pkcs7-mime")

_BLOCK_ELEMENTS = (
    "address article blockquote body center dd div dl dt fieldset footer form h1 h2 h3 h4 h5 h6 header hr "
    "html li main ol p pre section table tr ul"
)
_BLOCKS = frozenset(_BLOCK_ELEMENTS.split())
_UNSEEN = frozenset(("script", "style", "head", "title", "template", "noscript", "object", "svg"))
_RULE = "_" * 32
_BORDER_ABOVE = re.compile(r"border-top(?:-style|-width)?\s*:\s*(?!none|hidden|0)[\w#.]", re.IGNORECASE)
_REPLY_HEAD = "divrplyfwdmsg"
"""How the id of the element ends in which some programs set the head of the mail that is answered. From
memory."""
_HIDDEN = re.compile(r"display\s*:\s*none", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class MailMessage:
    """A mail as text."""

    sender: str  # address, empty where there is none or several
    subject: str
    lines: tuple[str, ...]
    attached: tuple[str, ...] = ()  # names of attached files
    unread: str = ""  # why there is no text


def mail_kind(head: bytes, name: str) -> str:
    """The kind of mail file with this beginning and name: "mbox", "eml", "html", or "" where it is none."""
    head = head.removeprefix(b"\xef\xbb\xbf")
    if _HTML.match(head):
        return "html"
    lines = head.lstrip(b"\r\n").splitlines()
    if lines and _MBOX.match(lines[0]) and len(lines) > 1 and _FIELD.match(lines[1]):
        return "mbox"
    fields: set[bytes] = set()
    for line in lines:
        match = _FIELD.match(line + b" ")
        if not match:
            break
        if match[1]:
            fields.add(match[1].lower())
    by_program = bool(fields & {b"from", b"to", b"subject"}) and len(fields & _OF_TRANSPORT) >= 2
    return "eml" if fields and (by_program or name.lower().endswith(".eml")) else ""


def read_mails(path: Path, stream: BinaryIO, kind: str) -> Iterator[MailMessage]:
    """Yields the mails of a file of that kind, in its order. `stream` is at the file's beginning."""
    if kind == "html":
        yield _MailText.of_html(stream.read()).message("", "", ())
    elif kind == "eml":
        yield _read(BytesParser(policy=default).parse(stream))
    else:
        box = mailbox.mbox(path, factory=cast(Any, _next_of_mbox), create=False)
        try:
            for key in box.iterkeys():
                yield _read(cast(EmailMessage, box[key]))
        finally:
            box.close()


def _next_of_mbox(stream: BinaryIO) -> EmailMessage:
    """Parses a mail of an mbox, in which `>` escapes lines that begin with "From " (common practice)."""
    content = stream.read().replace(b"\n>From ", b"\nFrom ")
    return BytesParser(policy=default).parsebytes(content)


def _read(mail: EmailMessage) -> MailMessage:
    text = _MailText()
    text.take(mail)
    return text.message(_sender(mail), _header(mail, "subject"), tuple(text.attached))


class _MailText:
    """The text of a mail, collected from its parts."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self.attached: list[str] = []
        self.unread = ""

    @classmethod
    def of_html(cls, content: bytes) -> _MailText:
        text = cls()
        text._take_html(_decoded(content, _declared(content)) or "")
        return text

    def message(self, sender: str, subject: str, attached: tuple[str, ...]) -> MailMessage:
        has_text = any(map(str.strip, self.lines))
        unread = "" if has_text else self.unread or "it has no text"
        return MailMessage(sender, subject, tuple(self.lines), attached, unread or self.unread)

    def take(self, part: EmailMessage) -> None:
        kind = part.get_content_type()
        if kind in _ENCRYPTED:
            self.unread = "it is encrypted: open it in the mail program, and save its text"
        elif kind == "multipart/alternative":
            self._take_best([cast(EmailMessage, each) for each in part.iter_parts()])
        elif part.is_multipart() and kind != "message/rfc822":
            for each in part.iter_parts():
                self.take(cast(EmailMessage, each))
        elif kind in ("text/plain", "text/html") and part.get_content_disposition() != "attachment":
            self._take_text(part, kind)
        elif not (kind.startswith("image/") and part["content-id"]):  # else it is part of the HTML
            self.attached.append(_file_name(part) or kind)

    def _take_best(self, parts: list[EmailMessage]) -> None:
        """Takes the plain text among alternatives, else the first of them with any text."""
        found: list[tuple[bool, int, _MailText]] = []
        for part in parts:
            text = _MailText()
            text.take(part)
            if any(map(str.strip, text.lines)):
                found.append((part.get_content_type() != "text/plain", len(found), text))
            self.attached += text.attached
            self.unread = self.unread or text.unread
        if found:
            self.lines += min(found)[2].lines

    def _take_text(self, part: EmailMessage, kind: str) -> None:
        content = part.get_payload(decode=True)
        text = _decoded(content if isinstance(content, bytes) else b"", part.get_content_charset() or "")
        if text is None:
            self.unread = "its text cannot be read: open it in the mail program, and save its text"
        elif kind == "text/html":
            self._take_html(text)
        else:
            lines = text.splitlines()
            is_flowed = str(part.get_param("format", "")).lower() == "flowed"
            without_space = str(part.get_param("delsp", "")).lower() == "yes"
            self.lines += list(_unflowed(lines, without_space)) if is_flowed else lines

    def _take_html(self, text: str) -> None:
        from lxml import etree, html

        try:
            tree = html.document_fromstring(text.encode("utf-8"), parser=html.HTMLParser(encoding="utf-8"))
        except (etree.ParserError, ValueError):  # it is empty
            return
        lines = [""]
        try:
            _lay_out(tree, 0, lines)
        except RecursionError:
            self.unread = "its HTML is nested beyond reading: save its text"
        self.lines += [_quoted_line(line) for line in lines]


def _unflowed(lines: list[str], without_space: bool) -> Iterator[str]:
    """Joins the lines of format=flowed text (RFC 3676, 4.1 to 4.5)."""
    held, depth = "", 0
    for line in lines:
        marks = len(line) - len(line.lstrip(">"))
        content = line[marks:].removeprefix(" ")
        if held and marks != depth:
            yield ">" * depth + (" " if depth else "") + held
            held = ""
        depth = marks
        if content.endswith(" ") and content != "-- ":
            held += content[:-1] if without_space else content
        else:
            yield ">" * marks + (" " if marks else "") + held + content
            held = ""
    if held:
        yield ">" * depth + (" " if depth else "") + held


def _lay_out(element: HtmlElement, depth: int, lines: list[str]) -> None:
    """Appends the text of an element to `lines`. A U+0001 at the beginning of a line stands for each level of
    quotation, since the text itself may contain `>`."""
    tag = element.tag if isinstance(element.tag, str) else ""
    if tag and tag not in _UNSEEN and not _HIDDEN.search(element.get("style") or ""):
        is_block = tag in _BLOCKS
        depth += tag == "blockquote"
        if is_block or tag == "br":
            _new_line(lines, depth)
        if tag == "hr" or (is_block and _is_ruled(element)):
            lines[-1] += _RULE
            _new_line(lines, depth)
        if tag in ("td", "th") and _bare(lines[-1]):
            lines[-1] += " "
        _add(lines, element.text, depth, tag == "pre")
        for child in element:
            _lay_out(child, depth, lines)
            _add(lines, child.tail, depth, tag == "pre")
        if is_block:
            _new_line(lines, depth - (tag == "blockquote"))
            if tag == "p":
                lines.append("\1" * (depth - (tag == "blockquote")))


def _is_ruled(element: HtmlElement) -> bool:
    """Whether a line is drawn over a block, or the head of another mail stands in it."""
    is_head = (element.get("id") or "").lower().endswith(_REPLY_HEAD)
    return is_head or bool(_BORDER_ABOVE.search(element.get("style") or ""))


def _add(lines: list[str], text: str | None, depth: int, as_it_is: bool) -> None:
    for place, part in enumerate((text or "").replace("\1", " ").splitlines() if as_it_is else [text or ""]):
        if place:
            _new_line(lines, depth)
        words = part.replace("\1", " ") if as_it_is else re.sub(r"[ \t\r\n\f\1]+", " ", part)
        lines[-1] += words if _bare(lines[-1]) else words.lstrip(" ")


def _new_line(lines: list[str], depth: int) -> None:
    if _bare(lines[-1]):
        lines.append("")
    lines[-1] = "\1" * depth


def _bare(line: str) -> str:
    return line.replace("\1", "").strip()


def _quoted_line(line: str) -> str:
    depth = line.count("\1")
    return (">" * depth + " " if depth else "") + line.replace("\1", "").strip()


def _declared(content: bytes) -> str:
    match = re.search(rb"charset\s*=\s*[\"']?([A-Za-z0-9_.:-]+)", content[:2048])
    return match[1].decode("ascii") if match else ""


def _decoded(content: bytes, charset: str) -> str | None:
    """Decodes a part by its declared charset, else by the one that its bytes suggest."""
    try:
        return content.decode(charset or "utf-8")
    except (LookupError, UnicodeError, ValueError):
        found = decode(content)
        return found.text if found else None


def _sender(mail: EmailMessage) -> str:
    addresses = [address for _, address in getaddresses([_header(mail, "from")]) if address]
    return addresses[0].casefold() if len(addresses) == 1 and "@" in addresses[0] else ""


def _header(mail: EmailMessage, name: str) -> str:
    """A header field as text; empty where it is too damaged to read."""
    try:
        return str(mail[name] or "")
    except Exception:  # the address parser raises many kinds of errors on damaged fields
        return ""


def _file_name(part: EmailMessage) -> str:
    try:
        return part.get_filename() or ""
    except Exception:  # as above
        return ""
