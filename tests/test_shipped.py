from __future__ import annotations

import pytest

from onsite.core.errors import Problem
from onsite.files.program_resources import shipped_folder


def test_the_invented_roster_travels_with_the_program():
    assert (shipped_folder("demo_roster") / "choirs.csv").is_file()


def test_a_missing_folder_is_a_problem_with_a_remedy():
    with pytest.raises(Problem, match="no_such_folder") as problem:
        shipped_folder("no_such_folder")
    assert problem.value.remedy
