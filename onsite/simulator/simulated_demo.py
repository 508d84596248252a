"""`onsite demo`: plays the invented day through the program and compares its names with the truth."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from sqlmodel import select

from onsite.checkin.check_in import check_in, show_and_record_slate
from onsite.checkin.deck_cards import make_deck
from onsite.checkin.walk_ins_and_corrections import add_walk_in
from onsite.core.codes import new_shoot_mark
from onsite.core.progress import Progress
from onsite.files.write_tables import write_csv
from onsite.frames.ingest import ingest
from onsite.matching.evidence import FrameKind
from onsite.matching.match_frames import MatchResult
from onsite.reconcile.current_match import match_now
from onsite.reconcile.match_report import match_summary_data, print_match_summary
from onsite.reconcile.match_summary import MatchSummary, summarise_match
from onsite.roster.load_roster import load_list
from onsite.roster.read_people import read_people
from onsite.simulator.invented_exposure import ExposureKind as TrueKind
from onsite.simulator.invented_exposure import SimulatedExposure
from onsite.simulator.invented_people import InventedPerson, invent_people
from onsite.simulator.simulated_day import (
    CARDS,
    OTHER_SHOOT_MARK,
    Showing,
    SimulatedArrival,
    SimulatedDay,
    simulate_day,
)
from onsite.store.schema import Camera, Frame
from onsite.store.settings import Agreement, Settings
from onsite.store.shoot import Shoot, create_shoot

NAME, CLIENT = "Festival of choirs and orchestras", "The festival's office"
CARDS_FOLDER = "cards"
SIZE = (1200, 800)
"""Pixels of a drawn frame: enough for slates that read and for finished files of 800 pixels."""
ZONE = "Europe/Vienna"
DAY = date(2026, 6, 13)  # a Saturday
OPENS = time(9, 0)
AGREED = Agreement(
    picks=2,
    long_side=800,
    due="2026-07-04",
    price="12.00",
    studio="Vera Holm Photography",
    reply_to="pictures@example.org",
    picks_due="2026-06-24",
)
_ROSTER_COLUMNS = ("key", "given", "family", "group", "role", "email", "slot", "consent", "note")


@dataclass(frozen=True, slots=True)
class DemoScore:
    """The names compared with the truth.

    `loose` counts portraits without a name. Of the `loose_runs` that show a person, `right_first` have the
    right person as their first suggestion.
    """

    right: int
    wrong: int
    loose: int
    loose_runs: int
    right_first: int


@dataclass(frozen=True, slots=True)
class PlayedDemo:
    """A day of the demo, played up to reconciling."""

    shoot: Shoot
    day: SimulatedDay
    summary: MatchSummary
    score: DemoScore


def free_folder(folder: Path) -> Path:
    """`folder`, or the same path with a number added where something is there already."""
    if not folder.exists() or (folder.is_dir() and not any(folder.iterdir())):
        return folder
    numbers = range(2, 1000)
    return next(free for n in numbers if not (free := folder.with_name(f"{folder.name}-{n}")).exists())


def run_demo(folder: Path, number: int, seed: int, drawing: Progress, reading: Progress) -> PlayedDemo:
    """Make a shoot in `folder` and play an invented day in it, up to matching its frames."""
    guests = invent_people(number, seed)
    settings = Settings(NAME, CLIENT, DAY.isoformat(), ZONE, agreed=AGREED)
    shoot = shoot_with_roster(folder, settings, guests)
    day = day_of(shoot, guests, seed, datetime.combine(DAY, OPENS, ZoneInfo(ZONE)))
    keys = at_the_door(shoot, day.check_ins, day.showings)
    draw_frames(day.exposures, seed, folder / CARDS_FOLDER, drawing)
    ingest(shoot, [folder / CARDS_FOLDER], progress=reading)
    outcome = match_now(shoot)
    wrap = summarise_match(outcome, len(day.exposures))
    return PlayedDemo(shoot, day, wrap, _score(shoot, day, outcome, keys))


def shoot_with_roster(folder: Path, settings: Settings, guests: Sequence[InventedPerson]) -> Shoot:
    """A new shoot in `folder` with these people on its list."""
    mark = OTHER_SHOOT_MARK
    while mark == OTHER_SHOOT_MARK:
        mark = new_shoot_mark()
    shoot = create_shoot(folder, settings, mark)
    roster = folder / "roster.csv"
    write_csv(roster, _ROSTER_COLUMNS, [[getattr(guest, c) for c in _ROSTER_COLUMNS] for guest in guests])
    load_list(shoot, roster)
    return shoot


def day_of(shoot: Shoot, guests: Sequence[InventedPerson], seed: int, opens: datetime) -> SimulatedDay:
    """The day simulated with the shoot's own codes and a new deck of cards."""
    with shoot.reading() as session:
        codes = {person.key: person.code for person in read_people(session)}
    deck = {str(card.number): card.code for card in make_deck(shoot, CARDS)}
    return simulate_day(guests, codes, deck, seed, opens)


