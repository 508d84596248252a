"""The columns of a list that are about consent, and questions about those that a person must explain."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from onsite.core.errors import Problem
from onsite.core.text import escaped, plural
from onsite.roster.column_headings import heading_words, is_ordinary, recognise
from onsite.roster.consent_answers import (
    ConsentColumn,
    ConsentSense,
    consent_answer,
    is_answer,
    is_mark,
    is_plain_answer,
)
from onsite.roster.consent_headings import (
    Leaning,
    heading_leaning,
    is_only_about_permission,
    is_permission,
    is_picture,
)
from onsite.roster.list_column_options import (
    CONSENT,
    KNOWN_SENSES,
    NO_CONSENT,
    OTHER,
    SENSES,
    ChosenColumns,
    map_option,
)
from onsite.roster.parse_consent import Consent, parse_consent
from onsite.roster.read_list_table import TableRow, cell_text, column_letter
from onsite.roster.roster_entry import ListNotice


@dataclass(frozen=True, slots=True)
class AskedColumn:
    """A column, from 0, with answers that may be about consent, under an unknown heading."""

    column: int
    heading: str
    leaning: Leaning

    @property
    def fields(self) -> tuple[str, ...]:
        """The fields to which it may be mapped, the likelier first."""
        if self.leaning is Leaning.LIKELY_FORBIDS:
            return NO_CONSENT, OTHER
        if self.leaning is Leaning.EITHER:
            return NO_CONSENT, CONSENT, OTHER
        return CONSENT, NO_CONSENT, OTHER


_NEVER_ANSWERS = frozenset(
    ("key", "number", "name", "bare", "family first", "given", "family", "consent", "spoken", "language")
)
"""Sorts of headings under which a yes, a no or a cross is something else: "no" is Norwegian."""


def find_consent_columns(
    texts: Sequence[str], headings: Sequence[str], rows: Sequence[TableRow], chosen: ChosenColumns
) -> tuple[tuple[ConsentColumn, ...], tuple[AskedColumn, ...], list[ListNotice]]:
    """The columns about consent, mapped ones first; the columns to ask about; and notices.

    `texts` are the headings as the list has them, "" for none. Only columns that are mapped to something else
    are passed over; other fields are guessed from what is left.
    """
    consents: list[ConsentColumn] = []
    open_: list[AskedColumn] = []
    others: list[AskedColumn] = []
    used = set(chosen.fields.values())
    for column, heading in enumerate(headings):
        text = texts[column] if column < len(texts) else ""
        leaning = heading_leaning(text)
        if column in used or column in chosen.others:
            continue
        sense = chosen.senses.get(column) or KNOWN_SENSES.get(leaning)
        if sense is not None:
            expected = any(consent_answer(sense, cell_text(row, column)) is Consent.YES for row in rows)
            consents.append(ConsentColumn(column, heading, sense, expected))
        elif leaning is not None:
            open_.append(AskedColumn(column, heading, leaning))
        elif recognise(text) not in _NEVER_ANSWERS and not is_ordinary(text):
            others.append(AskedColumn(column, heading, Leaning.VAGUE))
    is_answered = any(cell_text(row, consent.column).strip() for consent in consents for row in rows)
    asked = tuple(
        column
        for column in open_
        if _is_asked(column, [cell_text(row, column.column) for row in rows], is_answered)
    )
    if not is_answered and all(column.leaning is Leaning.VAGUE for column in asked):
        answers = [
            column
            for column in others
            if _has_answers(
                [cell_text(row, column.column) for row in rows],
                is_field=recognise(column.heading) is not None,
            )
        ]
        asked = tuple(sorted((*asked, *answers), key=lambda column: column.column))
    consents.sort(key=lambda consent: consent.column not in chosen.senses)
    notices = _sense_notices(consents, rows, chosen)
    if not consents:
        notices += _unread_notices(open_, asked, headings)
    return tuple(consents), asked, notices


def _is_asked(asked_about: AskedColumn, cells: Sequence[str], is_answered: bool) -> bool:
    """Whether a person must explain a column before the list can be loaded.

    `is_answered`: the list has another column about consent.
    """
    texts = [text for text in cells if text.strip()]
    is_answers = any(map(is_answer, texts))
    if asked_about.leaning is Leaning.VAGUE:
        return not is_answered and _has_answers(cells)
    is_answers = is_answers or (bool(texts) and all(map(is_mark, texts)))
    words = heading_words(asked_about.heading)
    if asked_about.leaning is Leaning.LIKELY_AGREES:
        if not is_answered:
            return is_answers or (bool(texts) and is_permission(words))
        settled = all(parse_consent(text) is Consent.YES for text in cells)  # nobody would be published less
        return is_answers and not settled and not is_only_about_permission(asked_about.heading)
    is_text = any(character.isalpha() for text in texts for character in text)
    is_answers = is_answers or any(map(is_mark, texts))  # a single cross may keep somebody back
    return is_answers or (is_text and (is_permission(words) or is_picture(words)))


def _has_answers(cells: Sequence[str], is_field: bool = False) -> bool:
    """Whether more than half of the cells that say something are a yes, a no, a cross or a tick.

    Under the heading of another field (`is_field`) all of them must be, and one of them no plain no. A dash
    or a question mark is as good as a blank, and a number among words may be their sum. Cells that are 0 and
    1 alone are answers where they are not all 1, and in no other field.
    """
    texts = [text for cell in cells if (text := cell.strip()) and text.casefold() not in _NOTHING]
    words = [text for text in texts if not text.isdigit()]
    if not words:
        is_binary = "1" in texts and set(texts) <= {"0", "1"}
        return is_binary and not is_field and ("0" in texts or len(texts) < len(cells))
    plain = [text for text in words if is_mark(text) or parse_consent(text) in (Consent.YES, Consent.NO)]
    if is_field:
        return len(plain) == len(words) and any(parse_consent(text) is not Consent.NO for text in plain)
    begun = [text for text in words if text in plain or _begins_with_an_answer(text)]
    is_said = any(is_mark(text) or is_plain_answer(text) for text in plain)
    return is_said and 2 * len(begun) > len(words)


def _begins_with_an_answer(text: str) -> bool:
    """Whether a text is an answer with more after it, "yes, not online"; "No. 12" is an address."""
    return is_answer(text) and not any(character.isdigit() for character in text)


_NOTHING = frozenset(("-", "--", "–", "—", "?", "/", ".", "n/a"))
"""What stands in a cell instead of nothing."""


def _sense_notices(
    consents: Sequence[ConsentColumn], rows: Sequence[TableRow], chosen: ChosenColumns
) -> list[ListNotice]:
    notices = [
        ListNotice(0, f"{escaped(consent.heading)} (column {column_letter(consent.column)}): {consent.sense}")
        for consent in consents
        if consent.sense is not ConsentSense.AGREES
    ]
    if len(consents) > 1:
        listed = ", ".join(
            f"{escaped(consent.heading)} (column {column_letter(consent.column)})" for consent in consents
        )
        notices.append(ListNotice(0, f"{len(consents)} columns about consent, the stricter counts: {listed}"))
    for consent in consents:
        texts = [text for row in rows if (text := cell_text(row, consent.column))]
        clear = any(consent_answer(consent.sense, text) in (Consent.YES, Consent.NO) for text in texts)
        if consent.column in chosen.senses and not clear:
            listed = ", ".join(map(escaped, list(dict.fromkeys(texts))[:4])) or "it is empty"
            notices.append(
                ListNotice(
                    0,
                    f"{escaped(consent.heading)} (column {column_letter(consent.column)}) is mapped to"
                    f" consent and has no yes or no that is understood: {listed}",
                )
            )
    return notices


def _unread_notices(
    open_: Sequence[AskedColumn], asked: Collection[AskedColumn], headings: Sequence[str]
) -> list[ListNotice]:
    """Notices about columns that are not read: a refusal must not go unnoticed in one."""
    return [
        ListNotice(
            0,
            f"{escaped(asked_about.heading)} may be about consent and is kept beside; if it is: "
            + " or ".join(
                f"{map_option(name, asked_about.column, headings)} ({_MEANS[name]})"
                for name in asked_about.fields
                if name != OTHER
            ),
        )
        for asked_about in open_
        if asked_about not in asked and asked_about.leaning is not Leaning.VAGUE
    ]


_MEANS = {CONSENT: "a yes means may be published", NO_CONSENT: "a yes means must not be published"}


# Questions

CONSENT_WORDS = {
    Consent.YES: "may be published",
    Consent.NO: "must not be published",
    Consent.UNCLEAR: "not clear",
    Consent.UNKNOWN: "not said",
}


@dataclass(frozen=True, slots=True)
class ConsentAnswer:
    """A possible answer: the column is mapped to `field` by the command-line `option`.

    `counts` is how many people then have each consent; `examples` has an example of each, "Ana Horvat: yes".
    Both are empty for the answer that the column is not about consent.
    """

    field: str
    option: str
    counts: Mapping[Consent, int]
    examples: Mapping[Consent, str]

    def __str__(self) -> str:
        if self.field == OTHER:
            return "it is not about consent, is kept as it is, and keeps nobody back"
        counts_text = ", ".join(
            f"{self.counts[said]} {CONSENT_WORDS[said]}" + self._example(said)
            for said in Consent
            if self.counts.get(said)
        )
        return f"{SENSES[self.field]}: {counts_text}"

    def _example(self, said: Consent) -> str:
        return f" ({self.examples[said]})" if said in self.examples else ""


@dataclass(frozen=True, slots=True)
class ConsentQuestion:
    """The question what a yes in a column means: its letter, heading and answers, the likelier first."""

    column: str
    heading: str
    leaning: Leaning
    answers: tuple[ConsentAnswer, ...]

    @property
    def text(self) -> str:
        """The question and its reason."""
        where = f"{escaped(self.heading)} (column {self.column})"
        if self.leaning is Leaning.LIKELY_FORBIDS:
            return f"{where} seems to say who must not be published, in words that are not known"
        if self.leaning is Leaning.EITHER:
            return f"{where} is about consent, and its heading can be read both ways"
        if self.leaning is Leaning.VAGUE:
            return f"{where} may say who may be published: its cells are yes, no or crosses, or most of them"
        return f"{where} may say who may be published, and its heading does not say what a yes means"


def consent_question(
    asked: AskedColumn, headings: Sequence[str], cells: Sequence[tuple[str, str]]
) -> ConsentQuestion:
    """The question about a column; `cells` are (name, text) of each person."""
    answers = tuple(_answer(name, map_option(name, asked.column, headings), cells) for name in asked.fields)
    return ConsentQuestion(column_letter(asked.column), asked.heading, asked.leaning, answers)


def _answer(name: str, option: str, cells: Sequence[tuple[str, str]]) -> ConsentAnswer:
    if name == OTHER:
        return ConsentAnswer(name, option, {}, {})
    counts: Counter[Consent] = Counter()
    examples: dict[Consent, str] = {}
    for person, text in cells:
        said = consent_answer(SENSES[name], text)
        counts[said] += 1
        if said is not Consent.UNKNOWN:
            examples.setdefault(said, f"{escaped(person)}: {escaped(text, 40)}")
    return ConsentAnswer(name, option, counts, examples)


def open_questions_problem(questions: Sequence[ConsentQuestion], file: str) -> Problem:
    """The refusal of a list with open questions about consent."""
    first = questions[0]
    more = len(questions) - 1
    others = f", and {plural(more, 'more column')} to answer for" if more else ""
    means = {OTHER: "not about consent", **SENSES}
    ways = " or ".join(f"{answer.option} ({means[answer.field]})" for answer in first.answers)
    return Problem(
        f"{file}: {first.text}{others}. Nothing was loaded.",
        f"Add {ways}; --dry-run shows what each would mean.",
    )
