"""Updates the match in a process of its own, so that a screen keeps responding.

Matching a big shoot keeps Python busy for seconds, and everything else in the process has to wait. Run as
`python -m onsite.reconcile.match_process FOLDER`.
"""

from __future__ import annotations

import gc
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import IO

from sqlmodel import func, select

from onsite.core.errors import Problem
from onsite.reconcile.current_match import is_match_current, update_match
from onsite.store.schema import Frame
from onsite.store.shoot import Shoot, open_shoot

FEW = 5_000
"""Frames that are matched in the calling thread, which takes well under a second."""

_LOOKED_AT_EVERY = 0.1  # seconds
_REFUSED = 2  # exit status of the process: it ended with a Problem


def update_match_in_process(
    shoot: Shoot, stopped: Callable[[], bool] = lambda: False, few: int = FEW
) -> None:
    """Match again if an event since the last match may change a name; above `few` frames in a process of its
    own.

    `stopped` ends that process early: nothing is lost, the next call matches again. Raises Problem where the
    match failed.
    """
    if is_match_current(shoot):
        return
    with shoot.reading() as session:
        frames = session.exec(select(func.count(Frame.id))).one()
    if frames <= few:
        update_match(shoot)
    else:
        _run_in_process(shoot.folder, stopped)


def _run_in_process(folder: Path, stopped: Callable[[], bool]) -> None:
    command = [sys.executable, "-m", "onsite.reconcile.match_process", str(folder.absolute())]
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    with tempfile.TemporaryFile("w+", encoding="utf-8") as said:
        child = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=said,
            env=environment,
            start_new_session=True,  # a Ctrl-C in the terminal must not reach it
        )
        status = _wait(child, stopped)
        if status:
            raise _problem(status, said)


def _wait(child: subprocess.Popen[bytes], stopped: Callable[[], bool]) -> int:
    """The child's exit status; 0 where it was stopped."""
    try:
        while not stopped():
            try:
                return child.wait(_LOOKED_AT_EVERY)
            except subprocess.TimeoutExpired:
                continue
        return 0
    finally:
        if child.poll() is None:
            child.kill()
            child.wait()


def _problem(status: int, said: IO[str]) -> Problem:
    said.seek(0)
    lines = said.read().splitlines() or [""]
    if status == _REFUSED and lines[-1].startswith("["):
        what, remedy = json.loads(lines[-1])
        return Problem(what, remedy)
    return Problem(f"The frames could not be matched: {lines[-1] or f'status {status}'}", "Run: onsite match")


def main(arguments: list[str]) -> int:
    """Match the shoot in a folder. A Problem is written to standard error as JSON, with status 2."""
    try:
        shoot = open_shoot(Path(arguments[0]))
        try:
            update_match(shoot)
        finally:
            shoot.engine.dispose()
    except Problem as problem:
        sys.stderr.write(json.dumps([problem.what, problem.remedy]) + "\n")
        return _REFUSED
    return 0


if __name__ == "__main__":
    gc.disable()  # the process ends soon; collecting would prolong the time that the write lock is held
    sys.exit(main(sys.argv[1:]))
