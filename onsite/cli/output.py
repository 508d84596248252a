"""Printing of answers: as text for people, or as one JSON object."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from onsite.cli.common_options import common_options, listener
from onsite.core.json_data import json_data
from onsite.core.progress import Progress, no_progress

if TYPE_CHECKING:
    from onsite.store.settings import Agreement
    from onsite.store.shoot import Shoot

DONE_IN_PART = 3
"""Exit status: what was refused is listed."""
_FONTS = "fonts-noto-core, fonts-noto-cjk"


def print_answer(data: Any, text: str | Callable[[], None], in_part: bool = False) -> None:
    """Print `data` as JSON with --json (see `json_data`), else `text` (or what it prints when called).

    Ends the command with exit status 3 where it was done `in_part`.
    """
    heard = listener()
    if heard is not None:
        heard.data = json_data(data)
    try:
        if common_options.as_json and heard is None:
            sys.stdout.write(json_line(data))
        elif callable(text):
            text()
        else:
            print_text(text)
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:  # what was done stands: its outcome must not be lost
        sys.stderr.write(f"It is done, and the answer cannot be written: {error.strerror}. This is it:\n")
        sys.stderr.write(json_line(data))
        in_part = True
    if in_part:
        import typer

        raise typer.Exit(DONE_IN_PART)


def json_line(data: Any) -> str:
    """`data` as one line of JSON, in ASCII where the output is not in UTF-8."""
    in_utf8 = (getattr(sys.stdout, "encoding", None) or "utf-8").lower().replace("-", "") == "utf8"
    return json.dumps(json_data(data), ensure_ascii=not in_utf8) + "\n"


def print_answer_with_names(
    shoot: Shoot, data: Any, text: str | Callable[[], None], in_part: bool = False
) -> None:
    """Match the frames after a change that may take names away, and print the lost names with the answer."""
    from onsite.reconcile.current_match import names_lost
    from onsite.reconcile.match_report import lost_names_data, print_lost_names

    if not common_options.as_json:
        print_answer(data, text)  # first: matching may take seconds, and a slate is needed at once
    taken = names_lost(shoot)
    print_answer(
        {**json_data(data), "no_longer_named": lost_names_data(shoot, taken)},
        lambda: print_lost_names(shoot, taken, print_text),
        in_part,
    )


def print_text(text: str, style: str = "") -> None:
    """Print one line as written: without markup, escape codes, or line breaks from names."""
    from rich.text import Text

    from onsite.core.text import shown

    indent = len(text) - len(text.lstrip(" "))
    _console().print(Text(" " * indent + shown(text), style=style), soft_wrap=True)


def names_in_latin(texts: Iterable[str]) -> list[str]:
    """The texts that are printed in Latin letters because no font here has their script."""
    from onsite.slates import printable_slate_names
    from onsite.slates.slate_fonts import can_shape

    return [
        lettered.original
        for lettered in printable_slate_names.letter_in_latin(filter(None, texts), can_shape())
    ]


def print_latin_notice(texts: Sequence[str]) -> None:
    """Say which texts are printed in Latin letters, and which font to install."""
    from onsite.core.text import listed, plural
    from onsite.slates.printable_slate_names import letter_text, script_names

    if texts:
        named = plural(len(texts), "name")
        print_text(f"{named} in Latin letters, as no font here has all of theirs: {listed(texts)}")
        scripts = ", ".join(script_names("".join(letter_text(text, bold=True).missing for text in texts)))
        print_text(f"  Install a font for {scripts} (Noto has all; Debian: {_FONTS}), and do it again.")


def missing_agreement(agreed: Agreement) -> list[str]:
    """The names in `shoot.toml` of settings that pages, mails and papers print and that are still empty."""
    return [name for name in ("studio", "reply_to") if not getattr(agreed, name)]


def print_missing_agreement(agreed: Agreement) -> None:
    """Say which settings for pages, mails and papers are missing, and how to set them."""
    missing = missing_agreement(agreed)
    if missing:
        texts = {"studio": "who photographs", "reply_to": "where to answer"}
        names = " and ".join(texts[name] for name in missing)
        lines = ", ".join(f'{name} = "…"' for name in missing)
        print_text(f"They do not say {names}: put {lines} under [agreed] in shoot.toml, and make them again.")


def print_refusal(what: str, remedy: str) -> None:
    """Print why a command that has printed its answer has changed nothing: on standard error."""
    heard = listener()
    if heard is not None:
        heard.refused = what, remedy
    else:
        sys.stderr.write(f"{what}\n{remedy}\n")


def print_table(headings: Sequence[str], rows: Iterable[Sequence[Any]]) -> None:
    """Print rows under headings."""
    from rich.table import Table
    from rich.text import Text

    from onsite.core.text import shown

    grid = Table(box=None, pad_edge=False, header_style="bold", show_edge=False)
    for heading in headings:
        grid.add_column(heading, overflow="fold")
    for row in rows:
        grid.add_row(*(Text(shown(str(cell))) for cell in row))
    _console().print(grid)


@contextmanager
def show_progress(doing: str) -> Iterator[Progress]:
    """Show a bar with rate and remaining time on standard error, where that is a terminal."""
    heard = listener()
    if heard is not None:
        yield heard.progress
        return
    if common_options.as_json or not sys.stderr.isatty():
        yield no_progress
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeRemainingColumn
    from rich.progress import Progress as Bar

    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("{task.fields[rate]}"),
        TimeRemainingColumn(),
    )
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(doing, total=None, rate="")

        def step(done: int, total: int) -> None:
            speed = bar.tasks[task].speed
            bar.update(task, completed=done, total=total, rate=f"{speed:.0f}/s" if speed else "")

        yield step


def _console() -> Any:
    from rich.console import Console

    heard = listener()
    if heard is not None:
        return Console(file=heard.text, width=heard.columns, color_system=None, highlight=False, emoji=False)
    return Console(highlight=False, emoji=False, width=None if sys.stdout.isatty() else 200)
