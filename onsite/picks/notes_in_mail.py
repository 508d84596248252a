"""Notes to the retoucher, in the running text around a pick code. Pure.

A mail holds more than its code, and no rule can tell a word to the retoucher from a word of thanks. So all of
it is the person's note: the lines under their code, and those right above it without an empty line between. A
superfluous note is read and forgotten; a lost note is a scar that is gone. Left out are quoted lines,
greetings, lines of frame names, the person's own name, and everything after a line `--` (the mark before a
signature, RFC 3676, 4.3). Text after an empty line between the codes of two people may belong to either and
is only reported: a note under the wrong person is worse than none.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, field

from onsite.picks.quoted_mail_lines import is_mail_field

LONGEST = 1_000
"""Characters of a person's note; the rest is reported."""

_MOST_LINES = 200
"""Lines that are kept around a code; further lines are reported."""

_HEADING = re.compile(r"(?:(?:content|mime|message|reply|return|x)-[a-z-]+): *\S.*|-{3,}.*", re.IGNORECASE)
"""A line that separates two mails, other than the fields of their heads."""

_HELLO = r"""hello|hi|hey|dear|good\ (?:morning|day|evening)|
    hallo|guten\ (?:tag|morgen|abend)|liebe[rs]?|sehr\ geehrte[rs]?|grüß\ gott|grüezi|servus|moin|
    bonjour|bonsoir|salut|ch(?:er|ère)s?|hola|buen[oa]s\ (?:días|tardes|noches)|estimad[oa]s?|querid[oa]s?|
    ciao|buongiorno|buonasera|salve|gentile|car[oaie]"""
_THANKS = r"""(?:many\ )?thanks|thank\ you|thx|(?:vielen\ |herzlichen\ |besten\ )?dank|
    danke(?:\ schön|\ sehr)?|merci|(?:muchas\ |mil\ )?gracias|(?:mille\ |molte\ )?grazie"""
_MANNERS = r"""(?:\ (?:very\ much|so\ much|a\ lot|again|in\ advance|for\ (?:the|your)\ \w+|
    im\ voraus|beaucoup|d'avance|por\ todo|mille))?"""
_CLOSING = r"""(?:with\ )?(?:best|kind|warm)(?:\ (?:regards|wishes))?|regards|yours(?:\ (?:sincerely|truly))?|
    sincerely|cheers|(?:viele|liebe|herzliche|schöne|beste|freundliche)\ gr(?:ü|ue)(?:ß|ss)e|
    mit\ freundlichen\ gr(?:ü|ue)(?:ß|ss)en|lg|mfg|vg|cordialement|bien\ (?:à\ vous|cordialement)|salutations|
    bonne\ journée|(?:un\ |cordiales\ )?saludos?|atentamente|un\ abrazo|
    (?:cordiali\ |distinti\ |tanti\ )?saluti|un\ saluto|sent\ from\ my\ \w+.{0,20}|
    von\ meinem\ \w+.{0,20}\ gesendet|envoyé\ de(?:puis)?\ mon\ \w+.{0,20}|
    enviado\ desde\ mi\ \w+.{0,20}|inviato\ da(?:l\ mio)?\ \w+.{0,20}"""
_NAMED = r"(?:(?:\ [\w.]+){0,3},|(?:\ (?-i:[^\W\d_a-zß-ÿ])[\w.]*){1,3}[!.]?|[!.,]?)"
_GREETING = re.compile(
    rf"(?:{_HELLO}){_NAMED}|(?:(?:{_THANKS}){_MANNERS}|{_CLOSING})[!.,\ ]*", re.IGNORECASE | re.VERBOSE
)
"""A line that only greets or thanks, in five languages. From memory."""

_MARKUP = re.compile(r"</?[a-z!][^>]*>.*", re.IGNORECASE)

_SIGNED = "--"
_HAS_WORDS = re.compile(r"[^\W_]")

ReportLine = Callable[[int, str, str], None]
"""Called with (row, text, why it is nobody's note)."""

Dropped = Callable[[int, str], None]
"""Called with (row, text) of words that belong to no pick code."""


@dataclass(slots=True)
class _Paragraph:
    """Consecutive lines without an empty line between them."""

    is_own: bool  # certainly by the person whose code is above
    lines: list[tuple[int, str]] = field(default_factory=list)
    last: int = 0  # row of the last line


