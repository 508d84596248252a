"""Every mode at three sizes, and what can be opened from them, as pictures in one theme.

Each picture was looked at before it was accepted. After a change that is meant, look at them again: run with
`--snapshot-update`, and turn the SVG files into pictures.
"""

from __future__ import annotations

import shutil
from collections.abc import Awaitable, Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageDraw
from sqlmodel import select
from textual.widgets import Input

from onsite.store.events import EventKind, add_event
from onsite.store.schema import VerdictRow
from onsite.store.shoot import Shoot, open_shoot
from onsite.tui.app import OnsiteApp
from tests.made_once import made_once
from tests.tui.conftest import NOW
from tests.tui.driving import Driven, screen_text, typed, until

SIZES = {"80x24": (80, 24), "120x36": (120, 36), "200x60": (200, 60)}
MODES = ("door", "set", "reconcile", "board")

Compare = Callable[..., bool]
Prepare = Callable[[Driven], Awaitable[None]]

pytestmark = pytest.mark.long


@pytest.fixture(scope="session")
def drawn(played: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """That day with pictures that are the same on every machine: a plain figure for each frame, told apart by
    its shade."""

    def make(folder: Path) -> None:
        shutil.copytree(played, folder, ignore=shutil.ignore_patterns("cards"), dirs_exist_ok=True)
        for number, path in enumerate(sorted((folder / "previews").rglob("*.jpg"))):
            with Image.open(path) as picture:
                size = picture.size
            figure(number % 5, size).save(path, quality=95)

    return made_once(tmp_path_factory, "plain figures", make)


def figure(number: int, size: tuple[int, int]) -> Image.Image:
    """Somebody before a grey backdrop, out of plain areas."""
    width, height = size
    picture = Image.new("RGB", size, (128, 128, 128))
    pen = ImageDraw.Draw(picture)
    shade = 40 + 16 * number
    pen.rectangle((width // 4, height // 2, width * 3 // 4, height), fill=(shade, shade, shade))
    pen.rectangle((width * 3 // 8, height // 5, width * 5 // 8, height // 2), fill=(200, 200, 200))
    return picture


@pytest.fixture
def day(drawn: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shoot]:
    """A copy of that day, at a quarter to ten in the morning."""
    monkeypatch.setattr(Shoot, "now", lambda shoot: NOW.astimezone(shoot.zone))
    shutil.copytree(drawn, tmp_path / "day")
    shoot = open_shoot(tmp_path / "day")
    yield shoot
    shoot.engine.dispose()


@pytest.fixture
def later(day: Shoot, monkeypatch: pytest.MonkeyPatch) -> Shoot:
    """That day, and the work of the week after it: somebody is at every stage, and a batch is late."""
    monkeypatch.setattr(Shoot, "now", lambda shoot: (NOW + timedelta(days=8)).astimezone(shoot.zone))
    theirs: dict[int, list[int]] = {}
    with day.writing() as session:
        named = select(VerdictRow.person_id, VerdictRow.frame_id).where(VerdictRow.kind == "named")
        for person, frame in session.exec(named.order_by(VerdictRow.frame_id)):
            theirs.setdefault(person or 0, []).append(frame)

        def happens(
            days: int, kind: EventKind, person: int | None, frame: int | None = None, **details: Any
        ) -> None:
            add_event(session, kind, NOW + timedelta(days=days), person_id=person, frame_id=frame, **details)

        for name, hand, due in (("B1", "in house", "2026-06-18"), ("B2", "Evening Retouchers", "2026-06-25")):
            happens(3, EventKind.BATCH, None, batch=name, hand=hand, due=due, price="", currency="EUR")
        for number, (person, frames) in enumerate(list(theirs.items())[1:]):
            happens(1, EventKind.PROOFED, person, frames=frames, page="" if number == 1 else f"{person}.html")
            if number:
                happens(1, EventKind.INVITED, person)
            if number < 3:
                continue
            happens(2, EventKind.PICKED, person, frames=frames[:1], notes={}, note="a stray hair on the left")
            batch = {"batch": f"B{1 + number % 2}", "version": 1}
            if number >= 5:
                happens(3, EventKind.SENT, person, frames[0], **batch, file="x.jpg")
            if number >= 7:
                happens(5, EventKind.RECEIVED, person, frames[0], **batch, file="x.jpg", sha256="")
            if number >= 9:
                happens(6, EventKind.DELIVERED, person, frames[0], delivery=1, set="client")
    return day


def app_on(shoot: Shoot, mode: str) -> OnsiteApp:
    return OnsiteApp(shoot, "door-1", mode)


async def settled(pilot: Driven) -> None:
    """Until everything is read and drawn, pictures too, and nothing blinks."""
    app: Any = pilot.app
    await until(pilot, lambda: app.ready)
    for _ in range(3):
        await app.workers.wait_for_complete()
        await pilot.pause(0.05)
    busy = ("reading", "matching …", "read …")
    await until(pilot, lambda: not any(word in screen_text(pilot) for word in busy))
    for field in app.screen.query(Input):
        field.cursor_blink = False
    await pilot.pause(0.2)
    await app.workers.wait_for_complete()
    await pilot.pause()


def then(*steps: str) -> Prepare:
    """Keys once all is settled; words in quotes are typed."""

    async def prepare(pilot: Driven) -> None:
        await settled(pilot)
        for step in steps:
            if step.startswith('"'):
                await typed(pilot, step.strip('"'))
            else:
                await pilot.press(step)
            await settled(pilot)

    return prepare


WITH = {"door": then('"maria"'), "set": then(), "reconcile": then("n"), "board": then("down", "down")}
"""What makes a mode show most of what it has."""


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("mode", MODES)
def test_a_mode(snap_compare: Compare, day: Shoot, mode: str, size: str) -> None:
    assert snap_compare(app_on(day, mode), terminal_size=SIZES[size], run_before=WITH[mode])


@pytest.mark.parametrize("size", SIZES)
def test_the_desk(snap_compare: Compare, later: Shoot, size: str) -> None:
    assert snap_compare(app_on(later, "desk"), terminal_size=SIZES[size], run_before=then("down"))


@pytest.mark.parametrize("size", SIZES)
def test_the_board_after_the_shoot(snap_compare: Compare, later: Shoot, size: str) -> None:
    assert snap_compare(app_on(later, "board"), terminal_size=SIZES[size], run_before=then("down"))


@pytest.mark.parametrize("size", SIZES)
def test_choosing_picks(snap_compare: Compare, later: Shoot, size: str) -> None:
    app = app_on(later, "desk")
    assert snap_compare(app, terminal_size=SIZES[size], run_before=then("tab", "enter", "right", "space"))


@pytest.mark.parametrize("size", ["80x24", "120x36"])
def test_the_slate_full_screen(snap_compare: Compare, day: Shoot, size: str) -> None:
    app = app_on(day, "door")
    assert snap_compare(app, terminal_size=SIZES[size], run_before=then('"maria"', "f7"))


@pytest.mark.parametrize("mode", [*MODES, "desk"])
def test_help(snap_compare: Compare, day: Shoot, mode: str) -> None:
    app = app_on(day, mode)
    assert snap_compare(app, terminal_size=SIZES["80x24"], run_before=then("f5"))


@pytest.mark.parametrize(
    ("name", "mode", "steps"),
    [
        ("walk-in", "door", ('"maria"', "f8")),
        ("correct", "door", ('"maria"', "ctrl+o")),
        ("which card", "door", ('"maria"', "ctrl+t")),
        ("watch a folder", "set", ("w",)),
        ("picture", "set", ("f",)),
        ("pick", "reconcile", ("n", "p", '"keller"')),
        ("lists", "reconcile", ("l",)),
        ("frame", "reconcile", ("n", "f")),
        ("history", "board", ("down", "enter")),
        ("missing", "board", ("m",)),
        ("already here", "door", ('"maria"', "enter")),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_is_opened_from_a_mode(
    snap_compare: Compare, day: Shoot, name: str, mode: str, steps: tuple[str, ...]
) -> None:
    app = app_on(day, mode)
    assert snap_compare(app, terminal_size=SIZES["80x24"], run_before=then(*steps)), name
