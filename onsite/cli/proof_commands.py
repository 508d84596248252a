"""The commands `onsite proofs build` and `onsite picks load`, `add` and `list`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from typer import Argument, Option

from onsite.cli.common_options import open_chosen_shoot, station
from onsite.cli.output import (
    missing_agreement,
    names_in_latin,
    print_answer,
    print_latin_notice,
    print_missing_agreement,
    print_refusal,
    print_text,
    show_progress,
)
from onsite.core.json_data import json_data
from onsite.core.text import plural

if TYPE_CHECKING:
    from onsite.picks.pick_load_result import LoadedPicks, ReportedRows
    from onsite.picks.record_picks import PersonPicks
    from onsite.proofs.build_proofs import BuildResult


def build(
    folder: Annotated[Path, Argument(metavar="DIR", help="The folder to make proofs in.")],
    group: Annotated[str | None, Option(metavar="GROUP", help="Only this group.")] = None,
    blank_consents: Annotated[
        bool,
        Option(
            "--blank-consents",
            help="Also make pages for people on the list who gave no answer about consent.",
        ),
    ] = False,
) -> None:
    """Make proofs: contact sheets, and pages of people who consented. Only what changed is made again."""
    from onsite.proofs.build_proofs import LIST, PRIVATE, build_proofs

    shoot = open_chosen_shoot()
    with show_progress("making proofs") as step:
        built = build_proofs(shoot, folder, group, station(None), blank_consents, step)
    latin = names_in_latin(built.texts)
    data = {
        **json_data(built),
        "in_latin": latin,
        "folder": folder,
        "list": folder / PRIVATE / LIST,
        "not_agreed": missing_agreement(shoot.settings.agreed),
    }

    def text() -> None:
        _print_built(built, folder)
        print_missing_agreement(shoot.settings.agreed)
        _print_people_of_pages(built)
        print_latin_notice(latin)
        for name in built.removed:
            print_text(f"  taken away: {name}")
        for name, frame, why in built.troubled:
            print_text(f"  on no proof: {frame} of {name}: {why}")

    print_answer(data, text, in_part=bool(built.troubled))


def _print_built(built: BuildResult, folder: Path) -> None:
    from onsite.proofs.build_proofs import PRIVATE, PUBLIC

    of = plural(built.people, "person", "people"), plural(built.pictures, "picture")
    print_text(f"Proofs of {of[0]}, {of[1]}; made now: {plural(built.made, 'person', 'people')}.")
    print_text(f"Pages: {built.pages}, in {folder / PUBLIC}: that folder may go to a host.")
    print_text(f"Sheets, and the list of who has which page: in {folder / PRIVATE}. Keep that to yourself.")


def _print_people_of_pages(built: BuildResult) -> None:
    """Who has no page and why, who has one without an answer, and what was made from previews."""
    reasons: dict[str, list[str]] = {}
    for _, name, why in built.no_page:
        reasons.setdefault(why, []).append(name)
    for why, names in reasons.items():
        print_text(f"No page for {len(names)}: {why}: {', '.join(names)}")
    if built.on_request:
        of_whom = ", ".join(name for _, name in built.on_request)
        print_text(f"Pages by --blank-consents, without an answer: {len(built.on_request)}: {of_whom}")
    elif built.unasked:
        print_text(f"Pages of people of whose consent nothing is written: {built.unasked}.")
    if built.without_frames:
        print_text(f"People without frames: {built.without_frames}.")
    if built.small:
        small = plural(built.small, "picture")
        print_text(f"Made from previews, since the originals are not where they were: {small}.")


def load(
    file: Annotated[
        Path, Argument(metavar="FILE", help="Saved mails (.eml, mbox, HTML or text), or a table.")
    ],
) -> None:
    """Load picks from a file of answers. Pick codes and file names are found wherever they stand."""
    import typer

    from onsite.core.text import escaped
    from onsite.picks.load_picks import load_picks

    with show_progress("reading picks") as step:
        loaded = load_picks(open_chosen_shoot(), file, station(None), step)
    what = f"{escaped(file.name)}: nothing was taken."
    remedy = "Mend the rows that were refused, and load it again."
    data = _loaded_data(loaded)
    if loaded.people:
        return print_answer(
            data, lambda: _print_loaded(loaded, file.name), in_part=bool(loaded.refused.count)
        )
    print_answer(data | {"error": what, "remedy": remedy}, lambda: _print_loaded(loaded, file.name))
    print_refusal(what, remedy)
    raise typer.Exit(2)


def _loaded_data(loaded: LoadedPicks) -> dict[str, Any]:
    data = {
        "rows": loaded.rows,
        "taken": [picks_data(person_picks) for person_picks in loaded.people],
        "changed": sum(person_picks.changed for person_picks in loaded.people),
    }
    for name in ("refused", "repeated", "unsure"):
        reported: ReportedRows = getattr(loaded, name)
        data[name] = [
            {"row": row, "where": loaded.where(row), "text": text, "reason": why}
            for row, text, why in reported.first
        ]
        data[f"{name}_count"] = reported.count
    return data


def _print_loaded(loaded: LoadedPicks, file: str) -> None:
    if loaded.people:
        news = sum(person_picks.changed for person_picks in loaded.people)
        who = plural(len(loaded.people), "person", "people")
        print_text(f"Picks read: {who}, {news} of them new; refused: {loaded.refused.count:,}.")
    for person_picks in loaded.people:
        if person_picks.changed and person_picks.note:
            print_text(f"  note of {person_picks.person.name}: {person_picks.note}")
        _say_without_it(person_picks)
    kinds = {"refused": loaded.refused, "said twice": loaded.repeated, "not taken": loaded.unsure}
    for kind, reported_rows in kinds.items():
        for row, written, why in reported_rows.first:
            print_text(f"  {kind}: {file}, {loaded.where(row)}: {written}: {why}")
        if reported_rows.count > len(reported_rows.first):
            print_text(f"  {kind}: and {reported_rows.count - len(reported_rows.first):,} more rows")


def add(
    words: Annotated[
        list[str], Argument(metavar="WHO FRAMES", help="Whose picks they are, then one or more frames.")
    ],
    note: Annotated[
        str | None, Option(metavar="TEXT", help="A note to the retoucher about all of them.")
    ] = None,
    instead: Annotated[bool, Option("--instead", help="Instead of what was picked before.")] = False,
) -> None:
    """Add to somebody's picks."""
    from onsite.core.errors import Problem
    from onsite.picks.record_picks import add_picks

    if len(words) < 2:
        raise Problem(
            "A person and frames are needed.",
            "onsite picks add WHO FRAMES, a name of several words in quotes.",
        )
    added = add_picks(open_chosen_shoot(), words[0], words[1:], station(None), note, instead)
    labels = ", ".join(
        f"{label} ({pick_label})" if pick_label else label for label, pick_label in added.picks
    )
    news = "" if added.changed else " (as before)"

    def text() -> None:
        print_text(f"Picks of {added.person.name}: {labels}{news}.")
        if added.note:
            print_text(f"  note to all of them: {added.note}")
        _say_without_it(added)

    print_answer(picks_data(added), text)


