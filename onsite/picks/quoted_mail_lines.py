"""Marks the lines of a mail that quote another mail, in whatever way the mail program writes that. Pure.

Mail programs quote in three ways: a mark at the beginning of every line; a line that says who wrote when,
with the other mail under it; and the head of the other mail, perhaps under a line such as "Original Message".
Where every quoted line has a mark, the lines between and under them are an answer. Without marks, everything
to the end of the mail counts as quoted: an answer under it cannot be told apart, and a picture that nobody
chose is worse than a question. Libraries that separate replies from quotations lose the line numbers, or the
answers between quoted lines.

The wording of the mail programs is from memory.
"""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import replace

from onsite.picks.read_pick_file import PickMail, PickRow

_LOOKED_AHEAD = 8  # lines below one that show whether it begins a quoted mail
_WRAPPED = 4
"""Lines over which "On … wrote:" may be wrapped."""

_MARKED = re.compile(r"\s*(?:[A-Za-z]{0,3}>|＞|\|\s*>)")

_WROTE = r"""(?:wrote|writes|schrieb|schreibt|geschrieben|écrit|ecrit|escribió|escribio|escrit|scritto|
    scrive|escreveu|schreef|geschreven|skrev|skreiv|kirjoitti|napisał\w*|pisze|napsal\w*|napísal\w*|napisa[ol]\w*|írta|
    написал\w*|написав\w*|пишет|пише|yazdı|scris|έγραψε|kirjutas|rašė|rakstīja)"""
_ATTRIBUTION = re.compile(
    rf"(?:.*(?<!\w){_WROTE}(?:\(\w+\))?(?!\w).{{0,120}}|.*\d.*<\S+@\S+>.{{0,40}}|.*\d.*(?:写道|寫道|작성|のメール))\s*[:：]",
    re.IGNORECASE | re.VERBOSE,
)
"""An attribution: who wrote, or a date and an address, with a colon at the end."""

_LEADS = re.compile(
    r"[*_]*(?:on|am|le|el|il|em|op|den|dne|dnia|w dniu|dana|în|в|на|pe|\d)\b.*\d", re.IGNORECASE
)
"""How the first line of a wrapped attribution begins: usually with a date."""

_DATED = re.compile(r"\d{1,4}[./-]\d{1,2}|\d{1,2}[:.h]\d{2}|\b(?:19|20)\d\d\b|\S@\S")

_MESSAGE = r"""(?:message|nachricht|mensaje|messaggio|mensagem|bericht|meddelande|meddelelse|melding|viesti|
wiadomość|zpráva|сообщение|повідомлення|e-?mail|メッセージ|邮件|메일)""".replace("\n", "")
_SEPARATOR = re.compile(
    rf"[-_=*]{{2,}}\s?[^-_=*]*{_MESSAGE}[^-_=*]*\s?[-_=*]{{2,}}|"
    r"(?:begin forwarded message|anfang der weitergeleiteten (?:nachricht|e-mail)|"
    r"début du message (?:réexpédié|transféré)|inicio del mensaje reenviado|inizio messaggio inoltrato)\s*:",
    re.IGNORECASE,
)
_RULE = re.compile(r"[-_=*]{4,}")

_FIELDS = {
    "from": "from; von; de; da; van; från; fra; od; от; від; lähettäjä; feladó; 发件人; 差出人",
    "date": """sent; date; gesendet; datum; envoyé; envoyé le; enviado; enviado el; fecha; inviato;
        data; verzonden; enviada; enviada em; skickat; sendt; dato; wysłano; odesláno; отправлено; дата""",
    "to": "to; an; à; a; para; aan; till; til; do; komu; кому; cc; kopie; copie; copia",
    "subject": """subject; betreff; objet; asunto; oggetto; onderwerp; assunto; ämne; emne; temat; předmět;
        тема; 主题; 件名""",
}
"""Fields of a mail's head in the translations of mail programs."""

_KIND = {name.strip(): kind for kind, names in _FIELDS.items() for name in names.split(";")}
_FIELD = re.compile(r"[*_\s]*([^\W\d_][\w ]{0,14}?)[*_\s]*[:：][*_]*\s*(\S.*)?")


