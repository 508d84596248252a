"""What `--help` ends with, and completion in a real bash."""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from onsite.cli.command_tree import root_command
from onsite.cli.help_text import commands_of, example_of
from tests.cli.command_line import Onsite

COMMANDS: dict[str, Any] = dict(commands_of(root_command))


@pytest.mark.parametrize("words", COMMANDS)
def test_help_lists_the_common_options_and_ends_with_an_example(onsite: Onsite, words: str) -> None:
    told = onsite(*words.split(), "--help").out
    assert "  --json " in told
    assert "  --shoot DIR " in told
    last = " ".join(told[told.rindex("Example:") :].split())
    assert last == f"Example: onsite {' '.join(example_of(words, COMMANDS[words]).split())}"


@pytest.mark.parametrize("words", COMMANDS)
def test_every_example_is_understood(words: str) -> None:
    command = COMMANDS[words]
    typed = shlex.split(example_of(words, command))
    assert typed[: len(words.split())] == words.split()
    context = command.make_context(words, typed[len(words.split()) :])
    assert context.args == []


@pytest.mark.long
@pytest.mark.skipif(shutil.which("bash") is None, reason="bash is not installed")
@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("onsite sla", {"slates"}),
        ("onsite slates s", {"sheet", "show"}),
        ("onsite slates sheet --p", {"--paper"}),
        ("onsite --shoot autumn sta", {"status"}),
        ("onsite deliver --per ", {"client", "group", "person"}),
    ],
)
def test_bash_completes(tmp_path: Path, line: str, offered: set[str]) -> None:
    program = tmp_path / "onsite"
    program.write_text(f"#!/bin/sh\nexec {sys.executable} -c 'from onsite.cli import main; main()' \"$@\"\n")
    program.chmod(0o755)
    words = line.split(" ")
    script = f"""
        source <(_ONSITE_COMPLETE=source_bash onsite)
        complete -p onsite >/dev/null || exit 1
        COMP_WORDS=({" ".join(f"'{word}'" for word in words)}) COMP_CWORD={len(words) - 1}
        _onsite_completion onsite
        printf '%s\\n' "${{COMPREPLY[@]}}"
    """
    done = subprocess.run(
        ["bash", "--norc", "-c", script],
        env={**os.environ, "PATH": f"{tmp_path}{os.pathsep}{os.environ['PATH']}"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert set(done.stdout.split()) == offered
