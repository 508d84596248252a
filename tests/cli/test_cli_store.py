"""`onsite new --store`, `onsite join` and `onsite store move`: one shoot on two machines."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.command_line import Onsite, refused
from tests.store.server import new_database
from tests.store.server import server_url as server_url


@pytest.fixture
def url(server_url: str, request: pytest.FixtureRequest) -> str:
    return new_database(server_url, request.node.name[:60])


@pytest.mark.long
def test_what_happens_at_one_machine_is_there_on_the_other(onsite: Onsite, url: str) -> None:
    made = onsite("new", "door", "--name", "Festival", "--timezone", "Europe/Vienna", "--store", url)
    assert "On every other machine: onsite join URL DIR" in made.out
    joined = onsite("join", url, "set", "--json").data
    assert joined == {"shoot": "set", "name": "Festival", "timezone": "Europe/Vienna"}
    walked_in = ("walkin", "--given", "Ida", "--family", "Sommer", "--consent", "yes", "--json")
    assert onsite(*walked_in, "--shoot", "door").data["sequence"] == 1
    assert onsite("checkin", "Ida Sommer", "--shoot", "set", "--json").data["sequence"] == 1
    assert "is a shoot already" in refused(onsite("join", url, "set"))


@pytest.mark.long
def test_a_shoot_moves_to_a_server_and_back(festival: Onsite, url: str) -> None:
    arrived = festival("checkin", "C-1", "--json").data
    assert "with all of its 5 events" in " ".join(festival("store", "move", url).out.split())
    again = festival("checkin", "C-1", "--json").data
    assert (again["sequence"], again["at"]) == (arrived["sequence"], arrived["at"])
    assert festival("store", "move", "sqlite", "--json").data["store"] == "onsite.db"
    assert festival("checkin", "C-2", "--json").data["sequence"] == arrived["sequence"] + 1


@pytest.mark.parametrize(
    ("store", "told"),
    [
        ("sqlite", "in that store already"),
        ("nonsense", "is not a store URL"),
        ("sqlite:///other.db", "is not a store URL"),
        ("postgresql+psycopg://localhost:1/none", "does not answer"),
    ],
)
def test_what_cannot_be_moved_stays(festival: Onsite, store: str, told: str) -> None:
    assert told in refused(festival("store", "move", store))
    assert festival("checkin", "C-1").status == 0


def test_where_nothing_answers_nobody_joins(onsite: Onsite, tmp_path: Path) -> None:
    assert "does not answer" in refused(onsite("join", "postgresql+psycopg://localhost:1/none", "set"))
    assert not (tmp_path / "set").exists()
