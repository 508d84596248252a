"""Resources of the program: HTML templates beside a package's modules, and folders shipped with it."""

from __future__ import annotations

from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from onsite.core.errors import Problem

if TYPE_CHECKING:
    from jinja2 import Environment


def template_text(package: str, name: str) -> str:
    """The text of a file beside the modules of a package."""
    return (files(package) / name).read_text(encoding="utf-8")


def template_environment(package: str, **filters: Callable[..., Any]) -> Environment:
    """A Jinja environment for the templates of a package, with filters; every text is escaped by default."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    made = Environment(
        loader=FunctionLoader(lambda name: template_text(package, name)),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters |= filters
    return made


def shipped_folder(folder: str) -> Path:
    """The path of a folder shipped with the program, such as `demo_roster`.

    A wheel has it inside the package; a working copy has it beside the package. Raises Problem if it is
    missing.
    """
    package = Path(__file__).resolve().parent.parent
    for place in (package / "_shipped" / folder, package.parent / folder):
        if place.is_dir():
            return place
    raise Problem(f"The folder {folder} that belongs to the program is missing.", "Install onsite again.")
