"""The terms of a shoot's pictures, in `shoot.toml`."""

from __future__ import annotations

from pathlib import Path

import pytest

from onsite.core.errors import Problem
from onsite.store.settings import SETTINGS_FILE, Agreement, Settings, read_settings, write_settings


def test_terms_come_back_as_written(tmp_path: Path) -> None:
    terms = Agreement(picks=3, names="{sequence:04}", ratio="2:3", due="2026-07-01", price="12.50")
    write_settings(tmp_path, Settings("Festival", agreed=terms))
    assert read_settings(tmp_path).agreed == terms


def test_a_shoot_of_before_has_the_usual_terms(tmp_path: Path) -> None:
    (tmp_path / SETTINGS_FILE).write_text('name = "Festival"\n')
    assert read_settings(tmp_path).agreed == Agreement()


@pytest.mark.parametrize(
    "line", ['picks = "two"', "picks = -1", "picks = true", "names = 4", "quality = 92.5"]
)
def test_a_wrong_term_names_itself_and_the_file(tmp_path: Path, line: str) -> None:
    (tmp_path / SETTINGS_FILE).write_text(f'name = "Festival"\n[agreed]\n{line}\n')
    with pytest.raises(Problem, match=f"{SETTINGS_FILE}.*{line.split()[0]} under"):
        read_settings(tmp_path)


def test_terms_that_are_no_table_are_told(tmp_path: Path) -> None:
    (tmp_path / SETTINGS_FILE).write_text('name = "Festival"\nagreed = 3\n')
    with pytest.raises(Problem, match="agreed must be a table"):
        read_settings(tmp_path)
