"""The commands `onsite roster load`, `find` and `list`."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from typer import Argument, Option

from onsite.cli.common_options import open_chosen_shoot, station
from onsite.cli.output import print_answer, print_table, print_text
from onsite.core.errors import Problem

if TYPE_CHECKING:
    from onsite.roster.consent_answers import ConsentSense
    from onsite.roster.consent_columns import ConsentQuestion
    from onsite.roster.find_people import RosterPerson
    from onsite.roster.load_roster import LoadedList
    from onsite.roster.roster_entry import ListNotice, RosterEntry
    from onsite.status.person_status import PersonStatus


def load(
    file: Annotated[Path, Argument(metavar="FILE", help="The list: XLSX, XLS, ODS, CSV or TSV.")],
    sheet: Annotated[str | None, Option(metavar="SHEET", help="Which sheet of a workbook.")] = None,
    map_: Annotated[
        list[str] | None,
        Option(
            "--map",
            metavar="FIELD=COLUMN",
            help="Say what a column is, also for newer lists. Fields: key given family name group role email"
            " phone slot note; consent (a yes means may be published), no-consent (a yes means must not);"
            " other for a column that is kept as it is.",
        ),
    ] = None,
    capitals: Annotated[
        str | None,
        Option(
            metavar="keep|set",
            help="Names in capitals: keep them, or set them as names are written (HORVAT as Horvat), also for"
            " newer lists.",
        ),
    ] = None,
    drop_totals: Annotated[bool, Option("--drop-totals", help="Leave out rows that may be totals.")] = False,
    dry_run: Annotated[bool, Option("--dry-run", help="Show what would happen; change nothing.")] = False,
    withdraw: Annotated[
        bool, Option("--withdraw", help="Even if many people, or some who have arrived, are no longer on it.")
    ] = False,
) -> None:
    """Load the client's list, or a newer version of it."""
    from onsite.roster.load_roster import load_list as load_roster
    from onsite.roster.name_capitals import Capitals

    maps = [_mapped(pair) for pair in map_ or []]
    if capitals is not None and capitals not in tuple(Capitals):
        raise Problem(f"--capitals {capitals} is not known.", f"Choose one of: {', '.join(Capitals)}.")
    loaded = load_roster(
        open_chosen_shoot(),
        file,
        sheet,
        maps,
        dry_run,
        station(None),
        withdraw=withdraw,
        capitals=capitals or "",
        drop_totals=drop_totals,
    )
    in_part = bool(loaded.refused or loaded.questions or loaded.consent_questions)
    print_answer(
        load_data(loaded, dry_run), lambda: print_load(loaded, print_text, print_table, dry_run), in_part
    )


def _mapped(pair: str) -> tuple[str, str]:
    """A FIELD=COLUMN as (field, column)."""
    field, _, column = pair.partition("=")
    if not column:
        raise Problem(
            f"--map {field} does not say a column.", "Write it as FIELD=COLUMN, such as --map name=B."
        )
    return field, column


def find(text: Annotated[list[str], Argument(metavar="TEXT", help="A name, or part of one.")]) -> None:
    """Find people, the best match first."""
    from onsite.roster.find_people import PersonFinder
    from onsite.roster.read_people import read_people

    with open_chosen_shoot().reading() as session:
        hits = PersonFinder(read_people(session)).find(" ".join(text))
    data = [{**_person_data(hit.person), "score": round(hit.score, 1), "why": hit.why} for hit in hits]
    rows = [(h.person.key, h.person.name, h.person.group, h.person.sequence or "", h.why) for h in hits]
    print_answer(
        {"found": data},
        lambda: (
            print_table(("key", "name", "group", "number", "why"), rows)
            if rows
            else print_text("Nobody is found.")
        ),
    )


def list_(
    stage: Annotated[
        str | None, Option(metavar="STAGE", help="Only people at this stage, or absent.")
    ] = None,
    group: Annotated[str | None, Option(metavar="GROUP", help="Only this group.")] = None,
) -> None:
    """List everybody, with their stage."""
    from onsite.roster.roster_groups import is_same_group
    from onsite.status.person_status import ABSENT, Stage, is_absent, is_over
    from onsite.status.read_status import read_person_statuses

    words = {one.word: one.value for one in Stage}
    stage = words.get(stage or "", stage)
    if stage is not None and stage not in {*Stage, ABSENT}:
        raise Problem(f"There is no stage {stage!r}.", f"Stages: {', '.join((*words, ABSENT))}.")
    shoot = open_chosen_shoot()
    everybody = read_person_statuses(shoot)
    over = is_over(shoot, everybody)
    shown = [
        s
        for s in everybody
        if (stage in (None, s.stage) or (stage == ABSENT and is_absent(s, over)))
        and (group is None or is_same_group(s.person.group, group))
    ]
    data = [
        {
            **_person_data(s.person),
            "stage": s.stage.value,
            "arrived": s.arrived.astimezone(shoot.zone).isoformat() if s.arrived else None,
            "absent": is_absent(s, over),
            "frames": s.frames,
            "role": s.role,
            "slot": s.slot,
            "consent": s.consent,
            "spoken": s.spoken,
            "language": s.language,
            "card": s.card,
            "walk_in": s.walk_in,
        }
        for s in shown
    ]
    headings = ("number", "key", "name", "group", "stage", "frames")
    print_answer({"people": data}, lambda: print_table(headings, [_row(s, over) for s in shown]))


def _person_data(person: RosterPerson) -> dict[str, object]:
    return {**asdict(person), "publication": person.publication.data()}


def _row(s: PersonStatus, over: bool) -> tuple[object, ...]:
    from onsite.status.person_status import stage_word

    stage = f"{s.stage.word} (withdrawn)" if s.person.withdrawn else stage_word(s, over)
    return (s.person.sequence or "", s.person.key, s.person.name, s.person.group, stage, s.frames or "")


def _notice_data(notice: ListNotice) -> dict[str, Any]:
    return {"row": notice.row, "text": notice.text, "refused": notice.refused}


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
        "notices": [_notice_data(notice) for notice in loaded.notices],
        "refused": [_notice_data(notice) for notice in loaded.refused],
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
    from onsite.roster.load_roster import consent_text

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
    say(f"Consent: {consent_text(loaded)}")
    if loaded.consent_questions:
        say("Answer the question above with one of its options, then load the list.")
    elif not loaded.consents:
        say(
            "If a column does say who may be published: --map consent=COLUMN where a yes means that somebody"
            " may be, --map no-consent=COLUMN where it means that they must not be."
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
    from onsite.roster.consent_answers import ConsentSense

    if sense is None:
        return field or "kept as it is"
    return "consent" if sense is ConsentSense.AGREES else f"consent: {sense}"


def _consent(entry: RosterEntry) -> str:
    from onsite.roster.consent_columns import CONSENT_WORDS
    from onsite.roster.parse_consent import parse_consent

    return CONSENT_WORDS[parse_consent(entry.consent)]


def _where(row: int | None) -> str:
    return f"row {row}: " if row else ""
