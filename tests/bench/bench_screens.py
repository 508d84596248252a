"""How quickly the screens answer on a big shoot, beside the same actions on a shoot of 40 people.

    python -m tests.bench.bench_screens [PART ...]      (parts: opens keys landing checkin matching)

10,000 people, 8,000 of them arrived, 100,000 frames on four cameras, matched. The app is driven by Textual's
own pilot at 120 × 36, in a process of its own for each shoot, and for each time that modes open, so that
nothing is warm that would be cold. A time runs from the key (for a landing: from the file's last byte) until
a frame is composed and turned into what is written to the terminal, with everything expected on it: the field
with the text typed and the result list's names, the number large and the message, a mode's people, frames and
counts. `tests/bench/terminal.py` keeps the terminal's cells and says when. An arrival is on disk when another
connection reads it.

Printed: median, 95 of 100, longest, the median relative to the small shoot, and the target.
By `python -m tests.bench.bench_screens opens checkin`, at low priority on two cores busy with other work, so
that the ratio says more than the milliseconds:

    milliseconds                                  median  95/100 longest  × 40 people  target
    set opens, first (6)                           524.6  1105.4  1105.4          1.2  300
    reconcile opens, first (6)                     190.2   375.0   375.0          0.7  300
      its runs stand there, first (6)             2339.0  3678.4  3678.4          8.7
    board opens, first (6)                         360.1   713.3   713.3          2.2  300
    desk opens, first (6)                          840.7  1877.4  1877.4          5.2  300
    door opens, again (18)                         183.5   577.6   577.6          1.4  300
    set opens, again (18)                          153.7   253.6   253.6          1.2  300
    reconcile opens, again (18)                    183.3   435.5   435.5          1.6  300
    board opens, again (18)                        163.5   440.3   440.3          1.7  300
    desk opens, again (18)                         353.5   652.4   652.4          3.8  300
    check-in on disk (40)                           59.5   128.5   153.7          1.0  100
    check-in on the screen (40)                    165.3   362.8   374.6          1.6  100
    MiB, the screens                                 290                          2.3
"""

from __future__ import annotations

import asyncio
import multiprocessing
import os
import random
import resource
import sqlite3
import string
import sys
import tempfile
import threading
import time
from collections import defaultdict
from collections.abc import AsyncIterator, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import asynccontextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import Any

from tests.bench.big import LARGE, evidence, fill, peak_mib

SIZE = (120, 36)
LANDINGS = 10
TYPED = 32  # names and other texts that are typed, key by key
PARTS = ("opens", "keys", "landing", "checkin", "matching")
TARGETS = {"key": 50, "check-in": 100, "opens": 300, "landing": 700}  # milliseconds

Times = dict[str, list[float]]
"""By what was done: the seconds that each time took. Memory is in it too, in MiB."""


def main(parts: Sequence[str]) -> None:
    os.environ["TEXTUAL_COLOR_SYSTEM"] = "truecolor"  # as most terminals have it: more is written
    with tempfile.TemporaryDirectory() as name:
        os.environ["XDG_CONFIG_HOME"] = name  # the theme of whoever runs it is left alone
        shoots = {size: Path(name) / size for size in ("small", "big")}
        apart(make, shoots["small"], 40, 32, 31)
        apart(make, shoots["big"], 10_000, 8_000, 7_700)
        taken = {size: measured(shoot, parts) for size, shoot in shoots.items()}
    report(taken["big"], taken["small"])


def apart(work: Any, *arguments: Any) -> Any:
    """Does it in a fresh process."""
    with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as pool:
        return pool.submit(work, *arguments).result()


def measured(shoot: Path, parts: Sequence[str]) -> Times:
    times: Times = defaultdict(list)
    for first in ("door", "board") * 3 if "opens" in parts else ():
        for what, took in apart(opens, shoot, first).items():
            times[what] += took
    if set(parts) - {"opens"}:
        slates = apart(draw, shoot, shoot.with_name(f"{shoot.name} card")) if "landing" in parts else []
        times |= apart(day, shoot, parts, slates)
    return times