def is_mail_field(text: str) -> bool:
    """Whether a line has the form of a field in a mail's head."""
    return _kind(text) != ""


def _kind(text: str) -> str:
    match = _FIELD.fullmatch(text)
    return _KIND.get(" ".join(match[1].casefold().split()), "") if match else ""


def mark_quoted_lines(rows: Iterator[PickRow]) -> Iterator[PickRow]:
    """Yields the same rows, with quoted lines of running text marked `quoted`."""
    ahead: deque[PickRow] = deque()
    reader = _QuoteFinder(None)

    def judged() -> PickRow:
        nonlocal reader
        if ahead[0].mail is not reader.mail:
            reader = _QuoteFinder(ahead[0].mail)
        return reader.judged(ahead)

    for row in rows:
        ahead.append(row)
        if len(ahead) > _LOOKED_AHEAD:
            yield judged()
    while ahead:
        yield judged()


class _QuoteFinder:
    """Finds quoted rows in one mail, or in a text that may hold several mails."""

    def __init__(self, mail: PickMail | None) -> None:
        self.mail = mail
        self.rest = False
        """Whether everything that follows is quoted."""
        self.held = 0
        """How many of the next rows are certainly quoted."""
        self.begun = False
        """Whether anything but the text's own head has been read."""

    def judged(self, ahead: deque[PickRow]) -> PickRow:
        """Removes the first row and returns it, marked where it is quoted."""
        quoted = ahead[0].is_text and self._quotes([row for row in ahead if row.mail is ahead[0].mail])
        row = ahead.popleft()
        self.begun = self.begun or not is_mail_field(row.cells[0])
        return replace(row, quoted=True) if quoted else row

    def _quotes(self, rows: Sequence[PickRow]) -> bool:
        text = rows[0].cells[0]
        if self.held:
            self.held -= 1
            return True
        if self.rest and not self._another_mail(rows):
            return True
        self.rest = False
        if _MARKED.match(text):
            return True
        if length := _attribution(rows):
            self.held = length - 1
            follows = rows[length].cells[0] if length < len(rows) else ""
            self.rest = not _MARKED.match(follows)
            return True
        under_rule = _RULE.fullmatch(text) and self._head(rows[1:], fields=2)
        if self._head(rows) or _SEPARATOR.fullmatch(text) or under_rule:
            self.rest = True
            return True
        return False

    def _head(self, rows: Sequence[PickRow], fields: int = 3) -> bool:
        """Whether the head of another mail begins here: `fields` of it or more. At the beginning of a text it
        is the mail's own head; mails from a mail file come without it."""
        if not self.begun and not self.mail:
            return False
        kinds = _kinds(rows)
        return len(kinds) >= fields and "from" in kinds

    def _another_mail(self, rows: Sequence[PickRow]) -> bool:
        """Whether the next mail of a text begins here: two fields, sender and subject, which no program
        writes above a quotation."""
        return not self.mail and _kinds(rows) == {"from", "subject"}


def _kinds(rows: Sequence[PickRow]) -> set[str]:
    """The kinds of the consecutive head fields from the first row."""
    kinds: set[str] = set()
    last = rows[0].number if rows else 0
    for row in rows:
        kind = _kind(row.cells[0])
        if not kind or row.number > last + 2:  # HTML may have an empty line between them
            break
        kinds.add(kind)
        last = row.number
    return kinds


def _attribution(rows: Sequence[PickRow]) -> int:
    """The number of lines of the attribution that begins here; 0 where none does."""
    for length in range(1, min(_WRAPPED, len(rows)) + 1):
        if rows[length - 1].number != rows[0].number + length - 1:
            return 0
        if length > 1 and not _LEADS.match(rows[0].cells[0]):
            return 0
        text = " ".join(row.cells[0] for row in rows[:length]).replace("\u00a0", " ").replace("\u202f", " ")
        if len(text) <= 400 and _ATTRIBUTION.fullmatch(text):
            is_marked = length < len(rows) and _MARKED.match(rows[length].cells[0])
            if is_marked or _DATED.search(text):
                return length
    return 0
