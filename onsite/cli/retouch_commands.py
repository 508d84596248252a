"""The commands `onsite retouch send`, `receive`, `accept`, `again`, `list` and `cost`."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from typer import Argument, Option

from onsite.cli.common_options import Frames, common_options, open_chosen_shoot, station
from onsite.cli.output import print_answer, print_table, print_text, show_progress
from onsite.core.frame_ref import frame_id_text
from onsite.core.text import format_iso_date, plural
from onsite.core.times import format_duration, parse_date, require_not_past

if TYPE_CHECKING:
    from datetime import date

    from onsite.retouch.accept_or_reject import RetouchDecision
    from onsite.retouch.batch_contents import BatchOrder, SentBatch
    from onsite.retouch.check_returned import ReturnedFile
    from onsite.retouch.receive_batch import ReceiveResult
    from onsite.retouch.retouch_cost import RetouchCost
    from onsite.status.batch_status import Batch
    from onsite.store.shoot import Shoot

_DECIDE = "Look at those, then: onsite retouch accept FRAMES, or: onsite retouch again FRAMES --reason TEXT"

_SEVERAL = 3
"""A remark on more files than this is printed once, with their number."""


def send(
    folder: Annotated[Path, Argument(metavar="DIR", help="A new folder for the batch.")],
    hand: Annotated[str, Option(metavar="NAME", help="Who retouches; else in house, names on files.")] = "",
    due: Annotated[str, Option(metavar="DATE", help="The day on which it is to be back.")] = "",
    price: Annotated[str, Option(metavar="P", help="The price of each picture.")] = "",
    currency: Annotated[
        str, Option(metavar="CODE", help="The currency, such as EUR; else the shoot's.")
    ] = "",
    developed: Annotated[
        Path | None,
        Option("--from", metavar="FOLDER", help="Take developed JPEGs or TIFFs, named as the frames."),
    ] = None,
    group: Annotated[str | None, Option(metavar="GROUP", help="Only this group.")] = None,
    frames: Annotated[
        list[str] | None, Option(metavar="FRAME", help="Only these frames, also if they were sent back.")
    ] = None,
    names: Annotated[
        bool | None, Option("--names/--no-names", help="Names of people on the files; else only in house.")
    ] = None,
    keep_metadata: Annotated[
        bool | None,
        Option(
            "--keep-metadata/--strip-metadata",
            help="What the files say of people, places and cameras; else kept only in house.",
        ),
    ] = None,
    dry_run: Annotated[bool, Option("--dry-run", help="Show what would go out and what it costs.")] = False,
) -> None:
    """Make a batch for a retoucher. It holds all picks that are not out yet, with notes and a list."""
    from onsite.retouch.batch_contents import IN_HOUSE, BatchOrder
    from onsite.retouch.retouch_cost import parse_money
    from onsite.retouch.send_batch import send_batch as send_it

    shoot = open_chosen_shoot()
    order = BatchOrder(
        retoucher=hand or IN_HOUSE,
        due=require_not_past(parse_date(due), shoot.now().date(), "Back").isoformat() if due else "",
        price=parse_money(price) if price else None,
        currency=currency or shoot.settings.agreed.currency,
        group=group,
        frames=tuple(frames or ()),
        developed=developed,
        named=not hand if names is None else names,
        metadata=not hand if keep_metadata is None else keep_metadata,
    )
    with show_progress("sending") as step:
        sent = send_it(shoot, folder, order, station(None), dry_run, step, lambda it: _announce(it, order))
    data = _sent_data(sent, folder, order, dry_run)
    print_answer(data, lambda: _print_sent(shoot, sent, order, dry_run), in_part=bool(sent.not_out))


def _sent_data(sent: SentBatch, folder: Path, order: BatchOrder, dry_run: bool) -> dict[str, Any]:
    return {
        "batch": sent.batch,
        "folder": folder,
        "hand": order.retoucher,
        "due": order.due,
        "price": sent.price,
        "currency": order.currency,
        "metadata": "kept" if order.metadata else "stripped",
        "files": [
            {
                "frame": frame_id_text(item.due.frame),
                "file": item.file,
                "from": item.source.path,
                "version": item.due.version,
                "remark": item.source.remark,
            }
            for item in sent.items
        ],
        "refused": [{"frame": frame_id_text(pick.frame), "reason": pick.why} for pick in sent.not_out],
        "notices": sent.notices,
        "dry_run": dry_run,
    }


def _announce(sent: SentBatch, order: BatchOrder) -> None:

    for notice in () if common_options.as_json else sent.notices:
        print_text(notice)
    if sent.price is not None and not common_options.as_json:
        many = plural(len(sent.items), "image")
        print_text(f"{many} at {order.price} {order.currency}: {sent.price} {order.currency}.")


def _print_sent(shoot: Shoot, sent: SentBatch, order: BatchOrder, dry_run: bool) -> None:
    from onsite.retouch.batch_contents import IN_HOUSE

    go_out = ("file would go out", "files would go out") if dry_run else ("file is ready", "files are ready")
    print_text(f"{sent.batch}: {plural(len(sent.items), *go_out)} in {sent.folder} for {order.retoucher}.")
    if order.named:
        print_text("Names of people are on the files and in the list: keep them in the house.")
    if order.due:
        print_text(f"Back by {format_iso_date(order.due)}.")
    if not order.metadata:
        print_text(
            "Their metadata stay here: the files hold the picture, its colour profile and its orientation."
        )
    elif order.retoucher != IN_HOUSE:
        print_text("The files keep their metadata, which can name people, places and cameras.")
    for item in sent.items:
        if item.source.remark:
            print_text(f"  {item.file}: {item.source.remark}")
    labels = _frame_labels(shoot) if sent.not_out else {}
    for pick in sent.not_out:
        print_text(f"  not sent: {labels[pick.frame]}: {pick.why}")


def _frame_labels(shoot: Shoot) -> dict[int, str]:
    from onsite.frames.find_frames import frame_labels

    with shoot.reading() as session:
        return frame_labels(session)


def receive(
    folder: Annotated[Path, Argument(metavar="DIR", help="The folder with the files that came back.")],
    batch: Annotated[str, Option(metavar="BATCH", help="Only this batch.")] = "",
    spot: Annotated[int, Option(min=0, max=100, help="Hold so many of a hundred good files for a look.")] = 0,
    dry_run: Annotated[bool, Option("--dry-run", help="Only compare; take nothing.")] = False,
) -> None:
    """Take retouched files back. Each is found by its name and compared with what went out."""
    from onsite.retouch.receive_batch import receive_batch as take_in

    shoot = open_chosen_shoot()
    with show_progress("checking") as step:
        received = take_in(shoot, folder, batch, spot, station(None), dry_run, step)
    data = {
        "accepted": [{**_file_data(returned), "kept": kept} for returned, kept in received.accepted],
        "refused": [_file_data(returned) for returned in received.held],
        "known": len(received.known),
        "repeated": received.repeated,
        "missing": [
            {"frame": frame_id_text(out.frame), "file": out.file, "batch": out.batch}
            for out in received.missing
        ],
        "dry_run": dry_run,
    }
    in_part = bool(received.held or received.missing)
    print_answer(data, lambda: _print_received(received, dry_run, _frame_labels(shoot)), in_part=in_part)


def _file_data(returned: ReturnedFile) -> dict[str, Any]:
    return {
        "file": returned.path,
        "frame": frame_id_text(returned.out.frame) if returned.out else "",
        "batch": returned.out.batch if returned.out else "",
        "version": returned.out.version if returned.out else None,
        "troubles": [{"kind": wrong.trouble.value, "reason": wrong.text} for wrong in returned.wrong],
        "remarks": returned.remarks,
    }


def _print_received(received: ReceiveResult, dry_run: bool, labels: dict[int, str]) -> None:
    would = "would be accepted" if dry_run else "accepted"
    print_text(
        f"{len(received.accepted)} {would}, {len(received.held)} not accepted,"
        f" {len(received.missing)} missing, {len(received.known)} accepted before."
    )
    remarks = Counter(remark for returned, _ in received.accepted for remark in returned.remarks)
    for remark, count in remarks.items():
        if count > _SEVERAL:
            print_text(f"  {count} files: {remark}")
    for returned, _ in received.accepted:
        if own := [remark for remark in returned.remarks if remarks[remark] <= _SEVERAL]:
            print_text(f"  {returned.path.name}: {', '.join(own)}")
    for returned in received.held:
        print_text(
            f"  not accepted: {returned.path.name}: {'; '.join(wrong.text for wrong in returned.wrong)}"
        )
    for path in received.repeated:
        print_text(f"  the same content twice: {path.name}")
    for out in received.missing:
        print_text(f"  missing: {labels[out.frame]}: {out.file} of {out.batch}")
    if received.held:
        print_text(_DECIDE)


def accept(
    frames: Frames,
    reason: Annotated[str, Option(metavar="TEXT", help="Why, for the record.")] = "",
    file: Annotated[Path | None, Option(metavar="FILE", help="Take this file, for one frame.")] = None,
) -> None:
    """Accept returned files that are held."""
    from onsite.retouch.accept_or_reject import accept as decide

    decided = decide(open_chosen_shoot(), frames, reason, file, station(None))
    print_answer(_decided_data(decided), f"Accepted by hand: {len(decided)}.")


def again(
    frames: Frames,
    reason: Annotated[str, Option(metavar="TEXT", help="What is to be done, for the retoucher to read.")],
) -> None:
    """Have frames retouched again. What came back of them counts no longer."""
    from onsite.retouch.accept_or_reject import again as decide

    decided = decide(open_chosen_shoot(), frames, reason, station(None))

    def text() -> None:
        for decision in decided:
            out = decision.out
            print_text(f"{out.file} of {out.batch} is to be done again: version {out.version + 1}.")
        print_text("It goes out with the next batch: onsite retouch send DIR. Back before, it is taken too.")

    print_answer(_decided_data(decided), text)


def _decided_data(decided: list[RetouchDecision]) -> dict[str, Any]:
    return {
        "frames": [
            {
                "frame": frame_id_text(decision.out.frame),
                "batch": decision.out.batch,
                "version": decision.out.version,
                "kept": decision.file,
            }
            for decision in decided
        ]
    }


def list_() -> None:
    """List the batches: what is out, what came back, what is held."""
    from onsite.retouch.retouch_folder import read_held_files
    from onsite.status.batch_status import read_batches

    shoot = open_chosen_shoot()
    with shoot.reading() as session:
        batches = read_batches(session)
    waits = read_held_files(shoot)
    today = shoot.now().date()
    data = {
        "batches": [_batch_data(batch, today) for batch in batches],
        "waiting": waits,
    }

    def text() -> None:
        if not batches:
            print_text("No batch was sent yet.")
            return
        headings = ("batch", "hand", "sent", "due", "out", "back", "price", "folder")
        print_table(headings, [_batch_row(batch, today) for batch in batches])
        labels = _frame_labels(shoot) if waits else {}
        for held_file in waits:
            label = labels.get(held_file.frame, frame_id_text(held_file.frame))
            print_text(f"  held for you: {label}: {held_file.path}: {held_file.why}")
        if waits:
            print_text(_DECIDE)

    print_answer(data, text)


def _batch_data(batch: Batch, today: date) -> dict[str, Any]:
    return {
        "batch": batch.name,
        "hand": batch.retoucher,
        "folder": batch.folder,
        "sent": batch.sent or "",
        "due": batch.due or "",
        "overdue": batch.overdue(today),
        "price": "" if batch.price is None else batch.price,
        "currency": batch.currency,
        "out": [
            {
                "frame": frame_id_text(out.frame),
                "file": out.file,
                "version": out.version,
                "reason": out.reason,
            }
            for out in batch.awaited
        ],
        "back": [frame_id_text(out.frame) for out in batch.frames if out.received],
    }


def _batch_row(batch: Batch, today: date) -> tuple[str, ...]:
    return (
        batch.name,
        batch.retoucher,
        batch.sent.date().isoformat() if batch.sent else "",
        f"{_due(batch)} overdue" if batch.overdue(today) else _due(batch),
        str(batch.out),
        str(batch.back),
        "" if batch.price is None else f"{batch.price} {batch.currency}",
        batch.folder,
    )


def _due(batch: Batch) -> str:
    return batch.due.isoformat() if batch.due else ""


def cost(
    images: Annotated[int, Option(min=0, help="How many pictures.")],
    price: Annotated[str, Option(metavar="P", help="The price of each picture.")] = "0",
    minimum: Annotated[str, Option(metavar="P", help="The least that is charged.")] = "0",
    pack: Annotated[int, Option(min=0, help="Credits in a pack.")] = 0,
    pack_price: Annotated[str, Option(metavar="P", help="The price of a pack.")] = "0",
    credits_each: Annotated[int, Option(min=1, help="Credits for each picture.")] = 1,
    credits_left: Annotated[int, Option(min=0, help="Credits left from before.")] = 0,
    seconds: Annotated[str, Option(metavar="S", help="Seconds of work on each picture.")] = "0",
    spot: Annotated[str, Option(metavar="PERCENT", help="Per cent that are looked at afterwards.")] = "0",
    spot_seconds: Annotated[str, Option(metavar="S", help="Seconds to look at each of those.")] = "0",
    by_hand: Annotated[str, Option(metavar="PERCENT", help="Per cent that need more work by hand.")] = "0",
    by_hand_seconds: Annotated[
        str, Option(metavar="S", help="Seconds of work by hand on each of those.")
    ] = "0",
    by_hand_price: Annotated[
        str, Option(metavar="P", help="The price of work by hand on each of those.")
    ] = "0",
    currency: Annotated[str, Option(metavar="CODE", help="The currency, such as EUR.")] = "",
) -> None:
    """Work out what retouching will cost, in money and time."""
    from onsite.retouch.retouch_cost import CreditPack, RetouchTerms, parse_money, retouch_cost

    terms = RetouchTerms(
        per_image=parse_money(price),
        minimum=parse_money(minimum),
        pack=CreditPack(pack, parse_money(pack_price)) if pack else None,
        credits_per_image=credits_each,
        seconds_per_image=parse_money(seconds),
        spot_share=_percent(spot),
        seconds_per_spot=parse_money(spot_seconds),
        by_hand_share=_percent(by_hand),
        seconds_by_hand=parse_money(by_hand_seconds),
        per_image_by_hand=parse_money(by_hand_price),
        currency=currency,
    )
    computed = retouch_cost(images, terms, credits_left)
    print_answer(computed, lambda: _print_cost(computed, with_packs=bool(pack)))


def _print_cost(cost: RetouchCost, with_packs: bool) -> None:
    images, used = cost.images, ""
    if images and with_packs:
        used = f"; of that, {(cost.worth / images).quantize(Decimal('0.0001'))} is used up for each image"
    elif images:
        used = f", {(cost.worth / images).quantize(Decimal('0.01'))} for each image"
    print_text(f"{plural(images, 'image')}: {cost.money} {cost.currency}".rstrip() + f" to pay{used}.")
    if with_packs:
        print_text(
            f"Packs to buy: {cost.packs}; credits used: {cost.credits_used}; left: {cost.credits_left}."
        )
    if cost.spot_checks or cost.by_hand:
        print_text(f"To look at: {cost.spot_checks}; by hand: {cost.by_hand}.")
    if cost.machine_seconds or cost.person_seconds:
        work, own = (format_duration(float(time)) for time in (cost.machine_seconds, cost.person_seconds))
        print_text(f"Time: {work} of work on the images, {own} of a person's.")


def _percent(text: str) -> Decimal:
    from onsite.retouch.retouch_cost import parse_money

    return parse_money(text.replace("%", "")) / 100
