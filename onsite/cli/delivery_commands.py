"""The commands `onsite marks` and `onsite deliver`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from typer import Argument, Option

from onsite.cli.common_options import common_options, open_chosen_shoot, station
from onsite.cli.output import print_answer, print_text, show_progress
from onsite.core.errors import Problem
from onsite.core.text import format_day, plural

if TYPE_CHECKING:
    from onsite.delivery.deliver import DeliveryResult
    from onsite.delivery.delivery_sets import LeftOut
    from onsite.picks.write_raw_marks import MarkResult


class For(StrEnum):
    """What one set of a delivery covers."""

    CLIENT = "client"
    GROUP = "group"
    PERSON = "person"


class Packing(StrEnum):
    """The packaging of a set."""

    FOLDER = "folder"
    ZIP = "zip"
    BAG = "bag"


def marks(
    beside: Annotated[
        bool, Option("--beside", help="Write the sidecars beside the originals and their copies.")
    ] = False,
    to: Annotated[
        Path | None,
        Option(metavar="DIR", help="Write the sidecars into this folder, arranged like the originals."),
    ] = None,
    list_: Annotated[
        Path | None,
        Option("--list", metavar="FILE.txt", help="Also write the picks' file names into this file."),
    ] = None,
    rating: Annotated[int, Option(metavar="N", help="The rating, 1 to 5.")] = 5,
    full_names: Annotated[
        bool, Option("--full-names", help="Call new sidecars NAME.EXT.xmp instead of NAME.xmp.")
    ] = False,
    names: Annotated[
        bool | None,
        Option(
            "--names/--no-names",
            help="Write in names and groups of people; else only where the originals are.",
        ),
    ] = None,
) -> None:
    """Mark the picks for the raw developer, in XMP sidecars. Originals are never changed."""
    from onsite.picks.write_raw_marks import mark_picks, write_pick_list

    if beside == (to is not None) and (beside or list_ is None):
        raise Problem(
            "Where are the marks to go?", "Use --beside or --to DIR, with --list FILE.txt or alone."
        )
    shoot = open_chosen_shoot()
    listed = write_pick_list(shoot, list_) if list_ else None
    if not beside and to is None:
        print_answer({"listed": listed}, f"{plural(listed or 0, 'pick')} listed in {list_}.")
        return
    with show_progress("marking picks") as step:
        done = mark_picks(shoot, to, rating, full_names, step, beside if names is None else names)
    done = replace(done, listed=listed)
    print_answer(done, lambda: _print_marked(done, to, list_), in_part=bool(done.refused))


def _print_marked(done: MarkResult, to: Path | None, list_: Path | None) -> None:
    where = f"in {to}" if to else "beside originals and their copies"
    print_text(
        f"{plural(done.frames, 'picked frame')}: {plural(done.changed, 'sidecar')} written {where},"
        f" {done.as_before} as {'it' if done.as_before == 1 else 'they'} should be,"
        f" {plural(done.cleared, 'mark')} taken back."
    )
    if done.listed is not None:
        print_text(f"{plural(done.listed, 'pick')} listed in {list_}.")
    for file, reason in done.refused:
        print_text(f"  not marked: {file}: {reason}")


def deliver(
    folder: Annotated[Path, Argument(metavar="DIR", help="The folder to deliver into.")],
    per: Annotated[
        For, Option(help="One set for the client, for each group, or for each person.")
    ] = For.CLIENT,
    as_: Annotated[
        Packing, Option("--as", help="A folder, a ZIP, or a BagIt bag (for archives).")
    ] = Packing.FOLDER,
    yearbook: Annotated[
        bool, Option("--yearbook", help="Everybody's first picture, by group, with an index.")
    ] = False,
    ascii_: Annotated[
        bool, Option("--ascii", help="File names in plain Latin letters, without accents.")
    ] = False,
    originals: Annotated[bool, Option("--originals", help="Also picks that are not retouched.")] = False,
    sharpen: Annotated[bool, Option("--sharpen", help="Sharpen for screens and prints.")] = False,
    creator: Annotated[str, Option(metavar="NAME", help="Who took the pictures, for their metadata.")] = "",
    again: Annotated[bool, Option("--again", help="Also what was delivered before.")] = False,
) -> None:
    """Deliver the finished pictures. They are cropped, sized, named and tagged, with a receipt."""
    from onsite.delivery.deliver import deliver_pictures as hand_over
    from onsite.delivery.delivery_packages import Packaging
    from onsite.delivery.delivery_sets import DeliveryOrder, SetPer

    if yearbook and per is not For.CLIENT:
        raise Problem("A yearbook is one set for the client.", "Leave --per away, or --yearbook.")
    shoot = open_chosen_shoot()
    order = DeliveryOrder(
        SetPer.YEARBOOK if yearbook else SetPer(per.value),
        Packaging(as_.value),
        ascii_,
        originals,
        sharpen,
        creator,
        again,
    )
    with show_progress("finishing pictures") as step:
        done = hand_over(shoot, folder, order, station(None), step, _announce)
    print_answer(_delivery_data(done), lambda: _print_delivery(done), in_part=bool(done.refused))


def _delivery_data(done: DeliveryResult) -> dict[str, Any]:
    return {
        "delivery": done.number,
        "files": done.files,
        "already": done.already,
        "earlier": done.earlier,
        "waiting": done.waiting,
        "smaller": done.smaller,
        "sets": done.sets,
        "held_back": [_left_out(left_out) for left_out in done.left_out if not left_out.own],
        "left_out": [
            {
                "key": left_out.person.key,
                "name": left_out.person.name,
                "group": left_out.person.group,
                "set": left_out.set,
                "reason": left_out.reason,
                "own_set": left_out.own,
                "delivered_before": done.went_out.get(left_out.person.id, ()),
            }
            for left_out in done.left_out
        ],
        "refused": done.refused,
        "notices": done.notices,
        "receipt": done.receipt or "",
    }


def _print_delivery(done: DeliveryResult) -> None:
    if done.files:
        packages = len({packed.package for packed in done.sets})
        size = sum(packed.size for packed in done.sets) / 1e6
        print_text(f"Delivery {done.number}. Pictures: {done.files}, {size:,.1f} MB. Packages: {packages}.")
        print_text(f"Receipt: {done.receipt}")
    else:
        print_text("Nothing was delivered." if done.refused else "Nothing new to deliver.")
    if done.already:
        print_text(f"Delivered before, and not again: {plural(done.already, 'picture')}.")
        for number, at, files, where in done.earlier:
            there = f", into {where}" if where else ""
            print_text(f"  delivery {number}, {format_day(at)} {at:%H:%M}: {plural(files, 'picture')}{there}")
        print_text("To deliver them again, here or elsewhere: --again")
    if done.waiting:
        print_text(f"Picks that wait for their retouched file: {done.waiting}.")
    if done.smaller:
        print_text(f"Pictures with fewer pixels than agreed, not enlarged: {done.smaller}.")
    for left_out in done.left_out:
        print_text(f"  {'only for themselves' if left_out.own else 'left out'}: {_left_out(left_out)}")
        if before := done.went_out.get(left_out.person.id):
            print_text(f"    delivered before, with number {', '.join(map(str, before))}: tell the client")
    for picture, reason in done.refused:
        print_text(f"  not delivered: {picture}: {reason}")


def _left_out(left_out: LeftOut) -> str:
    return f"{left_out.person.name} ({left_out.person.key}): {left_out.reason}"


def _announce(notices: Sequence[str]) -> None:
    """Print notices about file names before the files are written."""
    for notice in () if common_options.as_json else notices:
        print_text(notice)