@dataclass(slots=True)
class MailNotes:
    """Collects notes line by line."""

    report: ReportLine
    dropped: Dropped
    lines_by_person: dict[int, list[tuple[int, str]]] = field(default_factory=dict)
    person: int | None = None
    """Owner of the last code: 0 where that code was not taken, None where the mail has had no code yet."""
    in_mail: bool = False
    """Whether the lines are from one mail, so that text after a line `--` is its signature."""
    signed: bool = False
    """Whether the signature has begun."""
    _paragraphs: list[_Paragraph] = field(default_factory=list)
    _held: int = 0
    _known: set[int] = field(default_factory=set)
    """Rows that are reported for another reason."""

    def code(self, row: int, person: int, after: str = "") -> None:
        """Takes a pick code in a row and the text `after` it; `person` is 0 where the code was not taken."""
        above = self._paragraphs[-1] if self._paragraphs else None
        if above and above.last == row - 1 and not (above.is_own and self.person is not None):
            self._paragraphs.pop()
        else:
            above = None
        self._settle(another_follows=True)
        self._begin(person)
        if above:
            self._keep(person, above)
        self._paragraphs.append(_Paragraph(True, [(row, after)] if _is_note(after) else [], row))

    def line(self, row: int, text: str, is_own: bool = False, known: bool = False) -> None:
        """Takes a line without a code. `is_own`: certainly by the person whose code is above, and not a note
        (their name, or frames). `known`: the line is reported for another reason."""
        if _HEADING.fullmatch(text) or (is_mail_field(text) and not self.in_mail):
            self.end()
            return
        if text == _SIGNED:
            self.signed = self.in_mail or self.person is not None
        if known:
            self._known.add(row)
        last = self._paragraphs[-1] if self._paragraphs else None
        if last is None or last.last != row - 1:
            if self.person is None:
                self._drop()
            last = _Paragraph(False)
            if len(self._paragraphs) < _MOST_LINES:
                self._paragraphs.append(last)
        last.last = row
        last.is_own = last.is_own or is_own
        if is_own or self.signed or not _is_note(text):
            return
        if self._held < _MOST_LINES and last is self._paragraphs[-1]:
            last.lines.append((row, text))
            self._held += 1
        elif self.person is not None:
            self.report(row, text, "the text around a pick code is too long for a note")
        else:
            self.dropped(row, text)

    def end(self) -> None:
        """Ends the text, or the mail where another begins."""
        self._settle(another_follows=False)
        self._begin(None)

    def _begin(self, person: int | None) -> None:
        self.person = person
        self._paragraphs.clear()
        self._held = 0
        self._known.clear()
        self.signed = False

    def _settle(self, another_follows: bool) -> None:
        if self.person is None:
            self._drop()
            return
        for paragraph in self._paragraphs:
            if another_follows and not paragraph.is_own:
                for row, text in paragraph.lines:
                    self.report(row, text, "it lies between two pick codes; a note to whose?")
            else:
                self._keep(self.person, paragraph)

    def _drop(self) -> None:
        for paragraph in self._paragraphs:
            for row, text in paragraph.lines:
                if row not in self._known:
                    self.dropped(row, text)
        self._paragraphs.clear()
        self._held = 0

    def _keep(self, person: int, paragraph: _Paragraph) -> None:
        for row, text in paragraph.lines:
            if person:
                self.lines_by_person.setdefault(person, []).append((row, text))
            else:
                self.report(row, text, "it is with a pick code that was not taken")


def note_of(words: list[str]) -> tuple[str, str]:
    """(the note made of these lines, each of them once; the rest, where it is too long)."""
    text = plain_text(" ".join(dict.fromkeys(words)))
    if len(text) <= LONGEST:
        return text, ""
    cut = text.rfind(" ", 0, LONGEST + 1)
    cut = cut if cut > 0 else LONGEST
    return text[:cut], text[cut:].strip()


def plain_text(text: str) -> str:
    """A text on one line, without control characters."""
    return " ".join("".join(" " if unicodedata.category(c)[0] == "C" else c for c in text).split())


def _is_note(text: str) -> bool:
    return bool(_HAS_WORDS.search(text)) and not (_MARKUP.fullmatch(text) or _GREETING.fullmatch(text))
