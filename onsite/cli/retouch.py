"""`onsite retouch send`, `receive`, `accept`, `again`, `list`, `cost`."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from typer import Argument, Option

from onsite.cli.options import asked, station, the_shoot
from onsite.cli.output import answer, progress, say, table

if TYPE_CHECKING:
    from datetime import date

    from onsite.progress.batches import Batch
    from onsite.retouch.decide import Decided
    from onsite.retouch.due_out import Order, Sent
    from onsite.retouch.receive import Received
    from onsite.retouch.returned import Returned
    from onsite.store.shoot import Shoot

Frames = Annotated[
    list[str], Argument(metavar="FRAMES", help="Ids (f12), file names, or counters (A:1043-1051).")
]


_DECIDE = "Look at those, then: onsite retouch accept FRAMES, or: onsite retouch again FRAMES --reason TEXT"

_SEVERAL = 3
"""A remark on more files than this is told once."""


def send(
    folder: Annotated[Path, Argument(metavar="DIR", help="A new folder for the batch.")],
    hand: Annotated[str, Option(metavar="NAME", help="Who works on it; in house where left away.")] = "",
    due: Annotated[str, Option(metavar="DATE", help="When it is to be back, ISO 8601.")] = "",
    price: Annotated[str, Option(metavar="P", help="The price of each image.")] = "",
    currency: Annotated[str, Option(metavar="CODE", help="ISO 4217; else that of the shoot.")] = "",
    developed: Annotated[
        Path | None, Option("--from", metavar="FOLDER", help="Developed JPEGs or TIFFs, named as the frames.")
    ] = None,
    group: Annotated[str | None, Option(help="Only this group.")] = None,
    frames: Annotated[
        list[str] | None, Option(metavar="FRAME", help="Only these; also those that were sent back.")
    ] = None,
    names: Annotated[
        bool | None, Option("--names/--no-names", help="Names of people on files: by itself only in house.")
    ] = None,
    keep_metadata: Annotated[
        bool | None,
        Option(
            "--keep-metadata/--strip-metadata",
            help="What files say of people, places and cameras: kept by itself only in house.",
        ),
    ] = None,
    dry_run: Annotated[bool, Option("--dry-run", help="Shows what would go out and what it costs.")] = False,
) -> None:
    """Sends the picks that are not out yet: a folder with files, notes, list and manifest."""
    from onsite.retouch.cost import money_of
    from onsite.retouch.due_out import IN_HOUSE, Order
    from onsite.retouch.send import send as send_it
    from onsite.times import not_past, parse_date

    shoot = the_shoot()
    order = Order(
        hand=hand or IN_HOUSE,
        due=not_past(parse_date(due), shoot.now().date(), "Back").isoformat() if due else "",
        price=money_of(price) if price else None,
        currency=currency or shoot.settings.agreed.currency,
        group=group,
        frames=tuple(frames or ()),
        developed=developed,
        named=not hand if names is None else names,
        metadata=not hand if keep_metadata is None else keep_metadata,
    )
    with progress("sending") as step:
        sent = send_it(
            shoot, folder, order, station(None), dry_run, step, lambda plan: _announce(plan, order)
        )
    data = {
        "batch": sent.batch,
        "folder": str(folder),
        "hand": order.hand,
        "due": order.due,
        "price": None if sent.price is None else str(sent.price),
        "currency": order.currency,
        "metadata": "kept" if order.metadata else "stripped",
        "files": [
            {
                "frame": f"f{item.due.frame}",
                "file": item.file,
                "from": str(item.source.path),
                "version": item.due.version,
                "remark": item.source.remark,
            }
            for item in sent.items
        ],
        "refused": [{"frame": f"f{one.frame}", "reason": one.why} for one in sent.not_out],
        "notices": list(sent.notices),
        "dry_run": dry_run,
    }
    answer(data, lambda: _print_sent(shoot, sent, order, dry_run), in_part=bool(sent.not_out))


def _announce(sent: Sent, order: Order) -> None:
    from onsite.words import counted

    for notice in () if asked.as_json else sent.notices:
        say(notice)
    if sent.price is not None and not asked.as_json:
        many = counted(len(sent.items), "image")
        say(f"{many} at {order.price} {order.currency}: {sent.price} {order.currency}.")


def _print_sent(shoot: Shoot, sent: Sent, order: Order, dry_run: bool) -> None:
    from onsite.retouch.due_out import IN_HOUSE
    from onsite.words import counted, date_told

    would = "would go out" if dry_run else "is ready" if len(sent.items) == 1 else "are ready"
    say(f"{sent.batch}: {counted(len(sent.items), 'file')} {would} in {sent.folder} for {order.hand}.")
    if order.due:
        say(f"Back by {date_told(order.due)}.")
    if not order.metadata:
        say("Their metadata stay here: the files hold the picture, its colour profile and its orientation.")
    elif order.hand != IN_HOUSE:
        say("The files keep their metadata, which can name people, places and cameras.")
    for item in sent.items:
        if item.source.remark:
            say(f"  {item.file}: {item.source.remark}")
    called = _called(shoot) if sent.not_out else {}
    for one in sent.not_out:
        say(f"  not sent: {called[one.frame]}: {one.why}")


def _called(shoot: Shoot) -> dict[int, str]:
    from onsite.frames.called import frame_labels

    with shoot.reading() as session:
        return frame_labels(session)


def receive(
    folder: Annotated[Path, Argument(metavar="DIR", help="Where the files are that came back.")],
    batch: Annotated[str, Option(metavar="B", help="Only this batch.")] = "",
    spot: Annotated[
        int, Option(min=0, max=100, help="Of a hundred right ones, so many wait for a look.")
    ] = 0,
    dry_run: Annotated[bool, Option("--dry-run", help="Checks only.")] = False,
) -> None:
    """Takes in retouched files: found by name, checked by content, copied into the shoot's folder."""
    from onsite.retouch.receive import receive as take_in

    shoot = the_shoot()
    with progress("checking") as step:
        received = take_in(shoot, folder, batch, spot, station(None), dry_run, step)
    data = {
        "accepted": [{**_file_data(one), "kept": kept} for one, kept in received.accepted],
        "refused": [_file_data(one) for one in received.held],
        "known": len(received.known),
        "repeated": [str(path) for path in received.repeated],
        "missing": [
            {"frame": f"f{out.frame}", "file": out.file, "batch": out.batch} for out in received.missing
        ],
        "dry_run": dry_run,
    }
    in_part = bool(received.held or received.missing)
    answer(data, lambda: _print_received(received, dry_run, _called(shoot)), in_part=in_part)


