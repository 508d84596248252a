"""Questions about columns that may concern consent, with the effect of each possible answer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from onsite.core.errors import Problem
from onsite.core.text import escaped, plural
from onsite.roster.consent_answers import consent_answer
from onsite.roster.consent_headings import Leaning
from onsite.roster.find_consent_columns import AskedColumn
from onsite.roster.list_column_options import OTHER, SENSES, map_option
from onsite.roster.parse_consent import Consent
from onsite.roster.read_list_table import column_letter

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
            return "it is not about consent, and is kept as it is"
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
    ways = " or ".join(f"{answer.option} ({_option_text(answer)})" for answer in first.answers)
    return Problem(
        f"{file}: {first.text}{others}. Nothing was loaded.",
        f"Add {ways}; --dry-run shows what each would mean.",
    )


def _option_text(answer: ConsentAnswer) -> str:
    return "not about consent" if answer.field == OTHER else str(SENSES[answer.field])
