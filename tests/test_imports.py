"""Imports run one way, as DEVELOPERS.md says."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parent.parent
DAY = (
    "slate", "roster", "checkin", "frames", "matching", "wrap", "progress", "metadata", "proofs", "retouch",
    "delivery", "report",
)  # fmt: skip
ORDER = ("store", "files", "messages", *DAY, "demo", "tui", "cli")
FOR_TYPES = re.compile(r"^if TYPE_CHECKING:\n(?:    .*\n|\n)+", re.MULTILINE)


def imported(path: Path) -> Iterator[str]:
    """The packages of onsite that a module imports when it runs."""
    tree = ast.parse(FOR_TYPES.sub("", path.read_text(encoding="utf-8")))
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("onsite."):
            yield node.module.split(".")[1]


def test_every_package_has_its_place() -> None:
    assert {path.parent.name for path in ROOT.glob("onsite/*/__init__.py")} == set(ORDER)
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert ", ".join(f"`{name}`" for name in DAY) in " ".join(text.split())


def test_no_package_uses_a_later_one() -> None:
    later = []
    for place, package in enumerate(ORDER):
        for path in (ROOT / "onsite" / package).rglob("*.py"):
            used = {name for name in imported(path) if name in ORDER and ORDER.index(name) > place}
            later += [f"{path.relative_to(ROOT)} uses {name}" for name in sorted(used)]
    assert later == []
