"""Somebody who is not on the list."""

from datetime import datetime
from pathlib import Path

import pytest
from PIL import Image
from sqlmodel import select

from onsite.checkin.check_in import check_in, record_slate_shown, undo_arrival
from onsite.checkin.deck_cards import make_deck
from onsite.checkin.walk_ins_and_corrections import add_walk_in, correct_person
from onsite.core.codes import parse_slate_code
from onsite.core.errors import Problem
from onsite.frames.ingest import ingest
from onsite.reconcile.current_match import current_verdicts, summary_now
from onsite.reconcile.explain_frame import explain_frame
from onsite.reconcile.overrides import give
from onsite.roster.load_roster import load_list
from onsite.roster.publication_consent import WithholdingReason
from onsite.roster.read_people import asks_consent, read_people
from onsite.roster.roster_groups import UnknownGroup
from onsite.slates.slate_image import ticket_image
from onsite.slates.slate_layout import Ticket
from onsite.status.person_history import history
from onsite.store.events import EventKind, add_event
from onsite.store.schema import Person
from onsite.store.shoot import Shoot


def test_a_walk_in_is_a_person_who_has_arrived(shoot: Shoot) -> None:
    make_deck(shoot, 1)
    at = datetime.fromisoformat("2026-06-13T09:00+02:00")
    arrival = add_walk_in(
        shoot, " Leo ", "Haas", "Bass", "leo@choir.example", card=1, at=at, station="door-1"
    )
    assert (arrival.sequence, arrival.at, arrival.station, arrival.card) == (1, at, "door-1", 1)
    with shoot.reading() as session:
        row = session.exec(select(Person).where(Person.key == "walkin-1")).one()
    assert (row.name, row.given, row.family, row.group) == ("Leo Haas", "Leo", "Haas", "Bass")
    assert (row.email, row.walk_in, row.own_key) == ("leo@choir.example", True, True)
    code = parse_slate_code(row.code)
    assert code is not None
    assert code.shoot == "AAAA"


def test_walk_ins_have_keys_of_their_own_and_are_found_by_them(shoot: Shoot) -> None:
    keys = [add_walk_in(shoot, "Leo", "").person.key, add_walk_in(shoot, "", "Haas").person.key]
    assert keys == ["walkin-1", "walkin-2"]
    assert check_in(shoot, "walkin-1").sequence == 1


@pytest.mark.long
def test_a_walk_in_that_is_taken_back_is_nobody_any_more(shoot: Shoot, tmp_path: Path) -> None:
    make_deck(shoot, 1)
    leo = add_walk_in(shoot, "Leo", "Haas", "Bass", card=1, consent="yes").person
    record_slate_shown(shoot, leo.id, "door-1")
    back = undo_arrival(shoot, "Leo Haas")
    assert (back.removed, back.sequence, back.cards, back.frames) == (True, 1, "Card 1 is free.", 0)
    with shoot.reading() as session:
        assert leo.id not in {someone.id for someone in read_people(session)}
    for text in ("Leo Haas", "walkin-1", "1", leo.code):
        with pytest.raises(Problem):
            check_in(shoot, text)
    again = add_walk_in(shoot, "Leo", "Haas", "Bass", card=1)
    assert (again.person.key, again.sequence, again.card_before, again.same_name) == ("walkin-2", 2, None, ())
    assert again.person.code != leo.code
    told = [one.text for one in history(shoot, leo.id)]
    assert told[-1] == "walk-in taken back: not in the shoot any more, and the number is nobody's"
    with (tmp_path / "roster.csv").open("a", encoding="utf-8") as roster:
        roster.write("S-6,Leo,Haas,Bass\n")
    load_list(shoot, tmp_path / "roster.csv")
    with shoot.reading() as session:
        assert [(p.key, p.sequence) for p in read_people(session) if p.name == "Leo Haas"] == [("S-6", 2)]


@pytest.mark.long
def test_frames_of_a_walk_in_that_is_taken_back_are_nobodys(shoot: Shoot, tmp_path: Path) -> None:
    leo = add_walk_in(shoot, "Leo", "Haas").person
    zoe = add_walk_in(shoot, "Zora", "Haas").person
    card = tmp_path / "card"
    card.mkdir()
    ticket_image(Ticket(leo.code, "Leo Haas")).convert("RGB").save(card / "IMG_0001.JPG", quality=95)
    for number in (2, 3):
        Image.new("RGB", (300, 200), (90, 40 * number, 70)).save(card / f"IMG_000{number}.JPG")
    ingest(shoot, [card], "A")
    frames = [
        stand
        for stand in current_verdicts(shoot).values()
        if stand.person == leo.id and stand.kind == "named"
    ]
    assert len(frames) == 2
    give(shoot, ["IMG_0003.JPG"], leo.key)
    with pytest.raises(Problem, match="1 frame was given to them by hand"):
        undo_arrival(shoot, leo.key)
    give(shoot, ["IMG_0003.JPG"], zoe.key)
    assert undo_arrival(shoot, leo.key).frames == 1
    after = {stand.frame: (str(stand.kind), stand.person) for stand in current_verdicts(shoot).values()}
    assert after[frames[0].frame] == ("loose", None)
    assert after[frames[1].frame] == ("named", zoe.id)
    assert summary_now(shoot).loose == 1
    explain_frame(shoot, "IMG_0003.JPG")  # the decision before is told with the name of whoever is gone


