"""HTML pages from templates beside a package's modules: every text escaped unless it is markup made here."""

from __future__ import annotations

from importlib.resources import files
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from jinja2 import Environment


def part(package: str, name: str) -> str:
    """A file beside the modules of a package, as text."""
    return (files(package) / name).read_text(encoding="utf-8")


def templates(package: str) -> Environment:
    """The templates of a package; `shown` is a filter that leaves nothing a browser would obey."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    from onsite.slate.lettering import shown

    made = Environment(
        loader=FunctionLoader(lambda name: part(package, name)),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["shown"] = shown
    return made
