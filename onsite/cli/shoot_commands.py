"""The commands `onsite new`, `onsite status` and `onsite demo`, and the opening of the screens."""

from __future__ import annotations

import sys
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING, Annotated

from typer import Argument, Option

from onsite.cli.common_options import common_options, open_chosen_shoot, station
from onsite.cli.output import print_answer, print_table, print_text, show_progress
from onsite.core.frame_ref import frame_id_text

if TYPE_CHECKING:
    from onsite.store.shoot import Shoot


def new(
    folder: Annotated[Path, Argument(metavar="DIR", help="The folder to make it in.")],
    name: Annotated[str, Option(help="What the shoot is called.")],
    client: Annotated[str, Option(help="Whose people they are.")] = "",
    date: Annotated[str, Option(help="Its day, ISO 8601.")] = "",
    timezone: Annotated[str, Option(help="IANA name, such as Europe/Vienna.")] = "",
    store: Annotated[str, Option(help="Another store than SQLite in the folder: a PostgreSQL URL.")] = "",
    ends: Annotated[str, Option(metavar="HH:MM", help="When the last person should be done.")] = "",
    studio: Annotated[str, Option(help="Who photographs, as pages, mails and papers name it.")] = "",
    reply_to: Annotated[str, Option(metavar="ADDRESS", help="The mail address that people answer to.")] = "",
    picks_due: Annotated[str, Option(metavar="DATE", help="The day by which people choose.")] = "",
    language: Annotated[str, Option(help="Of pages, mails and papers, such as de.")] = "",
) -> None:
    """Makes a shoot."""
    from onsite.core.codes import new_shoot_mark
    from onsite.core.times import parse_date
    from onsite.messages.languages import parse_language
    from onsite.store.settings import Agreement, Settings, local_zone_name, mail_address
    from onsite.store.shoot import create_shoot

    if date:
        parse_date(date)
    if ends:
        from onsite.status.forecast import checked_ends

        ends = checked_ends(ends)
    agreed = Agreement(
        studio=studio.strip(),
        reply_to=mail_address(reply_to) if reply_to else "",
        picks_due=parse_date(picks_due).isoformat() if picks_due else "",
        language=parse_language(language) if language else "",
    )
    settings = Settings(name, client, date, timezone or local_zone_name(), store, ends, agreed)
    shoot = create_shoot(folder, settings, new_shoot_mark())
    print_answer(
        {
            "shoot": str(folder),
            "name": name,
            "timezone": settings.timezone,
            "mark": shoot.mark,
            "ends": settings.ends,
            "studio": agreed.studio,
            "reply_to": agreed.reply_to,
            "picks_due": agreed.picks_due,
            "language": agreed.language,
        },
        f"{name}: made in {folder} (time zone {settings.timezone}).",
    )


