"""The commands `onsite new`, `onsite status` and `onsite demo`, and the opening of the screens."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING, Annotated, Any

from typer import Argument, Context, Option

from onsite.cli.common_options import (
    chosen_folder,
    closed_after_command,
    common_options,
    open_chosen_shoot,
    station,
)
from onsite.cli.output import print_answer, print_table, print_text, show_progress
from onsite.core.errors import NoServer, Problem
from onsite.core.text import plural

if TYPE_CHECKING:
    from onsite.reconcile.match_summary import MatchSummary
    from onsite.retouch.retouch_folder import HeldFile
    from onsite.status.batch_status import Batch
    from onsite.status.forecast import DayForecast, Pace
    from onsite.status.person_status import OpenWork, PersonStatus, WaitingFor
    from onsite.store.backups import Backup
    from onsite.store.shoot import Shoot


DEMO_PEOPLE, DEMO_SEED = 40, 1
"""The invented day that opens by itself."""


def new(
    folder: Annotated[Path, Argument(metavar="DIR", help="A new folder for it.")],
    name: Annotated[str, Option(help="The name of the shoot.")],
    client: Annotated[str, Option(metavar="CLIENT", help="The client.")] = "",
    date: Annotated[str, Option(metavar="DATE", help="The day, such as 2027-06-12.")] = "",
    timezone: Annotated[
        str, Option(metavar="ZONE", help="Its time zone, such as Europe/Vienna; else this computer's.")
    ] = "",
    store: Annotated[
        str, Option(metavar="URL", help="The PostgreSQL database to keep it in; else a file in the folder.")
    ] = "",
    ends: Annotated[str, Option(metavar="HH:MM", help="When the last person should be done.")] = "",
    studio: Annotated[
        str, Option(metavar="NAME", help="Who takes the pictures, as pages, mails and papers call you.")
    ] = "",
    reply_to: Annotated[str, Option(metavar="ADDRESS", help="The mail address that people answer to.")] = "",
    picks_due: Annotated[str, Option(metavar="DATE", help="The last day for people to pick.")] = "",
    language: Annotated[
        str, Option(metavar="en|de|fr|es|it", help="The language of pages, mails and papers.")
    ] = "",
) -> None:
    """Make a shoot: the folder of one job."""
    from onsite.core.codes import new_shoot_mark
    from onsite.core.times import parse_date
    from onsite.messages.languages import parse_language
    from onsite.status.day_plan import checked_ends
    from onsite.store.settings import Agreement, Settings, local_zone_name, mail_address
    from onsite.store.shoot import create_shoot

    day = parse_date(date).isoformat() if date else ""
    agreed = Agreement(
        studio=studio.strip(),
        reply_to=mail_address(reply_to) if reply_to else "",
        picks_due=parse_date(picks_due).isoformat() if picks_due else "",
        language=parse_language(language) if language else "",
    )
    zone = timezone or local_zone_name()
    settings = Settings(name, client, day, zone, store, checked_ends(ends) if ends else "", agreed)
    shoot = closed_after_command(create_shoot(folder, settings, new_shoot_mark()))
    agreed_data = {key: getattr(agreed, key) for key in ("studio", "reply_to", "picks_due", "language")}
    data = {"shoot": str(folder), "name": name, "timezone": zone, "mark": shoot.mark, "ends": settings.ends}
    print_answer(
        data | agreed_data,
        f"{name}: made in {folder} (time zone {zone})."
        + (" On every other machine: onsite join URL DIR" if store else ""),
    )


@dataclass(frozen=True, slots=True)
class _Situation:
    """All that `onsite status` reads."""

    shoot: Shoot
    summary: MatchSummary
    everybody: list[PersonStatus]
    over: bool
    """Whether the shoot is over."""
    forecast: DayForecast
    pace: Pace
    waits: Mapping[WaitingFor, Sequence[OpenWork]]
    batches: list[Batch]
    held: tuple[HeldFile, ...]
    labels: dict[int, str]
    """Of the frames that are held."""
    to_remove: Mapping[int, Sequence[str]]
    """Files of people who took their consent back after the delivery."""


def status() -> None:
    """Show how far everybody is, and what is to be done."""
    from onsite.frames.find_frames import frame_labels
    from onsite.reconcile.current_match import summary_now
    from onsite.retouch.retouch_folder import read_held_files
    from onsite.status.batch_status import most_urgent_first, read_batches
    from onsite.status.forecast import day_forecast, pace
    from onsite.status.person_status import is_over, open_work
    from onsite.status.picture_status import delivered_before_a_no
    from onsite.status.read_status import read_person_statuses

    shoot = open_chosen_shoot()
    summary = summary_now(shoot)
    everybody, held, now = read_person_statuses(shoot), read_held_files(shoot), shoot.now()
    with shoot.reading() as session:
        batches = most_urgent_first(read_batches(session), now.date())
        labels = frame_labels(session) if held else {}
        refused = [s.person.id for s in everybody if s.pictures.delivered and not s.publication.allowed]
        to_remove = delivered_before_a_no(session, refused)
    situation = _Situation(
        shoot,
        summary,
        everybody,
        is_over(shoot, everybody),
        day_forecast(everybody, shoot.settings.ends, now),
        pace([s.arrived for s in everybody if s.arrived]),
        open_work(everybody, now),
        batches,
        held,
        labels,
        to_remove,
    )
    print_answer(_status_data(situation), lambda: _print_status(situation))


def _status_data(now: _Situation) -> dict[str, Any]:
    from onsite.status.batch_status import batch_data
    from onsite.status.forecast import forecast_data
    from onsite.status.person_status import (
        ABSENT,
        count_stages,
        count_withheld,
        cumulative_counts,
        is_absent,
    )

    everybody, summary, rate = now.everybody, now.summary, now.pace.per_hour
    withheld, today = count_withheld(everybody), now.forecast.now.date()
    return {
        **forecast_data(now.forecast),
        "name": now.shoot.settings.name,
        "arrivals_per_hour": rate and round(rate, 1),
        "people": sum(count_stages(everybody).values()),
        "stages": cumulative_counts(everybody),
        "beside": {ABSENT: sum(is_absent(s, now.over) for s in everybody)},
        "publication": {
            "may_be_published": sum(s.counts for s in everybody) - sum(withheld.values()),
            "not_published": withheld,
        },
        "waits": {what: len(people) for what, people in now.waits.items()},
        "batches": [batch_data(batch, today) for batch in now.batches],
        "held": now.held,
        "delivered_before_a_no": [
            {"key": s.person.key, "files": now.to_remove[s.person.id]}
            for s in everybody
            if s.person.id in now.to_remove
        ],
        "frames": summary.frames,
        "named": summary.named,
        "slates": summary.slates,
        "loose": summary.loose,
        "aside": summary.set_aside,
        "arrived_not_shot": [s.person.key for s in everybody if s.arrived and not s.frames],
        "never_arrived": [
            s.person.key for s in everybody if not s.arrived and not s.frames and not s.person.withdrawn
        ],
        "shot_never_arrived": [s.person.key for s in everybody if s.frames and not s.arrived],
    }


def _print_status(now: _Situation) -> None:
    from onsite.core.times import format_clock_time
    from onsite.roster.publication_consent import withheld_text
    from onsite.status.forecast import forecast_text
    from onsite.status.person_status import (
        ABSENT,
        count_stages,
        count_withheld,
        cumulative_counts,
        is_absent,
        stages_to_show,
    )

    everybody, pace = now.everybody, now.pace
    counts, people = cumulative_counts(everybody), sum(count_stages(everybody).values())
    print_text(now.shoot.settings.name, "bold")
    rows = [(stage.word, f"{counts[stage]:,} of {people:,}") for stage in stages_to_show(counts)]
    print_table(("stage", "people"), rows)
    if never_came := sum(is_absent(s, now.over) for s in everybody):
        print_text(f"The shoot is over: {never_came} still expected, so {ABSENT}.")
    if pace.per_hour and pace.first and pace.last:
        since, until = (format_clock_time(time, now.shoot.zone) for time in (pace.first, pace.last))
        print_text(f"{pace.arrived} arrived from {since} to {until}, lately {pace.per_hour:.0f} an hour.")
    print_text(forecast_text(now.forecast))
    print_text(now.summary.frame_counts_text)
    print_text(withheld_text(sum(s.counts for s in everybody), count_withheld(everybody)))
    if waiting := [s.person.name for s in everybody if s.arrived and not s.frames]:
        print_text("Here, and not photographed: " + ", ".join(waiting))
    _print_after_the_shoot(now)


def _print_after_the_shoot(now: _Situation) -> None:
    from onsite.status.batch_status import batch_text
    from onsite.status.person_status import open_work_text

    if any(s.pictures.proofed or s.pictures.picks for s in now.everybody):
        print_text(f"After the shoot: {open_work_text(now.waits) or 'nobody waits'}")
    for s in now.everybody:
        if files := now.to_remove.get(s.person.id):
            print_text(f"{s.person.name} took consent back. Ask whoever has it to remove: {', '.join(files)}")
    for batch in now.batches:
        print_text(f"  {batch_text(batch, now.forecast.now.date())}")
    if now.held:
        print_text(f"Held for you: {plural(len(now.held), 'returned file')}.", "bold")
        for held_file in now.held:
            print_text(f"  {now.labels.get(held_file.frame, held_file.path)}: {held_file.why}")
        print_text(
            "Look at them, then: onsite retouch accept FRAMES, or: onsite retouch again FRAMES --reason TEXT"
        )


def demo(
    ctx: Context,
    folder: Annotated[Path | None, Argument(metavar="DIR", help="A new folder for it.")] = None,
    people: Annotated[int, Option(min=2, max=3000, help="How many people.")] = DEMO_PEOPLE,
    seed: Annotated[int, Option(help="Another number makes another day.")] = DEMO_SEED,
    tui: Annotated[
        bool, Option(help="Open the screens; else play the day to its end and report on it.")
    ] = True,
) -> None:
    """Look around in an invented festival of choirs and orchestras.

    The screens open on its second day, with people to check in and a camera that goes on shooting. Without
    them the day is played from its list to a first delivery, and compared with the truth.
    """
    from onsite.simulator.play_delivery import play_delivery, print_after
    from onsite.simulator.simulated_demo import demo_data, free_folder, print_demo, run_demo

    where = free_folder(folder or Path("onsite-demo"))
    if tui and not common_options.as_json and sys.stdout.isatty() and sys.stdin.isatty():
        return _open_live_demo(ctx.find_root().command, where, people, seed)
    with show_progress("drawing the day's frames") as drawing, show_progress("reading them") as reading:
        played = run_demo(where, people, seed, drawing, reading)
    with show_progress("the days after") as step:
        after = play_delivery(played.shoot, seed, step)

    def text() -> None:
        print_demo(played, print_text)
        print_text("")
        print_after(after, where, print_text)
        print_text(f"Go on with: onsite status --shoot {quote(str(where))}")

    print_answer({**demo_data(played), "after": after}, text)


def _open_live_demo(root: Any, folder: Path, people: int, seed: int) -> None:
    from onsite.simulator.simulated_live_demo import begin_live_demo, things_to_try

    shoot, camera = begin_live_demo(folder, people, seed, station(None), show_progress)
    camera.start()
    _open(root, shoot, things_to_try(shoot))


def screens(root: Any) -> None:
    """Open the screens on the chosen shoot, with all commands below `root`; else the beginning."""
    in_browser = "TEXTUAL_DRIVER" in os.environ  # as `onsite serve` opens them
    in_terminal = in_browser or (sys.stdin.isatty() and sys.stdout.isatty())
    try:
        chosen_folder()
        if not in_terminal:
            raise Problem("The screens need a terminal.", "Without one, use the commands. See: onsite --help")
    except Problem:
        if not in_terminal:
            raise
        _begin(root)
        return
    last_known = None
    try:
        shoot = open_chosen_shoot()
    except NoServer:
        from onsite.store.local_copy import open_without_server

        shoot, last_known = map(closed_after_command, open_without_server(chosen_folder()))
    _open(root, shoot, last_known=last_known)


def _begin(root: Any) -> None:
    """Make a shoot, open one, or the demo."""
    from onsite.cli.screen_commands import opening_commands
    from onsite.simulator.simulated_demo import free_folder
    from onsite.store.shoot import open_shoot
    from onsite.tui.opening.opening_app import Beginning, OpeningApp

    beginning = OpeningApp(opening_commands(root), Path.cwd())
    forget_typed()
    chosen = beginning.run()
    if chosen is None:
        return
    if chosen.folder is None:
        _open_live_demo(root, free_folder(Path("onsite-demo")), DEMO_PEOPLE, DEMO_SEED)
    else:
        shoot = closed_after_command(open_shoot(chosen.folder))
        _open(root, shoot, is_new=chosen.what is Beginning.MAKE)


def _open(
    root: Any,
    shoot: Shoot,
    things_to_try: Sequence[str] = (),
    is_new: bool = False,
    last_known: Shoot | None = None,
) -> None:
    """Open the screens; of a new shoot, on the loading of its list. Again after going back to a backup.
    While its server is gone, what was `last_known` of it is shown."""
    from onsite.cli.screen_commands import palette_commands
    from onsite.store.shoot import open_shoot
    from onsite.tui.app import OnsiteApp

    commands = palette_commands(root)
    said: str | Problem | None = ""
    while said is not None:
        app = OnsiteApp(shoot, station(None), "door", commands, things_to_try, is_new, said, last_known)
        forget_typed()
        app.run()
        if app.failed is not None:
            raise app.failed
        things_to_try, is_new = (), False
        said = None
        if app.goes_to_another:
            _begin(root)
        elif app.going_back is not None:
            said = _gone_back(shoot, app.going_back)
            shoot = closed_after_command(open_shoot(shoot.folder))  # the backup may be an older program's


def _gone_back(shoot: Shoot, backup: Backup) -> str | Problem:
    """Go back to a backup while no screens are open, and say so."""
    from datetime import UTC, datetime

    from onsite.store.restore_backup import restore_backup

    shoot.engine.dispose()
    try:
        done = restore_backup(shoot.folder, backup, datetime.now(UTC))
    except Problem as problem:
        return problem
    at = backup.made.astimezone(shoot.zone)
    lost = "" if not done.lost else f" No longer recorded: {plural(len(done.lost), 'event')}."
    return (
        f"The shoot is as it was at {at:%H:%M} on {at:%d %B}.{lost} The record until now is in {done.aside}"
    )


def forget_typed() -> None:
    """Forget what was typed before the screens are there: keys that answer nothing seen, and the late answers
    of a slow terminal that was asked which pictures it can draw."""
    try:
        import termios  # not on every system
    except ImportError:
        return
    with suppress(termios.error):
        termios.tcflush(sys.stdin, termios.TCIFLUSH)
