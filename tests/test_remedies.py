"""Whatever the program tells people to type exists: every `onsite …` in its texts, help and READMEs is
held against the commands and options that there are, and so is every option that a text names."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from onsite.cli.command_tree import root_command

ROOT = Path(__file__).parent.parent
COMMON = {"--json", "--shoot", "--help"}
"""Taken by every command, before it sees its line (`cli.common_options.take_common`)."""

_CALL = re.compile(r"\bonsite(?P<rest>(?: +(?:--?[a-z][\w-]*|[a-z][\w-]*))*)")
_OPTION = re.compile(r"(?<![\w-])--[a-z][\w-]*")
_WORD = re.compile(r"--?[a-z][\w-]*|[a-z][\w-]*")


def commands() -> dict[str, Any]:
    """Every command by its words, such as `frames give`; groups by theirs."""
    found: dict[str, Any] = {}

    def walk(command: Any, words: tuple[str, ...]) -> None:
        found[" ".join(words)] = command
        for name, inner in getattr(command, "commands", {}).items():
            walk(inner, (*words, name))

    walk(root_command, ())
    return found


COMMANDS = commands()
FIRST = {name.split()[0] for name in COMMANDS if name}


def options_of(command: Any) -> set[str]:
    return COMMON | {flag for one in command.params for flag in (*one.opts, *one.secondary_opts)}


EVERY_OPTION = set().union(*(options_of(command) for command in COMMANDS.values()))


def texts(path: Path) -> Iterator[tuple[int, str]]:
    """All string constants of a module, f-strings with `…` for what is filled in; docstrings left out."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    left_out = docstrings(tree)
    inside = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in node.values}
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            yield (
                node.lineno,
                "".join(part.value if isinstance(part, ast.Constant) else "…" for part in node.values),
            )
        elif isinstance(node, ast.Constant) and id(node) not in inside and node not in left_out:
            yield node.lineno, str(node.value)


def docstrings(tree: ast.AST) -> set[ast.AST]:
    return {
        node.body[0].value
        for node in ast.walk(tree)
        if isinstance(node, (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef))
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }


def faults(text: str) -> Iterator[str]:
    """What a text tells people to type and is not there."""
    for call in _CALL.finditer(text):
        words = _WORD.findall(call["rest"])
        if not words or (words[0] not in FIRST and not _is_command_line(text, call)):
            continue  # the name in a sentence: "onsite is a session manager"
        name, left = "", list(words)
        while left and f"{name} {left[0]}".strip() in COMMANDS:
            name = f"{name} {left.pop(0)}".strip()
        command = COMMANDS[name]
        if not name and not left[0].startswith("-"):
            yield f"there is no command: onsite {left[0]}"
        elif getattr(command, "commands", None) and left and not left[0].startswith("-") and name:
            yield f"there is no command: onsite {name} {left[0]}"
        else:
            line = re.split(r"[\n`]|\. |; ", text[call.start() :])[0]
            for option in _OPTION.findall(line):
                if option not in options_of(command):
                    yield f"onsite {name} has no option {option}"
    for option in _OPTION.findall(text):
        if option not in EVERY_OPTION:
            yield f"no command has an option {option}"


def _is_command_line(text: str, call: re.Match[str]) -> bool:
    """Whether `onsite` there begins something to be typed, and is not the name in a sentence."""
    before = text[: call.start()]
    return not before.strip() or before.rstrip().endswith((":", "`", "or", "Run", "run"))


MODULES = sorted(path for path in (ROOT / "onsite").rglob("*.py") if "_shipped" not in path.parts)


def test_every_command_and_option_named_in_the_source_exists() -> None:
    found = [
        f"{path.relative_to(ROOT)}:{line}: {fault}"
        for path in MODULES
        for line, text in texts(path)
        for fault in faults(text)
    ]
    assert found == []


@pytest.mark.parametrize("name", sorted(COMMANDS), ids=lambda name: name or "onsite")
def test_every_help_text_names_what_exists(name: str) -> None:
    command = COMMANDS[name]
    context = command.make_context(name or "onsite", [], resilient_parsing=True)
    assert list(faults(command.get_help(context).replace("\n", " "))) == []


@pytest.mark.parametrize("file", ["README.md", "onsite/cli/README.md"])
def test_every_command_and_option_in_the_readme_exists(file: str) -> None:
    parts = (ROOT / file).read_text(encoding="utf-8").split("```\n")
    blocks = parts[3::2] if file == "README.md" else parts[1::2]  # README.md's first one installs
    lines = [line for block in blocks for line in block.splitlines()]
    prose = "\n".join(parts[::2])
    code = re.findall(r"`([^`\n]+)`", prose)
    assert lines or code
    found = [fault for part in (*lines, *code) for fault in faults(part)]
    assert [fault for fault in found if not any(other in fault for other in OTHER_PROGRAMS)] == []


OTHER_PROGRAMS = ("sha256sum",)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("Run: onsite mend", "there is no command: onsite mend"),
        ("Load a list first: onsite roster lod FILE", "there is no command: onsite roster lod"),
        ("onsite frames give A:1 WHO --forced", "onsite frames give has no option --forced"),
        ("Use --blank-consent for these.", "no command has an option --blank-consent"),
    ],
)
def test_what_is_not_there_is_found(text: str, fault: str) -> None:
    assert fault in list(faults(text))


@pytest.mark.parametrize(
    "text",
    [
        "Welcome to onsite. It matches frames to people.",
        "Load a list first: onsite roster load FILE",
        "Take one back with: onsite frames free",
        "onsite match says how far each clock is off.",
        "Give --another to let them in.",
    ],
)
def test_what_is_there_is_not(text: str) -> None:
    assert list(faults(text)) == []