def _say_without_it(picks: PersonPicks) -> None:
    for label, batch in picks.without_it:
        print_text(f"  {label} went out with {batch}, without this note: tell whoever works on it,")
        print_text("    or, where it is back: onsite retouch again FRAMES --reason TEXT")


def list_() -> None:
    """List the picks of everybody who has had proofs."""
    from onsite.cli.output import print_table
    from onsite.picks.record_picks import read_picks

    shoot = open_chosen_shoot()
    everybody = read_picks(shoot)
    rows = [
        (person_picks.person.key, person_picks.person.name, person_picks.person.group, _listed(person_picks))
        for person_picks in everybody
    ]
    waiting = sum(not person_picks.picks for person_picks in everybody)

    def text() -> None:
        print_table(("key", "name", "group", "picks"), rows)
        picked = len(everybody) - waiting
        has_not = plural(waiting, "has", "have")
        print_text(f"{plural(picked, 'person has', 'people have')} picked, {has_not} not.")
        for person_picks in everybody:
            for label, now in person_picks.removed:
                print_text(f"  {label}, a pick of {person_picks.person.name}, {now}.")

    def data(picks: PersonPicks) -> dict[str, Any]:
        return picks_data(picks) | {"at": picks.at.astimezone(shoot.zone) if picks.at else None}

    print_answer({"people": [data(person_picks) for person_picks in everybody]}, text)


def _listed(person_picks: PersonPicks) -> str:
    gone = {label: now.removeprefix("is ") for label, now in person_picks.removed}
    said = [
        label + "".join(f" ({about})" for about in (note, gone.get(label, "")) if about)
        for label, note in person_picks.picks
    ]
    return ("; ".join(said) or "waiting") + (f"; note: {person_picks.note}" if person_picks.note else "")


def picks_data(person_picks: PersonPicks) -> dict[str, Any]:
    """The JSON object of a person's picks."""
    return {
        "key": person_picks.person.key,
        "name": person_picks.person.name,
        "picks": [{"frame": label, "note": note} for label, note in person_picks.picks],
        "note": person_picks.note,
        "changed": person_picks.changed,
        "gone": [{"frame": label, "now": now} for label, now in person_picks.removed],
        "sent_without_note": [{"frame": label, "batch": batch} for label, batch in person_picks.without_it],
    }
