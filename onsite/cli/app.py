"""All commands in the order of the working day."""

from __future__ import annotations

from typing import Annotated

import typer

from onsite.cli import delivery, door, frames, proofs, report, retouch, roster, shoot, slates, watch
from onsite.cli.options import HELP

app = typer.Typer(
    help="From the client's list of people to every frame under the right name.",
    epilog=HELP,
    add_completion=False,
    rich_markup_mode=None,
    invoke_without_command=True,
)
_lists = typer.Typer(help="The client's list of people.", rich_markup_mode=None)
_slates = typer.Typer(help="Slates: pictures, tickets, deck cards, on screen.", rich_markup_mode=None)
_frames = typer.Typer(help="Frames: the list of them, and decisions by hand.", rich_markup_mode=None)
_proofs = typer.Typer(help="Proofs to each person.", rich_markup_mode=None)
_picks = typer.Typer(help="Which pictures people chose.", rich_markup_mode=None)
_retouch = typer.Typer(help="Retouching: batches out and back, and what it costs.", rich_markup_mode=None)


def _version(asked_for: bool) -> None:
    if asked_for:
        from onsite import __version__
        from onsite.cli.output import print_answer

        print_answer({"version": __version__}, f"onsite {__version__}")
        raise typer.Exit


@app.callback()
def opened(
    ctx: typer.Context,
    version: Annotated[  # noqa: ARG001
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Which version this is.")
    ] = False,
) -> None:
    """Alone, it opens the screens."""
    if ctx.invoked_subcommand is None:
        shoot.screens()


app.command("new")(shoot.new)
app.add_typer(_lists, name="roster")
_lists.command("load")(roster.load)
_lists.command("find")(roster.find)
_lists.command("list")(roster.list_)
app.add_typer(_slates, name="slates")
_slates.command("images")(slates.images)
_slates.command("sheet")(slates.sheet)
_slates.command("deck")(slates.deck)
_slates.command("show")(slates.show)
app.command("checkin")(door.checkin)
app.command("walkin")(door.walkin)
app.command("consent")(door.consent)
app.command("ingest")(frames.ingest)
app.command("watch")(watch.watch)
app.command("match")(frames.match)
app.add_typer(_frames, name="frames")
_frames.command("export")(frames.export)
_frames.command("give")(frames.give)
_frames.command("aside")(frames.aside)
_frames.command("free")(frames.free)
_frames.command("split")(frames.split)
_frames.command("join")(frames.join)
_frames.command("undo")(frames.undo)
_frames.command("why")(frames.why)
app.add_typer(_proofs, name="proofs")
_proofs.command("build")(proofs.build)
_proofs.command("mails")(report.proof_mails)
app.add_typer(_picks, name="picks")
_picks.command("load")(proofs.load)
_picks.command("add")(proofs.add)
_picks.command("list")(proofs.list_)
app.add_typer(_retouch, name="retouch")
_retouch.command("send")(retouch.send)
_retouch.command("receive")(retouch.receive)
_retouch.command("accept")(retouch.accept)
_retouch.command("again")(retouch.again)
_retouch.command("list")(retouch.list_)
_retouch.command("cost")(retouch.cost)
app.command("marks")(delivery.marks)
app.command("deliver")(delivery.deliver)
app.command("status")(shoot.status)
app.command("remind")(report.remind)
app.command("report")(report.report)
app.command("demo")(shoot.demo)
