"""The tree of all commands, in the order of the working day."""

from __future__ import annotations

from typing import Annotated

import typer
from typer.main import get_command

from onsite.cli import (
    delivery_commands,
    door_commands,
    frame_commands,
    personal_data_commands,
    plan_command,
    proof_commands,
    report_commands,
    retouch_commands,
    roster_commands,
    safety_commands,
    serve_command,
    shoot_commands,
    slate_commands,
    store_commands,
    watch_command,
)
from onsite.cli.common_options import HELP
from onsite.cli.help_text import complete_help

app = typer.Typer(
    help="From the client's list of people to every frame under the right name.",
    epilog=HELP,
    add_completion=True,
    rich_markup_mode=None,
    invoke_without_command=True,
)
_store = typer.Typer(help="Move the shoot's data between its folder and a server.", rich_markup_mode=None)
_lists = typer.Typer(help="Load the client's list, find people, list them.", rich_markup_mode=None)
_slates = typer.Typer(help="Make tickets and deck cards, show slates and the clock.", rich_markup_mode=None)
_frames = typer.Typer(help="Decide whose frames are whose, by hand, and list them.", rich_markup_mode=None)
_proofs = typer.Typer(help="Make proofs, and write mails that they are ready.", rich_markup_mode=None)
_picks = typer.Typer(
    help="Load the pictures that people picked, add to them, list them.", rich_markup_mode=None
)
_retouch = typer.Typer(
    help="Send batches to a retoucher, take them back, work out costs.", rich_markup_mode=None
)


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
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """Alone, it opens the screens."""
    if ctx.invoked_subcommand is None:
        shoot_commands.screens(ctx.command)


app.command("new")(shoot_commands.new)
app.command("join")(store_commands.join)
app.add_typer(_store, name="store")
_store.command("move")(store_commands.move)
app.add_typer(_lists, name="roster")
_lists.command("load")(roster_commands.load)
_lists.command("find")(roster_commands.find)
_lists.command("list")(roster_commands.list_)
app.command("plan")(plan_command.plan)
app.add_typer(_slates, name="slates")
_slates.command("images")(slate_commands.images)
_slates.command("sheet")(slate_commands.sheet)
_slates.command("deck")(slate_commands.deck)
_slates.command("show")(slate_commands.show)
_slates.command("clock")(slate_commands.clock)
app.command("checkin")(door_commands.checkin)
app.command("walkin")(door_commands.walkin)
app.command("consent")(door_commands.consent)
app.command("ingest")(frame_commands.ingest)
app.command("watch")(watch_command.watch)
app.command("match")(frame_commands.match)
app.add_typer(_frames, name="frames")
_frames.command("export")(frame_commands.export)
_frames.command("give")(frame_commands.give)
_frames.command("aside")(frame_commands.aside)
_frames.command("free")(frame_commands.free)
_frames.command("split")(frame_commands.split)
_frames.command("join")(frame_commands.join)
_frames.command("undo")(frame_commands.undo)
_frames.command("why")(frame_commands.why)
app.add_typer(_proofs, name="proofs")
_proofs.command("build")(proof_commands.build)
_proofs.command("mails")(report_commands.proof_mails)
app.add_typer(_picks, name="picks")
_picks.command("load")(proof_commands.load)
_picks.command("add")(proof_commands.add)
_picks.command("list")(proof_commands.list_)
app.add_typer(_retouch, name="retouch")
_retouch.command("send")(retouch_commands.send)
_retouch.command("receive")(retouch_commands.receive)
_retouch.command("accept")(retouch_commands.accept)
_retouch.command("again")(retouch_commands.again)
_retouch.command("list")(retouch_commands.list_)
_retouch.command("cost")(retouch_commands.cost)
app.command("marks")(delivery_commands.marks)
app.command("deliver")(delivery_commands.deliver)
app.command("undo")(safety_commands.undo)
app.command("status")(shoot_commands.status)
app.command("remind")(report_commands.remind)
app.command("report")(report_commands.report)
app.command("check")(safety_commands.check)
app.command("serve")(serve_command.serve)
app.command("verify")(safety_commands.verify)
app.command("backup")(safety_commands.backup)
app.command("restore")(safety_commands.restore)
app.command("forget")(personal_data_commands.forget)
app.command("retain")(personal_data_commands.retain)
app.command("demo")(shoot_commands.demo)

root_command = get_command(app)
complete_help(root_command)
"""All of it, ready to run; made once, since making it takes longer than most commands."""