def status() -> None:
    """Stages, counts, and what needs a person."""
    from onsite.core.text import plural
    from onsite.core.times import format_clock_time
    from onsite.frames.frame_lookup import frame_labels
    from onsite.reconcile.current_match import summary_now
    from onsite.retouch.retouch_folder import read_held_files
    from onsite.roster.publication import withheld_text
    from onsite.status.forecast import day_forecast, forecast_data, forecast_text, pace
    from onsite.status.person_status import (
        ABSENT,
        count_stages,
        count_withheld,
        cumulative_counts,
        is_absent,
        is_over,
        open_work,
        open_work_text,
        stages_to_show,
    )
    from onsite.status.read_status import read_person_statuses
    from onsite.status.retouch_batches import batch_data, batch_text, most_urgent_first, read_batches

    shoot = open_chosen_shoot()
    wrap = summary_now(shoot)
    everybody = read_person_statuses(shoot)
    stages = count_stages(everybody)
    counts, people = cumulative_counts(everybody), sum(stages.values())
    absent = [s for s in everybody if not s.arrived and not s.frames and not s.person.withdrawn]
    over = is_over(shoot, everybody)
    never_came = sum(is_absent(s, over) for s in everybody)
    waiting = [s for s in everybody if s.arrived and not s.frames]
    speed = pace([s.arrived for s in everybody if s.arrived])
    forecast = day_forecast(everybody, shoot.settings.ends, shoot.now())
    waits = open_work(everybody, shoot.now())
    withheld = count_withheld(everybody)
    today = shoot.now().date()
    waiting_for_you = read_held_files(shoot)
    with shoot.reading() as session:
        batches = most_urgent_first(read_batches(session), today)
        labels = frame_labels(session) if waiting_for_you else {}
    data = {
        **forecast_data(forecast),
        "name": shoot.settings.name,
        "arrivals_per_hour": speed.per_hour and round(speed.per_hour, 1),
        "people": people,
        "stages": {stage.value: count for stage, count in counts.items()},
        "beside": {ABSENT: never_came},
        "publication": {
            "may_be_published": sum(s.counts for s in everybody) - sum(withheld.values()),
            "not_published": {reason.value: count for reason, count in withheld.items()},
        },
        "waits": {what.value: len(people_waiting) for what, people_waiting in waits.items()},
        "batches": [batch_data(batch, today) for batch in batches],
        "held": [
            {"frame": frame_id_text(held_file.frame), "file": held_file.path, "reason": held_file.why}
            for held_file in waiting_for_you
        ],
        "frames": wrap.frames,
        "named": wrap.named,
        "slates": wrap.slates,
        "loose": wrap.loose,
        "aside": wrap.set_aside,
        "arrived_not_shot": [s.person.key for s in waiting],
        "never_arrived": [s.person.key for s in absent],
        "shot_never_arrived": [s.person.key for s in everybody if s.frames and not s.arrived],
    }

    def text() -> None:
        print_text(shoot.settings.name, "bold")
        rows = [(stage.value, f"{counts[stage]:,} of {people:,}") for stage in stages_to_show(counts)]
        print_table(("stage", "people"), rows)
        if never_came:
            print_text(f"The shoot is over: {never_came} still expected, so {ABSENT}.")
        if speed.per_hour and speed.first and speed.last:
            since, until = (format_clock_time(time, shoot.zone) for time in (speed.first, speed.last))
            print_text(
                f"{speed.arrived} arrived from {since} to {until}, lately {speed.per_hour:.0f} an hour."
            )
        print_text(forecast_text(forecast))
        print_text(wrap.frame_counts_text)
        print_text(withheld_text(sum(s.counts for s in everybody), withheld))
        if waiting:
            print_text("Arrived and without frames: " + ", ".join(s.person.name for s in waiting))
        if any(s.pictures.proofed or s.pictures.picks for s in everybody):
            print_text(f"After the shoot: {open_work_text(waits) or 'nobody waits'}")
        for batch in batches:
            print_text(f"  {batch_text(batch, today)}")
        if waiting_for_you:
            print_text(f"Held for you: {plural(len(waiting_for_you), 'returned file')}.", "bold")
        for held_file in waiting_for_you:
            print_text(f"  {labels.get(held_file.frame, held_file.path)}: {held_file.why}")
        if waiting_for_you:
            print_text(
                "Look at them, then: onsite retouch accept FRAMES,"
                " or: onsite retouch again FRAMES --reason TEXT"
            )

    print_answer(data, text)


def demo(
    folder: Annotated[Path | None, Argument(metavar="[DIR]", help="Where to make it.")] = None,
    people: Annotated[int, Option(min=2, max=3000, help="How many people.")] = 40,
    seed: Annotated[int, Option(help="Another seed, another day.")] = 1,
    tui: Annotated[bool, Option(help="Open the screens at the end.")] = True,
) -> None:
    """An invented festival of choirs and orchestras, from its roster to a first delivery."""
    from onsite.simulator.play_delivery import after_data, play_delivery, print_after
    from onsite.simulator.run_demo import demo_data, free_folder, print_demo, run_demo

    where = free_folder(folder or Path("onsite-demo"))
    with show_progress("drawing the day's frames") as drawing, show_progress("reading them") as reading:
        played = run_demo(where, people, seed, drawing, reading)
    with show_progress("the days after") as step:
        after = play_delivery(played.shoot, seed, step)

    def text() -> None:
        print_demo(played, print_text)
        print_text("")
        print_after(after, where, print_text)
        print_text(f"Go on with: onsite status --shoot {quote(str(where))}")

    print_answer({**demo_data(played), "after": after_data(after)}, text)
    if tui and not common_options.as_json and sys.stdout.isatty() and sys.stdin.isatty():
        _open(played.shoot)


def screens() -> None:
    """Open the screens on the chosen shoot."""
    _open(open_chosen_shoot())


def _open(shoot: Shoot) -> None:
    from onsite.tui.app import OnsiteApp

    app = OnsiteApp(shoot, station(None))
    app.run()
    if app.failed is not None:
        raise app.failed
