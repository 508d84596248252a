"""Who may be published: the rule, and that no sequence of what can happen to a list gets around it."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from onsite.checkin.check_in import undo_arrival
from onsite.checkin.walk_ins_and_corrections import add_walk_in, correct_person
from onsite.core.errors import Problem
from onsite.delivery.deliverables import Deliverable
from onsite.delivery.delivery_sets import SetPer, divide_into_sets
from onsite.proofs.proof_jobs import proof_jobs
from onsite.reconcile.frame_ownership import PersonWithFrames, ProofFrame
from onsite.roster.load_roster import load_list
from onsite.roster.parse_consent import Consent, parse_consent
from onsite.roster.publication_consent import WithholdingReason, decide_publication
from onsite.roster.read_people import asks_consent, read_people
from onsite.status.person_status import count_withheld
from onsite.status.read_status import read_person_statuses
from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot


@pytest.mark.parametrize(
    ("written", "asked", "walk_in", "withdrawn", "reason"),
    [
        ("yes", True, False, False, None),
        ("yes", False, True, False, None),
        ("yes", True, False, True, WithholdingReason.WITHDRAWN),
        ("", False, False, False, None),
        ("", False, False, True, WithholdingReason.WITHDRAWN),
        ("  ", True, False, False, WithholdingReason.NO_ANSWER),
        ("", True, True, False, WithholdingReason.WALK_IN),
        ("", False, True, False, WithholdingReason.WALK_IN),
        ("no", False, False, False, WithholdingReason.REFUSED),
        ("no", True, True, True, WithholdingReason.REFUSED),
        ("yes, not online", False, False, False, WithholdingReason.UNCLEAR),
        ("yes*", True, False, True, WithholdingReason.UNCLEAR),
    ],
)
def test_the_rule(
    written: str, asked: bool, walk_in: bool, withdrawn: bool, reason: WithholdingReason | None
) -> None:
    may = decide_publication(written, asked=asked, walk_in=walk_in, withdrawn=withdrawn)
    assert (may.reason, may.allowed) == (reason, reason is None)


NAMES = ("Ana Horvat", "Bo Lind")
ANSWERS = st.sampled_from(("yes", "no", "", "yes, not online"))

Step = tuple[object, ...]
LISTS = st.tuples(
    st.just("list"),
    st.sampled_from(("Consent", "Photo agreement", "mapped", "")),
    st.lists(st.tuples(st.sampled_from(NAMES), ANSWERS), min_size=1, unique_by=lambda row: row[0]),
)
"""A list: how its column about consent is called, "mapped" for one that --map names, "" for none; and who is
on it with which answer."""
STEPS = st.one_of(
    LISTS,
    st.tuples(st.just("correct"), st.sampled_from((*NAMES, "Dora Vrba")), ANSWERS),
    st.tuples(st.just("walk in"), st.just("Dora Vrba"), st.sampled_from(("yes", "no", ""))),
    st.tuples(st.just("undo"), st.just("Dora Vrba")),
)


@dataclass
class Told:
    """What has been said so far, kept apart from the program: the last clear answer of each person, what the
    client's list said last, who walked in, and whether anybody on the list has answered."""

    last: dict[str, Consent] = field(default_factory=dict)
    listed: dict[str, str] = field(default_factory=dict)
    walked_in: set[str] = field(default_factory=set)
    others_did: bool = False

    def hears(self, name: str, text: str) -> None:
        if (answer := parse_consent(text)) in (Consent.YES, Consent.NO):
            self.last[name] = answer

    def reads(self, rows: list[tuple[str, str]], has_column: bool) -> None:
        for name, text in rows if has_column else ():
            if text and self.listed.get(name) != text:  # a list that is loaded again says nothing new
                self.hears(name, text)
            self.listed[name] = text or self.listed.get(name, "")
            self.others_did |= bool(text)


