"""Which columns of a list are about consent, and which of them somebody has to be asked about first."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from onsite.roster.consent import Consent, consent_of
from onsite.roster.consent_columns import ConsentColumn, Sense, answer_under, is_answer, is_mark
from onsite.roster.consent_headings import (
    Leaning,
    is_only_about_permission,
    is_permission,
    is_picture,
    leaning_of,
)
from onsite.roster.entry import Notice
from onsite.roster.headings import heading_words
from onsite.roster.maps import CONSENT, NO_CONSENT, OTHER, Chosen, map_option
from onsite.roster.table import Row, cell, letter
from onsite.words import escaped

_KNOWN = {Leaning.AGREES: Sense.AGREES, Leaning.FORBIDS: Sense.FORBIDS}


@dataclass(frozen=True, slots=True)
class AskedColumn:
    """A column, from 0, with answers that plausibly are about consent, under a heading that is not known."""

    column: int
    heading: str
    leaning: Leaning

    @property
    def fields(self) -> tuple[str, ...]:
        """The fields that it may be mapped to, the likelier first."""
        if self.leaning is Leaning.LIKELY_FORBIDS:
            return NO_CONSENT, OTHER
        if self.leaning is Leaning.EITHER:
            return NO_CONSENT, CONSENT, OTHER
        return CONSENT, NO_CONSENT, OTHER


def find_consents(
    texts: Sequence[str], headings: Sequence[str], rows: Sequence[Row], chosen: Chosen, used: Collection[int]
) -> tuple[tuple[ConsentColumn, ...], tuple[AskedColumn, ...], list[Notice]]:
    """Every column that says something about consent, those mapped by hand first; the columns to ask about;
    and what to tell. `texts` are the headings as the list has them, "" where there is none; `used` the
    columns of other fields.
    """
    consents: list[ConsentColumn] = []
    open_: list[AskedColumn] = []
    for column, heading in enumerate(headings):
        leaning = leaning_of(texts[column] if column < len(texts) else "")
        if column in used or column in chosen.others:
            continue
        sense = chosen.senses.get(column) or (_KNOWN.get(leaning) if leaning else None)
        if sense is not None:
            expected = any(answer_under(sense, cell(row, column)) is Consent.YES for row in rows)
            consents.append(ConsentColumn(column, heading, sense, expected))
        elif leaning is not None:
            open_.append(AskedColumn(column, heading, leaning))
    asked = tuple(
        one for one in open_ if _is_asked(one, [cell(row, one.column) for row in rows], bool(consents))
    )
    consents.sort(key=lambda one: one.column not in chosen.senses)
    notices = _how_read(consents, rows, chosen)
    if not consents:
        notices += _kept_beside(open_, asked, headings)
    return tuple(consents), asked, notices


def _is_asked(one: AskedColumn, cells: Sequence[str], is_answered: bool) -> bool:
    """Whether nothing may be loaded before somebody said what a yes in the column means. `is_answered`: the
    list has a column about consent beside it."""
    texts = [text for text in cells if text.strip()]
    is_answers = any(map(is_answer, texts))
    if one.leaning is Leaning.VAGUE:
        plain = all(consent_of(text) in (Consent.YES, Consent.NO) for text in texts)
        return not is_answered and is_answers and plain
    is_answers = is_answers or (bool(texts) and all(map(is_mark, texts)))
    words = heading_words(one.heading)
    if one.leaning is Leaning.LIKELY_AGREES:
        if not is_answered:
            return is_answers or (bool(texts) and is_permission(words))
        settled = all(consent_of(text) is Consent.YES for text in cells)  # nobody would be published less
        return is_answers and not settled and not is_only_about_permission(one.heading)
    is_text = any(character.isalpha() for text in texts for character in text)
    return is_answers or (is_text and (is_permission(words) or is_picture(words)))


def _how_read(consents: Sequence[ConsentColumn], rows: Sequence[Row], chosen: Chosen) -> list[Notice]:
    told = [
        Notice(0, f"{escaped(one.heading)} (column {letter(one.column)}): {one.sense}")
        for one in consents
        if one.sense is not Sense.AGREES
    ]
    if len(consents) > 1:
        listed = ", ".join(f"{escaped(one.heading)} (column {letter(one.column)})" for one in consents)
        told.append(Notice(0, f"{len(consents)} columns about consent, the stricter counts: {listed}"))
    for one in consents:
        texts = [text for row in rows if (text := cell(row, one.column))]
        clear = any(answer_under(one.sense, text) in (Consent.YES, Consent.NO) for text in texts)
        if one.column in chosen.senses and not clear:
            listed = ", ".join(map(escaped, list(dict.fromkeys(texts))[:4])) or "it is empty"
            told.append(
                Notice(
                    0,
                    f"{escaped(one.heading)} (column {letter(one.column)}) is mapped to consent and has "
                    f"no yes or no that is understood: {listed}",
                )
            )
    return told


def _kept_beside(
    open_: Sequence[AskedColumn], asked: Collection[AskedColumn], headings: Sequence[str]
) -> list[Notice]:
    """Who must not be published must not hide in a column that nobody reads."""
    return [
        Notice(
            0,
            f"{escaped(one.heading)} may be about consent and is kept beside; if it is: "
            + " or ".join(
                f"{map_option(name, one.column, headings)} ({_MEANS[name]})"
                for name in one.fields
                if name != OTHER
            ),
        )
        for one in open_
        if one not in asked and one.leaning is not Leaning.VAGUE
    ]


_MEANS = {CONSENT: "a yes means may be published", NO_CONSENT: "a yes means must not be published"}