def report(big: Times, small: Times) -> None:
    print(f"{'milliseconds':44} {'median':>7} {'95/100':>7} {'longest':>7}  {'× 40 people':>11}  target")
    for what, took in big.items():
        if what.startswith("MiB"):
            most, least = max(took), max(small[what])
            print(f"{what:44} {most:7.0f} {'':15}  " + (f"{most / least:11.1f}" if least else ""))
            continue
        in_order = sorted(1000 * seconds for seconds in took)
        middle, most = median(in_order), in_order[len(in_order) * 95 // 100]
        ratio = f"{middle / 1000 / median(small[what]):11.1f}" if small.get(what) else f"{'':>11}"
        target = next((ms for word, ms in TARGETS.items() if word in what), "")
        times = f"{middle:7.1f} {most:7.1f} {in_order[-1]:7.1f}"
        print(f"{f'{what} ({len(took)})':44} {times}  {ratio}  {target}")


def make(folder: Path, people: int, arrived: int, photographed: int) -> None:
    """A matched shoot whose last frames were taken a minute ago."""
    from onsite.reconcile.current_match import update_match

    ends = time.time() - 60
    shoot = fill(folder, evidence(people, each=13, arrived=arrived, photographed=photographed, ends=ends))
    update_match(shoot)
    shoot.engine.dispose()


def opens(folder: Path, first: str) -> Times:
    return asyncio.run(Day(folder).opens(first))


def day(folder: Path, parts: Sequence[str], slates: Sequence[tuple[Path, str]]) -> Times:
    return asyncio.run(Day(folder).day(parts, slates))


class Day:
    """An app on a shoot, and what is done with it."""

    def __init__(self, folder: Path) -> None:
        from onsite.store.shoot import open_shoot
        from onsite.tui.app import OnsiteApp

        self.times: Times = defaultdict(list)
        self.shoot = open_shoot(folder)
        self.app = OnsiteApp(self.shoot, "door-1")
        self.rng = random.Random(5)
        self.matching = False
        self._note_matching()

    def _note_matching(self) -> None:
        """Keeps in mind whether a match runs apart."""
        from onsite.tui import background_updates

        plain = background_updates.update_match_in_process

        def noted(*arguments: Any) -> None:
            self.matching = True
            try:
                plain(*arguments)
            finally:
                self.matching = False

        background_updates.update_match_in_process = noted

    @asynccontextmanager
    async def driven(self, first: str) -> AsyncIterator[None]:
        from tests.bench.terminal import Terminal

        self.app._first_mode = first
        async with self.app.run_test(size=SIZE) as pilot:
            self.pilot = pilot
            self.terminal = Terminal(pilot)
            while not self.app.ready:
                await asyncio.sleep(0.01)
            await self._rest()
            yield
        self.shoot.engine.dispose()

    async def _rest(self) -> None:
        """Until nothing goes on that was not asked for."""
        await self.pilot.pause(0.3)
        while self.matching:
            await self.pilot.pause(0.1)

    @property
    def people(self) -> list[Any]:
        return [standing.person for standing in self.app.status_cache.statuses.values()]

    async def opens(self, first: str) -> Times:
        """Every mode for the first time, and then again and again."""
        keys = {"f1": "door", "f2": "set", "f3": "reconcile", "f4": "board", "f10": "desk"}
        async with self.driven(first):
            for turn in range(4):
                for key, mode in keys.items():
                    if self.app.current_mode != mode:
                        which = "again" if turn else "first"
                        await self._open(key, mode, which)
                        await self._rest()
        return self.times

    async def _open(self, key: str, mode: str, which: str) -> None:
        """Until it is whole; of Reconcile also until the day is read, which it says meanwhile."""
        whole: list[float] = []

        def holds(terminal: Any) -> bool:
            if not whole and is_whole(mode, terminal.text):
                whole.append(terminal.at)
            return bool(whole) and (mode != "reconcile" or has_runs(terminal.text))

        begun = time.perf_counter()
        took = await self.terminal.press(key, holds)
        self.times[f"{mode} opens, {which}"].append(whole[0] - begun)
        if mode == "reconcile":
            self.times[f"  its runs stand there, {which}"].append(took)

    async def day(self, parts: Sequence[str], slates: Sequence[tuple[Path, str]]) -> Times:
        async with self.driven("door"):
            if "keys" in parts:
                await self._type("key to list")
            if "landing" in parts:
                await self._land(slates)
            if "checkin" in parts:
                await self._check_in()
            if "matching" in parts:
                await self._match_meanwhile()
            for key in ("f3", "f4", "f1"):
                await self.pilot.press(key)
                await self._rest()
        self.times["MiB, the screens"].append(peak_mib())
        if "matching" in parts or "checkin" in parts:
            self.times["MiB, a match apart, at most"].append(peak_mib(resource.RUSAGE_CHILDREN))
        return self.times

    async def _type(self, what: str, only_matching: bool = False) -> None:
        """Texts as people type them, each key by itself, and taken back with as many keys."""
        for text in typed(self.people, self.rng):
            for end in (*range(1, len(text) + 1), *reversed(range(len(text)))):
                key = "backspace" if not text[:end] or end < len(self._field.value) else text[end - 1]
                before = self.matching
                took = await self.terminal.press(named(key), self._list_of(text[:end]))
                if key != " " and (not only_matching or (before and self.matching)):
                    self.times[what].append(took)
            if only_matching and not self.matching:
                return

    @property
    def _field(self) -> Any:
        from onsite.tui.widgets.input_form import EntryField

        return self.app.screen.query_one(EntryField)

    def _list_of(self, text: str) -> Any:
        """Whether the field holds that text, and the list whoever it finds."""
        roll = self.app.screen.query_one("#found")
        if text.strip():
            names = [hit.person.name for hit in self.app.status_cache.finder.find(text)]
        else:
            names = [standing.person.name for standing in self.app.status_cache.latest(20)]
        field, region = self._field.content_region, roll.content_region
        shown = [name[:12] for name in names[: region.height]]

        def holds(terminal: Any) -> bool:
            told = terminal.rows(field)[0].strip()
            if text.strip() and told != text.strip():
                return False
            rows = terminal.rows(region)
            return all(name in row for name, row in zip(shown, rows, strict=False))

        return holds

    async def _check_in(self) -> None:
        """Somebody's key is in the field; the time begins with Enter."""
        await self.pilot.press("f1")
        await self._rest()
        expected = [s.person for s in self.app.status_cache.statuses.values() if s.arrived is None]
        for someone in self.rng.sample(expected, min(40, len(expected) * 3 // 4)):
            self._field.value = someone.key
            await self.pilot.pause(0.1)
            on_disk = OnDisk(self.shoot.folder, someone.id)
            begun = time.perf_counter()
            seen = await self.terminal.press("enter", lambda t, someone=someone: self._numbered(t, someone))
            stored = on_disk.at() - begun
            self.times["check-in on disk"].append(stored)
            self.times["check-in on the screen"].append(seen)
            self.times["check-in, both"].append(max(stored, seen))

    def _numbered(self, terminal: Any, someone: Any) -> bool:
        number = self.app.screen.query_one(".card--number")
        drawn = "".join(terminal.rows(number.content_region)).strip()
        return bool(number.text and drawn) and f": {someone.name} arrived" in terminal.text

    async def _land(self, slates: Sequence[tuple[Path, str]]) -> None:
        """Slates of people who wait, held up to a camera that is tethered."""
        from tests.bench.bench_landing import write_in_pieces

        tether = self.shoot.folder.with_name(f"{self.shoot.folder.name} tether")
        tether.mkdir()
        await self.pilot.press("f2")
        self.app.write(lambda: self.app.watching.start(tether))
        await self._rest()
        for file, name in slates:
            film = self.app.screen.query_one("#film").content_region
            self.terminal.expect(lambda t, film=film, name=name: name[:12] in " ".join(t.rows(film)[:2]))
            content = file.read_bytes()
            await asyncio.to_thread(write_in_pieces, tether / file.name, content)
            begun = time.perf_counter()
            self.times["landing, a slate read"].append(await self.terminal.seen() - begun)
            await self._rest()
        self.app.write(self.app.watching.stop)
        await self.pilot.press("f1")
        await self._rest()

    async def _match_meanwhile(self) -> None:
        """The same keys while a match runs in its own process; decisions by hand ask for it."""
        from onsite.reconcile.overrides import give_frames

        what, until = "key to list, while matching", time.monotonic() + 90
        frame, last = 0, sum(standing.frames for standing in self.app.status_cache.statuses.values())
        while len(self.times[what]) < 200 and time.monotonic() < until and frame + 50 <= last:
            frame += 50
            give_frames(self.shoot, [frame], 1, "set-A")
            waited = time.monotonic() + 20
            while not self.matching and time.monotonic() < waited:
                await self.pilot.pause(0.05)
            if not self.matching:
                break  # a small shoot's match takes no time
            await self._type(what, only_matching=True)


class OnDisk:
    """Looks through a connection of its own when somebody's arrival can be read."""

    def __init__(self, folder: Path, person: int) -> None:
        from onsite.store.settings import SQLITE_FILE

        self._file = folder / SQLITE_FILE
        self._person = person
        self._at = 0.0
        self._thread = threading.Thread(target=self._look)
        self._thread.start()

    def _look(self) -> None:
        connection = sqlite3.connect(self._file)
        query = "SELECT 1 FROM event WHERE kind = 'arrived' AND person_id = ?"
        while not connection.execute(query, (self._person,)).fetchone():
            time.sleep(0.002)
        self._at = time.perf_counter()
        connection.close()

    def at(self) -> float:
        self._thread.join()
        return self._at


def is_whole(mode: str, text: str) -> bool:
    """Whether a mode stands on the terminal with its content, not only with its frame."""
    if mode == "reconcile":
        return "reading the day" in text or has_runs(text)
    wanted = {
        "door": (" waiting", " an hour", " ▄ "),
        "set": ("Next of ", " portrait"),
        "board": (" people: everybody", "on the list  ", " photographed"),
        "desk": (" to make proofs for", " people ", " wait "),
    }
    return all(words in text for words in wanted[mode]) and "reading" not in text


def has_runs(text: str) -> bool:
    return "frames in = " in text and " to go" in text


def typed(people: Sequence[Any], rng: random.Random) -> Iterator[str]:
    """Names and parts of them, with slips; the other way round; initials, groups, keys, numbers."""
    for number, someone in enumerate(rng.sample(people, min(TYPED, len(people)))):
        given, family = someone.given or someone.name, someone.family or someone.name
        slip = rng.randrange(1, max(len(family), 2))
        ways = (
            someone.name,
            family[:slip] + rng.choice(string.ascii_lowercase) + family[slip + 1 :],
            given[:6],
            f"{family} {given[:1]}",
            f"{given[:1]}{family[:1]}",
            f"{family[:4]} {someone.group[:5]}",
            someone.key,
            str(someone.sequence or number),
        )
        text = "".join(letter if letter.isalnum() else " " for letter in ways[number % len(ways)].lower())
        yield " ".join(text.split())[:14]  # the pilot does not type every sign


def named(key: str) -> str:
    return "space" if key == " " else key


def draw(folder: Path, card: Path) -> list[tuple[Path, str]]:
    """24-megapixel JPEGs of people who wait, each holding up the slate; with their names."""
    from onsite.checkin.waiting_people import waiting_people
    from onsite.simulator.draw_invented_exposure import picture, save
    from onsite.simulator.invented_exposure import CAMERAS, ExposureKind, SimulatedExposure, SimulatedSlate
    from onsite.status.read_status import read_person_statuses
    from onsite.store.shoot import open_shoot

    shoot = open_shoot(folder)
    people = [
        one.status.person for one in waiting_people(read_person_statuses(shoot), shoot.now())[:LANDINGS]
    ]
    shoot.engine.dispose()
    card.mkdir()
    drawn = []
    for number, someone in enumerate(people, start=1):
        at = datetime.now(UTC) + timedelta(seconds=number)
        exposure = SimulatedExposure(
            number, CAMERAS[0], ".", f"{CAMERAS[0].prefix}{number:04}.JPG", number, at,
            at.replace(tzinfo=None), "+00:00", 8, ExposureKind.SLATE, someone.name,
            slate=SimulatedSlate(someone.code, someone.name),
        )  # fmt: skip
        path = card / exposure.name
        save(exposure, picture(exposure, seed=1, size=LARGE), path)
        drawn.append((path, someone.name))
    return drawn


if __name__ == "__main__":
    main(sys.argv[1:] or PARTS)
