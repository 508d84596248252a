"""What the tests of several packages share."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from onsite.store.settings import Settings
from onsite.store.shoot import Shoot, create_shoot

CAMERA_FILES = Path(__file__).parent.parent.parent / "shared" / "data"
"""Open test files of real cameras; they are not part of the project."""

COMPILED = Path(__file__).parent.parent / ".pytest_cache" / "compiled"
"""Where compiled modules are kept, also where Python is told to write none: the processes of a run, and the
programs that tests start, compile each module once instead of every time."""

sys.dont_write_bytecode, sys.pycache_prefix = False, str(COMPILED)
os.environ |= {"PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": str(COMPILED)}

gc.disable()  # until all tests are collected: a fifth of that time, for objects that stay anyway


def pytest_xdist_auto_num_workers() -> int:
    """One worker more than cores: tests that wait for a terminal, a server or a lock leave theirs idle."""
    return (os.cpu_count() or 1) + 1


def pytest_collection_finish() -> None:
    gc.freeze()
    gc.enable()


settings.register_profile("no clock", deadline=None)
settings.load_profile("no clock")  # on a busy machine an example takes as long as it takes


@pytest.fixture
def shoot(tmp_path: Path) -> Iterator[Shoot]:
    made = create_shoot(tmp_path / "shoot", Settings(name="Festival", timezone="Europe/Vienna"), "AAAA")
    yield made
    made.engine.dispose()


@pytest.fixture
def camera_files() -> Path:
    """The folder of files from real cameras; the test is skipped where it is absent."""
    if not CAMERA_FILES.is_dir():
        pytest.skip("the files of real cameras are not beside the project")
    return CAMERA_FILES