def _file_data(one: Returned) -> dict[str, Any]:
    return {
        "file": str(one.path),
        "frame": f"f{one.out.frame}" if one.out else "",
        "batch": one.out.batch if one.out else "",
        "version": one.out.version if one.out else None,
        "troubles": [{"kind": wrong.trouble.value, "reason": wrong.text} for wrong in one.wrong],
        "remarks": list(one.told),
    }


def _print_received(received: Received, dry_run: bool, called: dict[int, str]) -> None:
    would = "would be accepted" if dry_run else "accepted"
    say(
        f"{len(received.accepted)} {would}, {len(received.held)} not accepted,"
        f" {len(received.missing)} missing, {len(received.known)} accepted before."
    )
    told = Counter(remark for one, _ in received.accepted for remark in one.told)
    for remark, count in told.items():
        if count > _SEVERAL:
            say(f"  {count} files: {remark}")
    for one, _ in received.accepted:
        if own := [remark for remark in one.told if told[remark] <= _SEVERAL]:
            say(f"  {one.path.name}: {', '.join(own)}")
    for one in received.held:
        say(f"  not accepted: {one.path.name}: {'; '.join(wrong.text for wrong in one.wrong)}")
    for path in received.repeated:
        say(f"  the same content twice: {path.name}")
    for out in received.missing:
        say(f"  missing: {called[out.frame]}: {out.file} of {out.batch}")
    if received.held:
        say(_DECIDE)


def accept(
    frames: Frames,
    reason: Annotated[str, Option(metavar="TEXT", help="Why, for the record.")] = "",
    file: Annotated[Path | None, Option(metavar="FILE", help="This file, for one frame.")] = None,
) -> None:
    """Accepts returned files by hand that were not accepted by themselves."""
    from onsite.retouch.decide import accept as decide

    decided = decide(the_shoot(), frames, reason, file, station(None))
    answer(_decided_data(decided), f"Accepted by hand: {len(decided)}.")


def again(
    frames: Frames,
    reason: Annotated[str, Option(metavar="TEXT", help="What is to be done; the retoucher reads it.")],
) -> None:
    """Has frames retouched again: what came back of them does not count any more."""
    from onsite.retouch.decide import again as decide

    decided = decide(the_shoot(), frames, reason, station(None))

    def text() -> None:
        for one in decided:
            say(f"{one.out.file} of {one.out.batch} is to be done again: version {one.out.version + 1}.")
        say("Tell whoever works on it, or send them out anew: onsite retouch send DIR --frames FRAME")

    answer(_decided_data(decided), text)


def _decided_data(decided: list[Decided]) -> dict[str, Any]:
    return {
        "frames": [
            {
                "frame": f"f{one.out.frame}",
                "batch": one.out.batch,
                "version": one.out.version,
                "kept": one.file,
            }
            for one in decided
        ]
    }