def at_the_door(
    shoot: Shoot, check_ins: Iterable[SimulatedArrival], showings: Iterable[Showing] = ()
) -> dict[str, str]:
    """Check people in as the simulated day says. Returns the roster's key for each of its keys."""
    keys: dict[str, str] = {}
    for arrival in check_ins:
        if arrival.walk_in is not None:
            guest = arrival.walk_in
            done = add_walk_in(
                shoot,
                guest.given,
                guest.family,
                guest.group,
                card=arrival.card,
                at=arrival.at,
                station=arrival.station,
                consent=guest.consent,
                new_group=True,
            )
        else:
            done = check_in(shoot, arrival.person, at=arrival.at, station=arrival.station, card=arrival.card)
        keys[arrival.person] = done.person.key
    for showing in showings:
        show_and_record_slate(shoot, keys[showing.person], showing.at.isoformat(), showing.station)
    return keys


def draw_frames(
    exposures: Sequence[SimulatedExposure],
    seed: int,
    folder: Path,
    progress: Progress,
    size: tuple[int, int] = SIZE,
) -> None:
    """Draw every frame onto its camera's memory card in `folder`, on all cores."""
    jobs = [(e, seed, size, path) for path, e in on_cards(exposures, folder).items()]
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for done, _ in enumerate(pool.map(draw_one, jobs, chunksize=4), 1):
            progress(done, len(jobs))


def on_cards(exposures: Sequence[SimulatedExposure], folder: Path) -> dict[Path, SimulatedExposure]:
    """The exposures by the paths of their files on memory cards in `folder`, whose folders are made."""
    paths = {folder / f"camera-{e.camera.label}" / e.path: e for e in exposures}
    for parent in {path.parent for path in paths}:
        parent.mkdir(parents=True, exist_ok=True)
    return paths


def draw_one(job: tuple[SimulatedExposure, int, tuple[int, int], Path]) -> None:
    """Draw an exposure with the day's seed, in so many pixels, and write it to a path."""
    from onsite.simulator.draw_invented_exposure import picture, save

    exposure, seed, size, path = job
    save(exposure, picture(exposure, seed, size), path)


def _score(shoot: Shoot, day: SimulatedDay, outcome: MatchResult, keys: dict[str, str]) -> DemoScore:
    truth: dict[tuple[str, int | None], SimulatedExposure] = {
        (e.camera.serial, e.counter): e for e in day.exposures
    }
    with shoot.reading() as session:
        key_of = {person.id: person.key for person in read_people(session)}
        rows = session.exec(
            select(Frame.id, Camera.serial, Frame.counter).where(Frame.camera_id == Camera.id)
        )
        exposure_of = {frame: truth[serial, counter] for frame, serial, counter in rows}
    tally: Counter[str] = Counter()
    runs: dict[int, bool] = {}
    for verdict in outcome.verdicts:
        exposure = exposure_of[verdict.frame]
        true_key = keys.get(exposure.person or "", exposure.person)
        if verdict.kind is FrameKind.NAMED:
            tally["right" if key_of.get(verdict.person or 0) == true_key else "wrong"] += 1
        elif verdict.kind is FrameKind.LOOSE and exposure.kind is not TrueKind.TEST:
            tally["loose"] += 1
            first = verdict.suggestions[0].person if verdict.suggestions else 0
            runs.setdefault(verdict.run or verdict.frame, key_of.get(first) == true_key)
    return DemoScore(tally["right"], tally["wrong"], tally["loose"], len(runs), sum(runs.values()))


def demo_data(played: PlayedDemo) -> dict[str, Any]:
    score = played.score
    return {
        "shoot": str(played.shoot.folder),
        "people": len({e.person for e in played.day.exposures if e.person}),
        "accidents": [accident.description for accident in played.day.accidents],
        **match_summary_data(played.shoot, played.summary),
        "right": score.right,
        "wrong": score.wrong,
        "loose_portraits": score.loose,
        "person_runs_loose": score.loose_runs,
        "right_first": score.right_first,
    }


def print_demo(played: PlayedDemo, say: Callable[..., None]) -> None:
    """Print the day, the summary of its match, and the score."""
    day, score = played.day, played.score
    shoot = played.shoot
    say(f"{shoot.settings.name}: {len(day.check_ins)} people checked in, in {shoot.folder}", "bold")
    say("What went wrong on the day (the story knows; the program does not):")
    for accident in day.accidents:
        say(f"  {accident.description}")
    say("")
    print_match_summary(played.shoot, played.summary, say)
    say("")
    if day.never_came:
        say(f"Never came: {_names(played, day.never_came)}")
    if day.never_shot:
        say(f"Arrived, never photographed: {_names(played, day.never_shot)}")
    say(
        f"Held against the truth: {score.right} names right, {score.wrong} wrong; {score.loose} portraits"
        f" loose; the right person is suggested first for {score.right_first} of {score.loose_runs} loose"
        " runs of people.",
        "bold",
    )


def _names(played: PlayedDemo, keys: Sequence[str]) -> str:
    with played.shoot.reading() as session:
        names = {person.key: person.name for person in read_people(session)}
    return ", ".join(names.get(key, key) for key in keys)
