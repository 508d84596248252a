"""`onsite proofs build`, `onsite picks load`, `add`, `list`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from typer import Argument, Option

from onsite.cli.options import station, the_shoot
from onsite.cli.output import (
    answer,
    in_latin,
    not_agreed,
    progress,
    say,
    say_in_latin,
    say_not_agreed,
)

if TYPE_CHECKING:
    from onsite.proofs.loaded import Listed
    from onsite.proofs.picks import Picks


def build(
    folder: Annotated[Path, Argument(metavar="DIR", help="Where proofs are made.")],
    group: Annotated[str | None, Option(help="Only this group.")] = None,
    blank_consents: Annotated[
        bool,
        Option(
            "--blank-consents",
            help="Pages also of people on the list without an answer about consent, not of walk-ins.",
        ),
    ] = False,
) -> None:
    """Makes a sheet for each person, and a page for each who consented; only what changed is made again."""
    from onsite.proofs.build import LIST, PRIVATE, PUBLIC, build_proofs
    from onsite.words import counted

    shoot = the_shoot()
    with progress("making proofs") as step:
        built = build_proofs(shoot, folder, group, station(None), blank_consents, step)
    data = {
        "people": built.people,
        "made": built.made,
        "pages": built.pages,
        "pictures": built.pictures,
        "small": built.small,
        "without_frames": built.without_frames,
        "unasked": built.unasked,
        "on_request": [{"key": key, "name": name} for key, name in built.on_request],
        "no_page": [{"key": key, "name": name, "reason": why} for key, name, why in built.no_page],
        "troubled": [{"name": name, "frame": frame, "reason": why} for name, frame, why in built.troubled],
        "removed": built.removed,
        "in_latin": (latin := in_latin(built.texts)),
        "folder": str(folder),
        "list": str(folder / PRIVATE / LIST),
        "not_agreed": not_agreed(shoot.settings.agreed),
    }

    def text() -> None:
        of = counted(built.people, "person", "people"), counted(built.pictures, "picture")
        say(f"Proofs of {of[0]}, {of[1]}; made now: {counted(built.made, 'person', 'people')}.")
        say(f"Pages: {built.pages}, in {folder / PUBLIC}: that folder may go to a host.")
        say(f"Sheets, and the list of who has which page: in {folder / PRIVATE}. Keep that to yourself.")
        say_not_agreed(shoot.settings.agreed)
        reasons: dict[str, list[str]] = {}
        for _, name, why in built.no_page:
            reasons.setdefault(why, []).append(name)
        for why, names in reasons.items():
            say(f"No page for {len(names)}: {why}: {', '.join(names)}")
        if built.on_request:
            of_whom = ", ".join(name for _, name in built.on_request)
            say(f"Pages by --blank-consents, without an answer: {len(built.on_request)}: {of_whom}")
        elif built.unasked:
            say(f"Pages of people of whose consent nothing is written: {built.unasked}.")
        if built.without_frames:
            say(f"People without frames: {built.without_frames}.")
        if built.small:
            small = counted(built.small, "picture")
            say(f"Made from previews, since the originals are not where they were: {small}.")
        say_in_latin(latin)
        for name in built.removed:
            say(f"  taken away: {name}")
        for name, frame, why in built.troubled:
            say(f"  on no proof: {frame} of {name}: {why}")

    answer(data, text, in_part=bool(built.troubled))


def load(
    file: Annotated[
        Path, Argument(metavar="FILE", help="Mails (.eml, mbox, HTML or text), CSV, TSV, XLSX, XLS or ODS.")
    ],
) -> None:
    """Takes picks from a file: pick codes, file names, counters or ids, wherever they stand in it."""
    import typer

    from onsite.cli.options import asked
    from onsite.proofs.back import load_picks
    from onsite.words import counted, escaped

    with progress("reading picks") as step:
        loaded = load_picks(the_shoot(), file, station(None), step)
    nothing = not loaded.people

    def listed(some: Listed) -> list[dict[str, Any]]:
        where = loaded.where
        return [{"row": r, "where": where(r), "text": text, "reason": why} for r, text, why in some.first]

    data = {
        "rows": loaded.rows,
        "taken": [picks_data(one) for one in loaded.people],
        "changed": sum(one.changed for one in loaded.people),
        "refused": listed(loaded.refused),
        "refused_count": loaded.refused.count,
        "repeated": listed(loaded.repeated),
        "repeated_count": loaded.repeated.count,
        "unsure": listed(loaded.unsure),
        "unsure_count": loaded.unsure.count,
    }
    what = f"{escaped(file.name)}: nothing was taken."
    remedy = "Mend the rows that were refused, and load it again."
    if nothing:
        data |= {"error": what, "remedy": remedy}

    def text() -> None:
        if not nothing:
            news = sum(one.changed for one in loaded.people)
            who = counted(len(loaded.people), "person", "people")
            say(f"Picks read: {who}, {news} of them news; refused: {loaded.refused.count:,}.")
        for one in loaded.people:
            if one.changed and one.note:
                say(f"  note of {one.person.name}: {one.note}")
            _say_without_it(one)
        kinds = {"refused": loaded.refused, "said twice": loaded.repeated, "not taken": loaded.unsure}
        for kind, some in kinds.items():
            for row, written, why in some.first:
                say(f"  {kind}: {file.name}, {loaded.where(row)}: {written}: {why}")
            if some.count > len(some.first):
                say(f"  {kind}: and {some.count - len(some.first):,} more rows")

    answer(data, text, in_part=bool(loaded.refused.count) and not nothing)
    if nothing:
        if not asked.as_json:
            typer.echo(f"{what}\n{remedy}", err=True)
        raise typer.Exit(2)


def add(
    words: Annotated[
        list[str], Argument(metavar="WHO FRAMES", help="Whose picks they are, then one or more frames.")
    ],
    note: Annotated[str | None, Option(help="A word to the retoucher about all of them.")] = None,
    instead: Annotated[bool, Option("--instead", help="In the place of what was picked before.")] = False,
) -> None:
    """Adds to somebody's picks."""
    from onsite.problems import Problem
    from onsite.proofs.picks import add_picks

    if len(words) < 2:
        raise Problem(
            "A person and frames are needed.",
            "onsite picks add WHO FRAMES, a name of several words in quotes.",
        )
    added = add_picks(the_shoot(), words[0], words[1:], station(None), note, instead)
    labels = ", ".join(f"{label} ({its})" if its else label for label, its in added.picks)
    news = "" if added.changed else " (as before)"

    def text() -> None:
        say(f"Picks of {added.person.name}: {labels}{news}.")
        if added.note:
            say(f"  note to all of them: {added.note}")
        _say_without_it(added)

    answer(picks_data(added), text)