def list_() -> None:
    """Batches with what is out, what came back and what waits for a decision."""
    from onsite.progress.batches import read_batches
    from onsite.retouch.memory import held

    shoot = the_shoot()
    with shoot.reading() as session:
        batches = read_batches(session)
    waits = held(shoot)
    today = shoot.now().date()
    data = {
        "batches": [_batch_data(batch, today) for batch in batches],
        "waiting": [{"frame": f"f{one.frame}", "file": one.path, "reason": one.why} for one in waits],
    }

    def text() -> None:
        if not batches:
            say("No batch was sent yet.")
            return
        headings = ("batch", "hand", "sent", "due", "out", "back", "price", "folder")
        table(headings, [_batch_row(batch, today) for batch in batches])
        called = _called(shoot) if waits else {}
        for one in waits:
            say(f"  held for you: {called.get(one.frame, f'f{one.frame}')}: {one.path}: {one.why}")
        if waits:
            say(_DECIDE)

    answer(data, text)


def _batch_data(batch: Batch, today: date) -> dict[str, Any]:
    return {
        "batch": batch.name,
        "hand": batch.hand,
        "folder": batch.folder,
        "sent": batch.sent.isoformat() if batch.sent else "",
        "due": _due(batch),
        "overdue": batch.overdue(today),
        "price": "" if batch.price is None else str(batch.price),
        "currency": batch.currency,
        "out": [
            {"frame": f"f{out.frame}", "file": out.file, "version": out.version, "reason": out.reason}
            for out in batch.awaited
        ],
        "back": [f"f{out.frame}" for out in batch.frames if out.received],
    }


def _batch_row(batch: Batch, today: date) -> tuple[str, ...]:
    return (
        batch.name,
        batch.hand,
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
    images: Annotated[int, Option(min=0, help="How many images.")],
    price: Annotated[str, Option(metavar="P", help="Of each image.")] = "0",
    minimum: Annotated[str, Option(metavar="P", help="The least that is charged.")] = "0",
    pack: Annotated[int, Option(min=0, help="Credits in a pack.")] = 0,
    pack_price: Annotated[str, Option(metavar="P", help="Of a pack.")] = "0",
    credits_each: Annotated[int, Option(min=1, help="Credits that an image uses.")] = 1,
    credits_left: Annotated[int, Option(min=0, help="Credits over from before.")] = 0,
    seconds: Annotated[str, Option(metavar="S", help="Of work on each image.")] = "0",
    spot: Annotated[str, Option(metavar="PERCENT", help="That are looked at afterwards.")] = "0",
    spot_seconds: Annotated[str, Option(metavar="S", help="For each of those.")] = "0",
    by_hand: Annotated[str, Option(metavar="PERCENT", help="That need more by hand.")] = "0",
    by_hand_seconds: Annotated[str, Option(metavar="S", help="For each of those.")] = "0",
    by_hand_price: Annotated[str, Option(metavar="P", help="Of each of those.")] = "0",
    currency: Annotated[str, Option(metavar="CODE", help="ISO 4217.")] = "",
) -> None:
    """What retouching costs, before it is spent: money, credits, time."""
    from onsite.retouch.cost import Pack, Terms, cost_of, money_of
    from onsite.times import duration
    from onsite.words import counted

    terms = Terms(
        per_image=money_of(price),
        minimum=money_of(minimum),
        pack=Pack(pack, money_of(pack_price)) if pack else None,
        credits_per_image=credits_each,
        seconds_per_image=money_of(seconds),
        spot_share=_percent(spot),
        seconds_per_spot=money_of(spot_seconds),
        by_hand_share=_percent(by_hand),
        seconds_by_hand=money_of(by_hand_seconds),
        per_image_by_hand=money_of(by_hand_price),
    )
    told = cost_of(images, terms, credits_left)
    data = {
        "images": told.images,
        "money": str(told.money),
        "worth": str(told.worth),
        "currency": currency,
        "packs": told.packs,
        "credits_used": told.credits_used,
        "credits_left": told.credits_left,
        "spot_checks": told.spot_checks,
        "by_hand": told.by_hand,
        "machine_seconds": str(told.machine_seconds),
        "person_seconds": str(told.person_seconds),
    }

    def text() -> None:
        each = f", {(told.worth / images).quantize(Decimal('0.0001'))} an image used up" if images else ""
        say(f"{counted(images, 'image')}: {told.money} {currency}".rstrip() + f" to pay{each}.")
        if pack:
            say(f"Packs to buy: {told.packs}; credits used: {told.credits_used}; left: {told.credits_left}.")
        if told.spot_checks or told.by_hand:
            say(f"To look at: {told.spot_checks}; by hand: {told.by_hand}.")
        if told.machine_seconds or told.person_seconds:
            work, own = duration(float(told.machine_seconds)), duration(float(told.person_seconds))
            say(f"Time: {work} of work on the images, {own} of a person's.")

    answer(data, text)


def _percent(text: str) -> Decimal:
    from onsite.retouch.cost import money_of

    return money_of(text.replace("%", "")) / 100