def play(shoot: Shoot, step: Step, told: Told) -> None:
    """Does one thing as the door or the command line does it; what is refused changes nothing."""
    ids = {}
    with shoot.reading() as session:
        ids = {someone.name: someone.id for someone in read_people(session)}
    if step[0] == "list":
        _, heading, rows = step
        assert isinstance(heading, str)
        assert isinstance(rows, list)
        column = {"mapped": "Column 7", "Photo agreement": "Photo consent"}.get(heading, heading)
        path = shoot.folder / "list.csv"
        lines = [f'"{name}",Altos,"{text}"' if column else f'"{name}",Altos' for name, text in rows]
        path.write_text("\n".join([f"Name,Group{f',{column}' if column else ''}", *lines]), encoding="utf-8")
        load_list(shoot, path, maps=[("consent", "Column 7")] if heading == "mapped" else [])
        told.reads(rows, bool(column))
        return
    name = str(step[1])
    try:
        if step[0] == "correct" and name in ids:
            correct_person(shoot, ids[name], {"consent": str(step[2])})
            told.hears(name, str(step[2]))
            told.others_did |= parse_consent(str(step[2])) is Consent.YES and name not in told.walked_in
        elif step[0] == "walk in" and name not in ids:
            add_walk_in(shoot, "Dora", "Vrba", "Altos", consent=str(step[2]), new_group=True)
            told.walked_in.add(name)
            told.last.pop(name, None)
            told.hears(name, str(step[2]))
        elif step[0] == "undo" and name in ids:
            undo_arrival(shoot, name)
    except Problem:
        pass


def published(shoot: Shoot, blank_is_yes: bool) -> tuple[set[str], set[str]]:
    """Who gets a page, and who is in the sets for the client, for groups and in the yearbook."""
    with shoot.reading() as session:
        everybody = read_people(session)
    sitters = [PersonWithFrames(someone, "", "", (ProofFrame(1, "A:1", ()),)) for someone in everybody]
    jobs = proof_jobs(sitters, {}, shoot.settings, shoot.mark, blank_is_yes)
    wanted = [Deliverable(one, one.id, 1, Path("a.jpg"), "", "a", None, "A:1") for one in everybody]
    sets = [
        {
            one.person.name
            for part in divide_into_sets(wanted, everybody, per, "Client", False).sets
            for one in part.deliverables
        }
        for per in (SetPer.CLIENT, SetPer.GROUP, SetPer.YEARBOOK)
    ]
    assert sets[0] == sets[1] == sets[2]
    withheld = count_withheld(one for one in read_person_statuses(shoot) if not one.person.withdrawn)
    present = [one for one in everybody if not one.withdrawn]
    assert sum(withheld.values()) == len({one.name for one in present} - sets[0])
    return {job.sitter.person.name for job in jobs if not job.why_no_page}, sets[0]


def listed(heading: str, **answers: str) -> Step:
    rows = [(name, answers[name.split()[0].lower()]) for name in NAMES if name.split()[0].lower() in answers]
    return "list", heading, rows


@settings(max_examples=20)
@given(first=LISTS, then=st.lists(STEPS, min_size=1, max_size=5))
@example(listed("Consent", ana="yes", bo=""), [listed("Consent", ana="", bo="")])
@example(listed("mapped", ana="yes", bo=""), [listed("", bo="")])
@example(listed("Consent", ana="no", bo="yes"), [("correct", "Ana Horvat", "")])
@example(
    listed("Consent", ana="no", bo="yes"),
    [("correct", "Ana Horvat", "yes, not online"), ("correct", "Ana Horvat", "")],
)
@example(listed("", ana="", bo=""), [("correct", "Ana Horvat", "yes"), listed("Consent", ana="no", bo="yes")])
@example(listed("", ana="", bo=""), [("correct", "Ana Horvat", "yes"), ("correct", "Ana Horvat", "")])
@example(
    listed("", ana="", bo=""),
    [("walk in", "Dora Vrba", "no"), ("undo", "Dora Vrba"), ("walk in", "Dora Vrba", "")],
)
def test_nobody_is_published_against_their_will(first: Step, then: list[Step]) -> None:
    with TemporaryDirectory() as folder:
        shoot = create_shoot(Path(folder) / "shoot", Settings("Festival", timezone="Europe/Vienna"), "AAAA")
        told = Told()
        for step in (first, *then):
            play(shoot, step, told)
        on_pages, in_sets = published(shoot, blank_is_yes=False)
        asked_for, _ = published(shoot, blank_is_yes=True)
        shoot.engine.dispose()
    for name in on_pages | in_sets | asked_for:
        assert told.last.get(name) is not Consent.NO, (name, "said no")
    for name in on_pages | in_sets:
        said_yes = told.last.get(name) is Consent.YES
        assert said_yes or not (told.others_did or name in told.walked_in), (name, "never said yes")


