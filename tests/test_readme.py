"""README.md and the command line's own say what is so: their commands exist, its pictures are snapshots,
and the check of a fresh copy runs the command that it names."""

from __future__ import annotations

import re
import shlex
from pathlib import Path
from typing import Any

import pytest

from onsite.cli.command_tree import root_command

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
COMMAND_LINE = (ROOT / "onsite" / "cli" / "README.md").read_text(encoding="utf-8")


def blocks(text: str) -> list[str]:
    return re.findall(r"^```\n(.*?)^```", text, re.DOTALL | re.MULTILINE)


BLOCKS = blocks(README)
COMMANDS = [
    line for block in blocks(COMMAND_LINE) for line in block.splitlines() if line.startswith("onsite ")
]


def test_it_stays_short() -> None:
    assert len(README.splitlines()) <= 120


@pytest.mark.parametrize("file", ["README.md", "onsite/cli/README.md"])
def test_what_it_links_to_exists(file: str) -> None:
    links = re.findall(r"\]\(([^)#]+)\)", (ROOT / file).read_text(encoding="utf-8"))
    assert links
    assert [link for link in links if not ((ROOT / file).parent / link).resolve().exists()] == []


def test_its_pictures_are_snapshots_of_the_screens() -> None:
    pictures = re.findall(r"!\[[^]]+\]\(([^)]+)\)", README)
    assert 2 <= len(pictures) <= 3
    assert all(picture.startswith("tests/tui/__snapshots__/") for picture in pictures)


def test_the_first_day_has_ten_steps_and_ten_words_are_explained() -> None:
    steps = re.findall(r"^(\d+)\. ", README, re.MULTILINE)
    assert steps == [str(number) for number in range(1, 11)]
    words = README.split("\n## Ten words")[1].split("\n## ")[0]
    assert len(re.findall(r"^\| (?!word|---)", words, re.MULTILINE)) == 10


def test_the_job_comes_first() -> None:
    title, paragraph = README.split("\n\n")[:2]
    assert title == "# onsite"
    assert paragraph.startswith("`onsite` ")


def test_two_commands_set_everything_up() -> None:
    job, tests = BLOCKS[0].splitlines()
    assert job.endswith(".venv/bin/onsite demo")
    assert tests.endswith(".venv/bin/pytest")
    constraints = re.search(r"-c (\S+)", tests)
    assert constraints is not None
    assert (ROOT / constraints[1]).is_file()


def test_the_fresh_copy_takes_its_test_command_from_here() -> None:
    pattern = re.search(
        r"grep -m 1 -E '([^']+)' README\.md", (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    )
    assert pattern is not None
    found = [line for line in README.splitlines() if re.search(pattern[1], line)]
    assert found == [BLOCKS[0].splitlines()[1]]


@pytest.mark.parametrize("line", COMMANDS)
def test_every_command_of_the_day_is_understood(line: str) -> None:
    command: Any = root_command
    words = shlex.split(line)[1:]
    while hasattr(command, "commands"):
        command = command.commands[words.pop(0)]
    context = command.make_context(command.name, words)  # raises where an option or an argument is wrong
    assert context.args == []


def test_the_day_uses_every_part_of_the_program() -> None:
    groups = set(root_command.commands)
    assert {shlex.split(line)[1] for line in COMMANDS} >= groups - {"demo"}
