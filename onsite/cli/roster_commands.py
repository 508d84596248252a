"""The commands `onsite roster load`, `find` and `list`."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from typer import Argument, Option

from onsite.cli.common_options import open_chosen_shoot, station
from onsite.cli.output import print_answer, print_table, print_text
from onsite.core.errors import Problem

if TYPE_CHECKING:
    from onsite.roster.find_people import RosterPerson
    from onsite.status.person_status import PersonStatus


def load(
    file: Annotated[Path, Argument(metavar="FILE", help="CSV, TSV, XLSX, XLS or ODS.")],
    sheet: Annotated[str | None, Option(help="Which sheet of a workbook.")] = None,
    map_: Annotated[
        list[str] | None,
        Option(
            "--map",
            metavar="FIELD=COLUMN",
            help="A column by hand, also for newer lists. Fields: key given family name group role email"
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
    dry_run: Annotated[
        bool, Option("--dry-run", help="Shows what would happen, and changes nothing.")
    ] = False,
    withdraw: Annotated[
        bool, Option("--withdraw", help="Also where many people, or some who have arrived, are withdrawn.")
    ] = False,
) -> None:
    """Loads a list, or merges a newer version of it."""
    from onsite.cli.loaded_list_output import load_data, print_load
    from onsite.roster.load_list import load_list as load_roster
    from onsite.roster.name_capitals import Capitals

    pairs = [pair.partition("=") for pair in map_ or []]
    wrong = next((field for field, equals, column in pairs if not equals or not column), None)
    if wrong is not None:
        raise Problem(
            f"--map {wrong} does not say a column.", "Write it as FIELD=COLUMN, such as --map name=B."
        )
    if capitals is not None and capitals not in tuple(Capitals):
        raise Problem(f"--capitals {capitals} is not known.", f"Choose one of: {', '.join(Capitals)}.")
    loaded = load_roster(
        open_chosen_shoot(),
        file,
        sheet,
        [(field, column) for field, _, column in pairs],
        dry_run,
        station(None),
        withdraw=withdraw,
        capitals=capitals or "",
    )
    in_part = bool(loaded.refused or loaded.questions or loaded.consent_questions)
    print_answer(
        load_data(loaded, dry_run), lambda: print_load(loaded, print_text, print_table, dry_run), in_part
    )


def find(text: Annotated[list[str], Argument(metavar="TEXT")]) -> None:
    """Finds people, best match first."""
    from onsite.roster.find_people import PersonFinder
    from onsite.roster.people_in_store import read_people

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
    stage: Annotated[str | None, Option(help="Only people at this stage, or absent.")] = None,
    group: Annotated[str | None, Option(help="Only this group.")] = None,
) -> None:
    """Everyone, with their stage."""
    from onsite.roster.groups import is_same_group
    from onsite.status.person_status import ABSENT, Stage, is_absent, is_over
    from onsite.status.read_status import read_person_statuses

    if stage is not None and stage not in {*Stage, ABSENT}:
        raise Problem(f"There is no stage {stage!r}.", f"Stages: {', '.join((*Stage, ABSENT))}.")
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

    stage = f"{s.stage} (withdrawn)" if s.person.withdrawn else stage_word(s, over)
    return (s.person.sequence or "", s.person.key, s.person.name, s.person.group, stage, s.frames or "")
