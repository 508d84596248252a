"""A paper list, typed in."""

from pathlib import Path

import pytest

from onsite.checkin.check_in import check_in
from onsite.checkin.deck_cards import make_deck, read_card_assignments
from onsite.checkin.paper_check_in_list import PaperListResult, check_in_list
from onsite.core.errors import Problem
from onsite.core.times import format_clock_time
from onsite.store.events import newest_event_id
from onsite.store.shoot import Shoot


def typed(shoot: Shoot, tmp_path: Path, text: str) -> PaperListResult:
    path = tmp_path / "paper.csv"
    path.write_text(text, encoding="utf-8")
    return check_in_list(shoot, path, "door-1")


def test_people_are_numbered_by_their_time_and_those_without_come_last(shoot: Shoot, tmp_path: Path) -> None:
    paper = typed(
        shoot,
        tmp_path,
        "Who,AT,Card,Station\nS-1,,,\nS-2,2026-06-13T09:30,,door-2\nZoe Agoston,2026-06-13T07:10Z,,\n",
    )
    assert [(one.person.key, one.sequence, one.station) for one in paper.done] == [
        ("S-5", 1, "door-1"),
        ("S-2", 2, "door-2"),
        ("S-1", 3, "door-1"),
    ]
    assert format_clock_time(paper.done[0].at, shoot.zone) == "09:10"
    assert (paper.already, paper.refused, paper.ignored) == ([], [], ())


def test_bad_rows_are_refused_with_their_reason_and_the_others_done(shoot: Shoot, tmp_path: Path) -> None:
    make_deck(shoot, 2)
    paper = typed(
        shoot,
        tmp_path,
        "who,at,card,station\n"
        "S-1,2026-06-13T09:00,1,\n"
        "Anna Lindqvist,2026-06-13T09:01,,\n"
        "Nobody Such,2026-06-13T09:02,,\n"
        "S-2,half past nine,,\n"
        "S-2,2026-06-13T09:03,77,\n"
        ",2026-06-13T09:04,,\n"
        "Lindqvist, Anna,2026-06-13T09:05,1,door-1\n"
        "S-2,0001-01-01T00:00,,\n"
        "\n"
        "S-5,2026-06-13T09:06,2,\n"
        "S-1,2026-06-13T09:07,,\n",
    )
    assert [one.person.key for one in paper.done] == ["S-1", "S-5"]
    assert [one.person.key for one in paper.already] == ["S-1"]
    reasons = dict(paper.refused)
    assert list(reasons) == [3, 4, 5, 6, 7, 8, 9]
    for row, reason in {
        3: "fits 2 people", 4: "nobody's key", 5: "not a time", 6: "no card 77", 7: "Nobody is named",
        8: "5 cells under 4 headings", 9: "not a time",
    }.items():  # fmt: skip
        assert reason in reasons[row]
    assert all(len(reason.splitlines()) == 1 for reason in reasons.values())


def test_cards_go_round_in_the_order_of_time(shoot: Shoot, tmp_path: Path) -> None:
    code = make_deck(shoot, 1)[0].code
    paper = typed(
        shoot,
        tmp_path,
        f"who,at,card\nS-2,2026-06-13T10:00,1\nS-1,2026-06-13T09:00,{code}\nS-3,2026-06-13T11:00,1\n",
    )
    assert [one.card_before for one in paper.done] == [None, "Mira Okafor", "Tomas Brandl"]
    with shoot.reading() as session:
        assert [person for _, person in read_card_assignments(session)[code]] == [
            one.person.id for one in paper.done
        ]


def test_a_list_typed_in_twice_does_nothing_the_second_time(shoot: Shoot, tmp_path: Path) -> None:
    make_deck(shoot, 1)
    text = "who,at,card\nS-1,2026-06-13T09:00,1\nS-2,2026-06-13T09:05,\n"
    typed(shoot, tmp_path, text)
    with shoot.reading() as session:
        before = newest_event_id(session)
    again = typed(shoot, tmp_path, text)
    assert (again.done, [one.sequence for one in again.already]) == ([], [1, 2])
    with shoot.reading() as session:
        assert newest_event_id(session) == before


def test_who_was_checked_in_at_the_door_keeps_the_number(shoot: Shoot, tmp_path: Path) -> None:
    check_in(shoot, "S-3")
    paper = typed(shoot, tmp_path, "who\nS-4\nS-3\n")
    assert [(one.person.key, one.sequence) for one in paper.done + paper.already] == [("S-4", 2), ("S-3", 1)]


def test_headings_that_mean_nothing_here_are_told(shoot: Shoot, tmp_path: Path) -> None:
    assert typed(shoot, tmp_path, "who,time\nS-1,09:00\n").ignored == ("time",)


@pytest.mark.parametrize(
    ("text", "told"), [("S-1\nS-2\n", "no column who"), ("who,who\na,b\n", "two columns who"), ("", "empty")]
)
def test_a_file_that_is_no_such_list_is_refused(shoot: Shoot, tmp_path: Path, text: str, told: str) -> None:
    with pytest.raises(Problem, match=told):
        typed(shoot, tmp_path, text)


def test_a_reason_reads_as_sentences(shoot: Shoot, tmp_path: Path) -> None:
    paper = typed(shoot, tmp_path, "who,at\nS-1,25:99\nQqqq,\n")
    assert dict(paper.refused) == {
        2: "'25:99' is not a time. Write it like 2026-06-13T09:41 (ISO 8601).",
        3: "Qqqq is nobody's key, code, sequence number or name. Nobody has a name like it: see the roster.",
    }