def test_a_walk_in_with_picks_stays(shoot: Shoot) -> None:
    leo = add_walk_in(shoot, "Leo", "Haas").person
    with shoot.writing() as session:
        add_event(session, EventKind.PICKED, shoot.now(), person_id=leo.id, frames=[], notes={}, note="")
    with pytest.raises(Problem, match="has proofs or picks already"):
        undo_arrival(shoot, leo.key)


def test_a_walk_in_is_published_only_after_a_yes(shoot: Shoot) -> None:
    """Also where the list has no answer at all, and without a word about anybody on it."""
    silent, no = add_walk_in(shoot, "Leo", "").person, add_walk_in(shoot, "Mia", "", consent="Nein").person
    yes = add_walk_in(shoot, "Ida", "", consent="yes").person
    assert [one.publication.reason for one in (silent, no, yes)] == [
        WithholdingReason.WALK_IN,
        WithholdingReason.REFUSED,
        None,
    ]
    with pytest.raises(Problem, match="neither a yes nor a no"):
        add_walk_in(shoot, "Ole", "", consent="ask his mother")
    assert correct_person(shoot, silent.id, {"consent": "yes"}).publication.allowed
    with shoot.reading() as session:
        assert all(one.publication.allowed for one in read_people(session) if one.key.startswith("S-"))
        assert not asks_consent(session)


def test_a_list_takes_no_yes_away_that_a_walk_in_gave(shoot: Shoot, tmp_path: Path) -> None:
    add_walk_in(shoot, "Leo", "Haas", "Bass", consent="yes")
    text = "key,given,family,group,consent\nS-1,Mira,Okafor,Soprano,yes\nS-9,Leo,Haas,Bass,{}\n"
    for said, allowed in (("", True), ("no", False)):
        (tmp_path / "newer.csv").write_text(text.format(said), encoding="utf-8")
        load_list(shoot, tmp_path / "newer.csv")
        with shoot.reading() as session:
            assert [p.publication.allowed for p in read_people(session) if p.name == "Leo Haas"] == [allowed]


def test_a_group_is_one_of_those_there_are_or_made_on_purpose(shoot: Shoot) -> None:
    with pytest.raises(UnknownGroup, match="Do you mean Soprano"):
        add_walk_in(shoot, "Leo", "Haas", "Sopranno")
    assert add_walk_in(shoot, "Leo", "Haas", " sopRANO ").person.group == "Soprano"
    assert add_walk_in(shoot, "Ida", "Haas", "Guests", new_group=True).person.group == "Guests"
    assert add_walk_in(shoot, "Ole", "Haas", "Guests").person.group == "Guests"
    assert add_walk_in(shoot, "Ulf", "Haas").person.group == ""
    with pytest.raises(UnknownGroup):
        correct_person(shoot, 1, {"group": "Sopranno"})
    assert correct_person(shoot, 1, {"group": "Choir", "note": "x"}, new_group=True).group == "Choir"


def test_a_name_that_is_known_is_told_and_not_refused(shoot: Shoot) -> None:
    assert add_walk_in(shoot, "anna", "LINDQVIST").same_name == ("S-3", "S-4")
    assert add_walk_in(shoot, "Zoe", "Agoston").same_name == ("S-5",)
    assert add_walk_in(shoot, "Leo", "Haas").same_name == ()


@pytest.mark.parametrize(
    ("given", "family"), [("", ""), ("  ", "\t"), ("\u200b", ""), ("\udcff", "Haas"), ("a\0b", "")]
)
def test_what_is_no_name_is_refused(shoot: Shoot, given: str, family: str) -> None:
    with pytest.raises(Problem):
        add_walk_in(shoot, given, family)
    with shoot.reading() as session:
        assert len(read_people(session)) == 5


@pytest.mark.parametrize(
    "name", ["'); DROP TABLE person; --", "\x1b]0;x\x07", "[red]Leo[/]", "Leo\nHaas", "é" * 3000]
)
def test_hostile_names_are_kept_as_written(shoot: Shoot, name: str) -> None:
    assert add_walk_in(shoot, name, "").person.name == name
    with shoot.reading() as session:
        assert read_people(session)[-1].name == name


def test_an_unknown_card_leaves_nobody_behind(shoot: Shoot) -> None:
    with pytest.raises(Problem, match="There is no card"):
        add_walk_in(shoot, "Leo", "Haas", card="7")
    with shoot.reading() as session:
        assert len(read_people(session)) == 5


def test_a_correction_of_consent_is_a_plain_answer(shoot: Shoot) -> None:
    """What the list says unclearly may stay while something else is put right."""
    for text in ("perhaps", "yes, not online", "?"):
        with pytest.raises(Problem, match="neither a yes nor a no"):
            correct_person(shoot, 1, {"consent": text})
    correct_person(shoot, 1, {"consent": "Nein"})
    with pytest.raises(Problem, match="neither a yes nor a no"):
        correct_person(shoot, 1, {"consent": "perhaps"})
    with shoot.writing() as session:
        session.get_one(Person, 1).consent = "yes, not online"
    assert (
        correct_person(shoot, 1, {"consent": "yes, not online", "note": "tall"}).publication.consent.value
        == "unclear"
    )
