"""Rows at the end of a list that count the people and are not people: "Total, 60", "60 people", "Summe".

A person is never left out silently, and a doubtful row is kept: a row is a total only if it stands at the end
and holds nothing but the word and a number. The words are common practice, no source, from memory.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from enum import StrEnum

from onsite.roster.column_headings import heading_words


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_TOTAL = _words(
    """
    total totals subtotal grandtotal count counted gesamt gesamtzahl insgesamt summe zwischensumme
    anzahl somme totaux effectif nombre suma totales subtotales numero cantidad totale totali somma
    numero soma totais quantidade totaal som aantal summa antal totalt ogolem razem liczba lacznie
    celkem soucet pocet συνολο αθροισμα итого всего toplam yhteensa sum sammenlagt i alt ialt
    合計 总计 합계"""
)
_COUNTED_NOUNS = _words(
    """
    people persons person pax participants participant students pupils members singers players children
    entries names rows of in the all listed personen person leute teilnehmer teilnehmende schuler kinder
    mitglieder namen eintrage personnes participants eleves enfants membres noms de des personas
    participantes alumnos ninos socios persone partecipanti alunni bambini soci pessoas alunos criancas
    membros mensen personen deelnemers leerlingen leden personer deltagare elever barn medlemmar osob
    osoby uczestnikow uczniow dzieci osoby ucastniku zaku deti clenu general generale generaal ατομα
    человек участников kisi henkiloa grand n"""
)


_CLEAR_TOTALS = _words(
    """
    total totals subtotal gesamt gesamtzahl insgesamt summe zwischensumme anzahl totaux totale totali
    totaal aantal totalt ogolem razem celkem soucet pocet συνολο итого всего toplam yhteensa people
    personen 合計 总计 합계"""
)
"""Words that are nobody's name; Suma, Soma and Som are names of people."""


_BRACKETS = str.maketrans("()[]=", "     ")


class RowKind(StrEnum):
    """What a row of a list is."""

    PERSON = "person"
    TOTAL = "total"
    """Certainly not a person."""
    DOUBTFUL = "doubtful"
    """A person with an unusual name, or a total that stands among people or does not fit their number."""


def row_kind(cells: Sequence[str], people: Collection[int], at_end: bool, is_name: bool = False) -> RowKind:
    """Classifies a row by its texts.

    `people` are the possible counts of the rows above it; `at_end`: no person comes below; `is_name`: one of
    the texts is in a column of names.
    """
    words = [word for text in cells for word in heading_words(text.translate(_BRACKETS))]
    numbers = [int(word) for word in words if word.isdecimal() and len(word) < 7]
    named = [word for word in words if not word.isdecimal()]
    begins_clear = bool(named) and named[0] in _CLEAR_TOTALS
    if not words or not all(word in _TOTAL or word in _COUNTED_NOUNS for word in named):
        return RowKind.DOUBTFUL if begins_clear and numbers else RowKind.PERSON
    if not at_end:
        return RowKind.DOUBTFUL if named else RowKind.PERSON
    fits = len(numbers) == 1 and numbers[0] in people
    if fits or begins_clear or len(named) > 1 or (is_name and not named):
        return RowKind.TOTAL
    return RowKind.DOUBTFUL if named else RowKind.PERSON
