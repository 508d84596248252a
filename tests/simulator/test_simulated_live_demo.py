"""The demo for the screens, in the middle of its day."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from onsite.core.progress import Progress, no_progress
from onsite.frames.folder_watch_events import read_watched_folder
from onsite.simulator.simulated_live_demo import begin_live_demo, things_to_try
from onsite.status.person_status import Stage, count_stages, is_over
from onsite.status.read_status import read_person_statuses


@contextmanager
def quietly(_: str) -> Iterator[Progress]:
    yield no_progress


@pytest.mark.long
def test_people_are_at_every_step_and_most_are_still_to_come(tmp_path: Path) -> None:
    shoot, camera = begin_live_demo(tmp_path / "demo", 40, 1, "door-1", quietly)
    everybody = read_person_statuses(shoot)
    stages = count_stages(everybody)
    assert stages[Stage.EXPECTED] > 20
    assert stages[Stage.ARRIVED] >= 3
    assert stages[Stage.PHOTOGRAPHED] >= 4
    assert any(s.pictures.proofed for s in everybody)
    assert not is_over(shoot, everybody)
    watched = read_watched_folder(shoot, "door-1")
    assert watched is not None
    assert Path(watched.folder) == camera.folder
    assert camera.folder.is_dir()
    things = things_to_try(shoot)
    assert len(things) == 3
    name = next(s.person.name for s in everybody if s.person.name in things[0])
    assert name
    shoot.engine.dispose()
