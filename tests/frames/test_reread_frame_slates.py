"""Slates that did not read are looked at again once there are more codes; nothing else of them changes."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from sqlmodel import select

from onsite.core.codes import SlateKind, new_code
from onsite.frames import reread_frame_slates
from onsite.frames.examine_frame import RefusedFile
from onsite.frames.ingest import ingest
from onsite.frames.reread_frame_slates import ShootCodes
from onsite.reconcile.current_match import current_verdicts
from onsite.slates.reader import read_slates
from onsite.slates.reader.closed_set import KnownSlates
from onsite.slates.reader.seen_symbol import ReadBy, SymbolSeen
from onsite.store.events import EventKind, add_event, read_events
from onsite.store.schema import DeckCard, Frame, Person, SymbolReading
from onsite.store.shoot import Shoot
from tests.frames.pictures import jpeg

AT = ((0.1, 0.1), (0.3, 0.1), (0.3, 0.3), (0.1, 0.3))
pytestmark = pytest.mark.usefixtures("asked")
CODES = [new_code("AAAA", (), random.Random(seed)) for seed in range(4)]


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, ...]]:
    """Every frame shows a slate with `CODES[0]` that only reads by comparing it with known codes. Holds the
    codes that were known, each time that slates were looked for."""
    asked: list[tuple[str, ...]] = []

    def read(
        _small: object, _full: object, _orientation: int, known: KnownSlates | None
    ) -> tuple[SymbolSeen, ...]:
        asked.append(known.codes if known else ())
        if known and CODES[0] in known.codes:
            return (SymbolSeen(CODES[0], 0, 0.2, AT, ReadBy.KNOWN, 9.5),)
        return (SymbolSeen(None, 0, 0.2, AT),)

    monkeypatch.setattr(read_slates, "read_symbols", read)
    return asked


def listed(shoot: Shoot, *codes: str) -> None:
    with shoot.writing() as session:
        for code in codes:
            session.add(Person(key=code, name="Zoë Ó Súilleabháin", code=code))


def readings(shoot: Shoot) -> list[tuple[str | None, str | None, float | None]]:
    with shoot.reading() as session:
        return list(session.exec(select(SymbolReading.text, SymbolReading.by, SymbolReading.margin)).all())


def test_a_list_loaded_after_the_frames_still_helps(
    shoot: Shoot, tmp_path: Path, asked: list[tuple[str, ...]]
) -> None:
    jpeg(tmp_path / "card" / "IMG_0001.JPG", 1)
    listed(shoot, CODES[1])
    first = ingest(shoot, [tmp_path / "card"])
    assert readings(shoot) == [(None, None, None)]
    assert (first.reread, first.slates.kinds[SlateKind.UNREAD]) == (0, 1)
    assert ingest(shoot, [tmp_path / "card"]).reread == 0
    assert len(asked) == 1  # no more codes: not looked at again
    listed(shoot, CODES[2])
    assert ingest(shoot, [tmp_path / "card"]).reread == 0
    assert readings(shoot) == [(None, None, None)]
    listed(shoot, CODES[0])
    again = ingest(shoot, [tmp_path / "card"])
    assert (again.reread, again.frames, again.known) == (1, 0, 1)
    assert readings(shoot) == [(CODES[0], "known codes", 9.5)]
    listed(shoot, CODES[3])
    assert ingest(shoot, [tmp_path / "card"]).reread == 0
    assert [len(codes) for codes in asked] == [1, 2, 3]


def test_a_match_sees_it_and_a_decision_by_hand_stands(shoot: Shoot, tmp_path: Path) -> None:
    jpeg(tmp_path / "card" / "IMG_0001.JPG", 1, taken="2026:06:13 09:00:00")
    jpeg(tmp_path / "card" / "IMG_0002.JPG", 2, taken="2026:06:13 09:10:00")
    listed(shoot, CODES[1])
    ingest(shoot, [tmp_path / "card"])
    with shoot.writing() as session:
        add_event(session, EventKind.GIVEN, shoot.now(), person_id=1, frame_id=2)
    assert {frame: stand.person for frame, stand in current_verdicts(shoot).items()} == {1: None, 2: 1}
    listed(shoot, CODES[0])
    assert ingest(shoot, [tmp_path / "card"]).reread == 2
    assert {frame: stand.person for frame, stand in current_verdicts(shoot).items()} == {1: 2, 2: 1}
    with shoot.reading() as session:
        assert [event.kind for event in read_events(session, [EventKind.GIVEN, EventKind.FREED])] == [
            EventKind.GIVEN
        ]


def test_only_the_symbols_of_an_unread_frame_are_replaced(shoot: Shoot, tmp_path: Path) -> None:
    path = jpeg(tmp_path / "card" / "IMG_0001.JPG", 1)
    ingest(shoot, [tmp_path / "card"])
    with shoot.reading() as session:
        before = session.get_one(Frame, 1)
    jpeg(path, 2)  # another picture under the same name: a frame of its own
    listed(shoot, CODES[0])
    done = ingest(shoot, [tmp_path / "card"])
    assert (done.frames, done.reread) == (1, 0)
    assert readings(shoot) == [(None, None, None), (CODES[0], "known codes", 9.5)]
    with shoot.reading() as session:
        now = session.get_one(Frame, 1)
    assert (now.name, now.look, now.trouble) == (before.name, before.look, before.trouble)


def test_what_an_earlier_version_left_unread_is_looked_at(
    shoot: Shoot, tmp_path: Path, asked: list[tuple[str, ...]]
) -> None:
    jpeg(tmp_path / "card" / "IMG_0001.JPG", 1)
    ingest(shoot, [tmp_path / "card"])
    with shoot.writing() as session:
        session.get_one(Frame, 1).codes = None
    ingest(shoot, [tmp_path / "card"])
    ingest(shoot, [tmp_path / "card"])
    assert len(asked) == 2


def test_a_slate_that_was_read_is_never_given_up(shoot: Shoot, tmp_path: Path) -> None:
    jpeg(tmp_path / "card" / "IMG_0001.JPG", 1)
    ingest(shoot, [tmp_path / "card"])
    with shoot.writing() as session:
        session.add(SymbolReading(frame_id=1, text=CODES[2], turned=0, share=0.2, by=ReadBy.DECODER))
    listed(shoot, CODES[0])
    assert ingest(shoot, [tmp_path / "card"]).reread == 0  # it would show CODES[0] alone
    assert sorted(readings(shoot), key=str) == sorted(
        [(None, None, None), (CODES[2], "decoder", None)], key=str
    )


def test_codes_are_those_of_all_people_and_cards_of_this_shoot(shoot: Shoot) -> None:
    codes = ShootCodes(shoot)
    assert (codes.now().slates.codes, codes.now().count) == ((), 0)
    listed(shoot, *CODES[:2])
    with shoot.writing() as session:
        session.add(Person(key="old", name="Ana Horvat", code="one", walk_in=True))
        session.add(DeckCard(number=1, code=CODES[2]))
    now = codes.now()
    assert now.slates.codes == tuple(sorted(CODES[:3]))
    assert codes.now() is now
    listed(shoot, CODES[3])
    assert codes.now().count == now.count + 1


def test_a_file_that_cannot_be_read_now_is_left_for_another_time(
    shoot: Shoot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    jpeg(tmp_path / "card" / "IMG_0001.JPG", 1)
    ingest(shoot, [tmp_path / "card"])
    listed(shoot, CODES[0])
    with monkeypatch.context() as patch:
        patch.setattr(
            reread_frame_slates,
            "examine_file",
            lambda candidate, **_: RefusedFile(candidate.path, "the card is out"),
        )
        assert ingest(shoot, [tmp_path / "card"]).reread == 0
    assert ingest(shoot, [tmp_path / "card"]).reread == 1
