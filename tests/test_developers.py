"""DEVELOPERS.md says what is so: what it names exists, and its map follows the contract of the packages."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).parent.parent
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
LAYERS = PROJECT["tool"]["importlinter"]["contracts"][0]["layers"]
MAP = re.findall(
    r"^\| `(\w+)` \|(.*)\|(.*)\|$", TEXT.split("\n## Map of packages")[1].split("\n## ")[0], re.M
)
TESTS = re.findall(r"((?:\w+/)+test_\w+\.py)(?:::(\w+))?", TEXT)
NAMES = {
    *re.findall(rf"(?<![\w/.])(?:{'|'.join(LAYERS)})[./](?!test_)\w[\w/.]*\w", TEXT),
    *(f"{package}.{name}" for package, _, entries in MAP for name in re.findall(r"`([\w.]+)`", entries)),
}


def exists(name: str) -> bool:
    """Whether `name` is a file, a package, a module, or defined in one, as `tui.app.OnsiteApp` is."""
    if (ROOT / "onsite" / name).exists():
        return True
    folder, parts = ROOT / "onsite", re.split(r"[./]", name)
    while parts and (folder / parts[0]).is_dir():
        folder /= parts.pop(0)
    if not parts:
        return True
    module = folder / f"{parts[0]}.py"
    source = module.read_text(encoding="utf-8") if module.is_file() else None
    return source is not None and all(
        re.search(rf"^(?:def |class )?{part}\b(?=[:(=\[]| =)", source, re.M) for part in parts[1:]
    )


def test_it_stays_short() -> None:
    assert len(TEXT.splitlines()) <= 250


def test_the_map_has_every_package_in_the_order_of_the_contract() -> None:
    assert [package for package, _, _ in MAP] == LAYERS[::-1]


def test_every_module_it_names_exists() -> None:
    assert len(NAMES) > 40
    assert [name for name in sorted(NAMES) if not exists(name)] == []
    assert not any(exists(name) for name in ("core.nothing", "core.text.nothing", "nothing/text"))


def test_every_test_it_names_exists() -> None:
    assert len(TESTS) > 20
    for file, test in TESTS:
        source = (ROOT / "tests" / file.removeprefix("tests/")).read_text(encoding="utf-8")
        assert re.search(rf"def {test or 'test_'}", source), f"{file}::{test}"


def test_every_dependency_has_its_reason() -> None:
    reasons = TEXT.split("\n## Dependencies and why")[1]
    names = [re.split(r"[>;=\[]", wanted)[0] for wanted in PROJECT["project"]["dependencies"]]
    assert [name for name in names if not re.search(rf"\b{re.escape(name)}\b", reasons)] == []


def test_every_name_that_only_looks_unused_exists() -> None:
    code = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "onsite").rglob("*.py"))
    names = re.findall(r"\b_\.(\w+)", (ROOT / ".ci" / "not_dead.py").read_text(encoding="utf-8"))
    assert names
    assert set(names) <= set(re.findall(r"\w+", code))