def _say_without_it(one: Picks) -> None:
    for label, batch in one.without_it:
        say(f"  {label} went out with {batch}, without this note: tell whoever works on it,")
        say("    or, where it is back: onsite retouch again FRAMES --reason TEXT")


def list_() -> None:
    """Everybody who has had proofs, with what they picked."""
    from onsite.cli.output import table
    from onsite.proofs.picks import list_picks
    from onsite.words import counted

    shoot = the_shoot()
    everybody = list_picks(shoot)
    rows = [(one.person.key, one.person.name, one.person.group, _listed(one)) for one in everybody]
    waiting = sum(not one.picks for one in everybody)

    def text() -> None:
        table(("key", "name", "group", "picks"), rows)
        picked = len(everybody) - waiting
        say(f"{counted(picked, 'person has', 'people have')} picked, {waiting} {_have(waiting)} not.")
        for one in everybody:
            for label, now in one.gone:
                say(f"  {label}, a pick of {one.person.name}, {now}.")

    at = {one.person.key: one.at.astimezone(shoot.zone).isoformat() if one.at else None for one in everybody}
    answer({"people": [picks_data(one) | {"at": at[one.person.key]} for one in everybody]}, text)


def _have(count: int) -> str:
    return "has" if count == 1 else "have"


def _listed(one: Picks) -> str:
    gone = {label: now.removeprefix("is ") for label, now in one.gone}
    said = [
        label + "".join(f" ({about})" for about in (note, gone.get(label, "")) if about)
        for label, note in one.picks
    ]
    return ("; ".join(said) or "waiting") + (f"; note: {one.note}" if one.note else "")


def picks_data(one: Picks) -> dict[str, Any]:
    return {
        "key": one.person.key,
        "name": one.person.name,
        "picks": [{"frame": label, "note": note} for label, note in one.picks],
        "note": one.note,
        "changed": one.changed,
        "gone": [{"frame": label, "now": now} for label, now in one.gone],
        "sent_without_note": [{"frame": label, "batch": batch} for label, batch in one.without_it],
    }