def load_text(shoot: Shoot, text: str) -> None:
    path = shoot.folder / "list.csv"
    path.write_text(text, encoding="utf-8")
    load_list(shoot, path)


def who_may(shoot: Shoot) -> set[str]:
    with shoot.reading() as session:
        return {someone.key for someone in read_people(session) if someone.publication.allowed}


@pytest.mark.parametrize(
    "later",
    [
        "key,name\nK-1,Ana\nK-2,Bo\n",
        "key,name,consent\nK-1,Ana,\nK-2,Bo,\n",
        "key,name,consent\nK-2,Bo,\n",
        "key,name\nK-2,Bo\nK-3,Cleo\n",
    ],
)
def test_a_list_that_had_an_answer_has_answers_for_good(shoot: Shoot, later: str) -> None:
    load_text(shoot, "key,name\nK-1,Ana\nK-2,Bo\n")
    assert who_may(shoot) == {"K-1", "K-2"}
    load_text(shoot, "key,name,consent\nK-1,Ana,yes\nK-2,Bo,\n")
    assert who_may(shoot) == {"K-1"}
    load_text(shoot, later)
    assert who_may(shoot) <= {"K-1"}


def test_an_answer_in_a_row_that_is_left_out_is_an_answer(shoot: Shoot) -> None:
    """The list has answers, although nothing of that row is known yet."""
    load_text(shoot, "key,name\nK-1,Ana Horvat\nK-2,Bo Lind\n")
    load_text(shoot, "key,name,consent\nK-1,Zoltan Kodra,no\nK-2,Bo Lind,\n")  # another name: a question
    assert who_may(shoot) == set()


def test_at_the_door_a_yes_makes_the_list_one_with_answers_and_an_objection_does_not(shoot: Shoot) -> None:
    load_text(shoot, "key,name\nK-1,Ana\nK-2,Bo\nK-3,Cleo\n")
    correct_person(shoot, 1, {"consent": "no"})
    assert who_may(shoot) == {"K-2", "K-3"}
    correct_person(shoot, 2, {"consent": "yes"})
    assert who_may(shoot) == {"K-2"}
    correct_person(shoot, 2, {"consent": ""})
    assert who_may(shoot) == set()
    with shoot.reading() as session:
        assert asks_consent(session)


@pytest.mark.parametrize("refusal", ["no", "yes, not online"])
def test_nothing_takes_a_refusal_away_but_a_yes(shoot: Shoot, refusal: str) -> None:
    load_text(shoot, f'key,name,consent\nK-1,Ana,"{refusal}"\nK-2,Bo,yes\n')
    with pytest.raises(Problem, match="Ana is not to be published"):
        correct_person(shoot, 1, {"consent": "", "note": "left early"})
    load_text(shoot, "key,name,consent\nK-1,Ana,\nK-2,Bo,yes\n")
    assert who_may(shoot) == {"K-2"}
    correct_person(shoot, 1, {"consent": "yes"})
    assert who_may(shoot) == {"K-1", "K-2"}


def test_a_refusal_that_is_new_on_the_list_goes_before_a_yes_at_the_door(shoot: Shoot) -> None:
    listed = "key,name,consent\nK-1,Ana,{}\nK-2,Bo,yes\n"
    load_text(shoot, listed.format("no"))
    correct_person(shoot, 1, {"consent": "yes"})
    load_text(shoot, listed.format("no"))  # the list as it was: nothing new
    assert who_may(shoot) == {"K-1", "K-2"}
    load_text(shoot, listed.format("yes"))
    load_text(shoot, listed.format("No!"))
    assert who_may(shoot) == {"K-2"}
    load_text(shoot, listed.format("yes"))  # and the list's own word counts from then on
    assert who_may(shoot) == {"K-1", "K-2"}
    correct_person(shoot, 1, {"consent": "no"})
    load_text(shoot, listed.format("ja"))
    assert who_may(shoot) == {"K-2"}
