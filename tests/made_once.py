"""Folders that take long to make, made once for all processes that run the tests."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from filelock import FileLock


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], None]) -> Path:
    """The folder that `make` fills; whoever asks first makes it, the others wait. Nobody may change it."""
    base = factory.getbasetemp()
    shared = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    with FileLock(shared / f"{name}.lock"):
        folder, complete = shared / name, shared / f"{name}.complete"
        if not complete.exists():
            folder.mkdir()
            make(folder)
            complete.touch()
    return folder
