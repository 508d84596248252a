"""What `onsite roster load` answers: as JSON, and as text."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import asdict
from typing import Any

from onsite.roster.consent import parse_consent
from onsite.roster.consent_answers import ConsentSense
from onsite.roster.consent_questions import CONSENT_WORDS, ConsentQuestion
from onsite.roster.load_list import LoadedList
from onsite.roster.roster_entry import RosterEntry


def load_data(loaded: LoadedList, dry_run: bool = False) -> dict[str, Any]:
    """The JSON object of a loaded list; `changed` has old and new values."""
    return {
        "dry_run": dry_run,
        "added": [{"key": entry.key, "name": entry.name, "group": entry.group} for entry in loaded.added],
        "changed": [_change(change) for change in loaded.changed],
        "restored": [_change(change) for change in loaded.restored],
        "withdrawn": [
            {"key": person.key, "name": person.name, "group": person.group} for person in loaded.withdrawn
        ],
        "unchanged": loaded.unchanged,
        "questions": [asdict(question) for question in loaded.questions],
        "notices": [asdict(notice) for notice in loaded.notices],
        "refused": [asdict(notice) for notice in loaded.refused],
        "columns": [{"column": c, "heading": h, "field": f} for c, h, f in loaded.columns],
        "doubt": loaded.doubt,
        "consents": {answer.value: count for answer, count in loaded.consents},
        "consent_questions": [_question_data(question) for question in loaded.consent_questions],
        "capitals": {
            "choice": str(loaded.capitals.choice),
            "names": [
                {"row": row, "listed": old, "written": new} for row, old, new in loaded.capitals.changes
            ],
            "left": [{"row": row, "listed": name} for row, name in loaded.capitals.left],
        },
    }


def _question_data(question: ConsentQuestion) -> dict[str, Any]:
    """The JSON object of a question about consent; the likelier answers come first."""
    answers = [
        {
            "field": answer.field,
            "option": answer.option,
            "counts": {said.value: count for said, count in answer.counts.items()},
            "examples": {said.value: example for said, example in answer.examples.items()},
        }
        for answer in question.answers
    ]
    return {
        "column": question.column,
        "heading": question.heading,
        "text": question.text,
        "answers": answers,
    }


def _change(change: Any) -> dict[str, Any]:
    fields = {name: [old, new] for name, old, new in change.fields}
    return {"key": change.entry.key, "name": change.entry.name, "fields": fields}


def print_load(
    loaded: LoadedList, say: Callable[..., None], table: Callable[..., None], dry_run: bool = False
) -> None:
    """Print the columns as they were understood, then what changed."""
    senses = dict(loaded.senses)
    rows = [(c, h, _mapping_text(f, senses.get(c))) for c, h, f in loaded.columns]
    table(("column", "heading", "taken as"), rows)
    if dry_run:
        say("")
        table(
            ("key", "name", "given", "family", "group", "consent"),
            [(e.key, e.name, e.given, e.family, e.group, _consent(e)) for e in loaded.added[:12]],
        )
        say(f"… and {len(loaded.added) - 12} more" if len(loaded.added) > 12 else "")
    for title, changes in (("changed", loaded.changed), ("back on the list", loaded.restored)):
        for change in changes:
            listed = "; ".join(
                f"{name}: {old or 'nothing'} → {new or 'nothing'}" for name, old, new in change.fields
            )
            say(f"  {title}: {change.entry.name}  {listed}")
    for person in loaded.withdrawn:
        say(f"  withdrawn: {person.name} ({person.key})")
    refused = {id(notice) for notice in loaded.refused}
    for notice in loaded.notices:
        say(f"  {'refused: ' if id(notice) in refused else ''}{_where(notice.row)}{notice.text}")
    _print_questions(loaded.consent_questions, say)
    if loaded.consent_questions:
        say("Consent: not settled. Answer the question above with one of its options, then load the list.")
    elif loaded.consents:
        listed = ", ".join(f"{count} {CONSENT_WORDS[answer]}" for answer, count in loaded.consents if count)
        say(f"Consent: {listed}.")
    elif dry_run:
        say(
            "Consent: the list has no column about it. If it has: --map consent=COLUMN where a yes means that"
            " somebody may be published, --map no-consent=COLUMN where it means that they must not be."
        )
    if dry_run and loaded.doubt:
        say(f"{loaded.doubt}. If that is meant: --withdraw")
    for question in loaded.questions:
        say(f"  not settled: {_where(question.row)}{question.text}")
    say(
        f"{'Would be: ' if dry_run else ''}{len(loaded.added)} added, {len(loaded.changed)} changed,"
        f" {len(loaded.restored)} back, {len(loaded.withdrawn)} withdrawn, {loaded.unchanged} unchanged"
        f"{', nothing was changed' if dry_run else ''}.",
        "bold",
    )


def _print_questions(questions: Iterable[ConsentQuestion], say: Callable[..., None]) -> None:
    for question in questions:
        say(f"  {question.text}. Nothing is loaded before this is answered:", "bold")
        for answer in question.answers:
            say(f"    {answer.option}")
            say(f"      {answer}")


def _mapping_text(field: str, sense: ConsentSense | None) -> str:
    if sense is None:
        return field or "kept as it is"
    return "consent" if sense is ConsentSense.AGREES else f"consent: {sense}"


def _consent(entry: RosterEntry) -> str:
    return CONSENT_WORDS[parse_consent(entry.consent)]


def _where(row: int | None) -> str:
    return f"row {row}: " if row else ""
