"""Delivers finished pictures: files are made, packed and read back, and only then recorded."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from sqlmodel import Session

from onsite.core.errors import Problem
from onsite.core.progress import Progress, no_progress
from onsite.delivery.deliverables import read_deliverables
from onsite.delivery.delivery_packages import Packaging, clear, reads_back, seal, staging
from onsite.delivery.delivery_plan import DeliveryPlan, delivered_before, key_of, plan_set
from onsite.delivery.delivery_receipt_and_index import INDEX, DeliveredSet, receipt_of, yearbook_index
from onsite.delivery.delivery_sets import DeliveryOrder, LeftOut, SetPer, divide_into_sets
from onsite.delivery.finish_delivered_picture import FinishTerms, ratio_of
from onsite.delivery.make_delivery_files import DeliveredFile, NotWritten, cannot_write, make_all
from onsite.files.atomic_write import sha256_of, write_atomic
from onsite.files.exclusive_lock import exclusive_lock
from onsite.files.file_name_pattern import empty_field_notices, parse_pattern
from onsite.files.file_names import draft_of, folder_name
from onsite.store.events import Event, EventKind, add_event, read_events
from onsite.store.settings import SETTINGS_FILE
from onsite.store.shoot import Shoot

RECEIPTS = "deliveries"
"""Folder in the shoot's folder for receipts."""


class EarlierDelivery(NamedTuple):
    """An earlier delivery, with some of the pictures of this one."""

    delivery: int
    at: datetime
    files: int
    folder: str


class PictureReason(NamedTuple):
    """A picture that was not delivered, and why."""

    picture: str
    reason: str


@dataclass(frozen=True, slots=True)
class DeliveryResult:
    """The outcome of a delivery."""

    number: int  # 0 where nothing was new
    sets: tuple[DeliveredSet, ...]
    already: int  # pictures delivered earlier
    earlier: tuple[EarlierDelivery, ...]  # the deliveries they were in
    waiting: int  # picks that are not retouched yet
    smaller: int  # pictures with fewer pixels than agreed
    left_out: tuple[LeftOut, ...]  # people who may not be published
    went_out: dict[int, tuple[int, ...]]  # of these, person id -> earlier deliveries with their pictures
    refused: tuple[PictureReason, ...]
    notices: tuple[str, ...]  # about the names of files
    receipt: Path | None  # None where nothing was new

    @property
    def files(self) -> int:
        """The number of files delivered."""
        return sum(len(packed.files) for packed in self.sets)


def deliver_pictures(
    shoot: Shoot,
    folder: Path,
    order: DeliveryOrder,
    station: str = "",
    progress: Progress = no_progress,
    announce: Callable[[Sequence[str]], None] = lambda _notices: None,
) -> DeliveryResult:
    """Delivers what is new into `folder`.

    `announce` is called with notices about file names before the first file is written. Raises Problem, with
    nothing recorded; files finished by then are kept in a hidden folder and used the next time.
    """
    with exclusive_lock(shoot.folder / RECEIPTS, "Another delivery of this shoot is being made."):
        return _deliver(shoot, folder, order, station, progress, announce)


def _deliver(
    shoot: Shoot,
    folder: Path,
    order: DeliveryOrder,
    station: str,
    progress: Progress,
    announce: Callable[[Sequence[str]], None],
) -> DeliveryResult:
    agreed = shoot.settings.agreed
    pattern = parse_pattern(agreed.names)
    if not 1 <= agreed.quality <= 95:
        raise Problem(f"quality = {agreed.quality} under [agreed] is no JPEG quality.", "Set 1 to 95.")
    terms = FinishTerms(
        ratio_of(agreed.ratio), agreed.long_side, agreed.quality, agreed.most_kb * 1000, order.sharpen
    )
    outlook = read_deliverables(shoot, order.originals)
    client = shoot.settings.client or shoot.settings.name
    divided = divide_into_sets(outlook.wanted, outlook.everybody, order.per, client, order.ascii_only)
    with shoot.reading() as session:
        deliveries = read_events(session, [EventKind.DELIVERED])
        before = delivered_before(deliveries)
    try:
        for place in (folder, *(folder / pictures.folder for pictures in divided.sets)):
            _check_folder(place, order.kind)
        plans = [
            plan_set(shoot, pictures, before.get(pictures.name, {}), folder, order, pattern, terms)
            for pictures in divided.sets
        ]
        notices = [*outlook.misnamed, *(notice for plan in plans for notice in plan.notices)]
        notices += empty_field_notices(name for plan in plans for name in plan.names)
        announce(notices)
        packed, not_made = _packed(plans, folder, order, terms, shoot.now(), progress)
        number, receipt = _recorded(shoot, folder, packed, divided.left_out, station, order)
    except (OSError, NotWritten) as error:
        raise cannot_write(folder, error) from error
    return DeliveryResult(
        number,
        tuple(packed),
        already=sum(plan.already for plan in plans),
        earlier=_earlier(shoot, deliveries, plans),
        waiting=outlook.waiting,
        smaller=sum(kept.smaller for done in packed for kept in done.files),
        left_out=divided.left_out,
        went_out=_earlier_deliveries(deliveries, divided.left_out),
        refused=tuple(PictureReason(*refused) for refused in (*outlook.refused, *not_made)),
        notices=tuple(notices),
        receipt=receipt,
    )


def _earlier(
    shoot: Shoot, deliveries: Sequence[Event], plans: Sequence[DeliveryPlan]
) -> tuple[EarlierDelivery, ...]:
    """The earlier deliveries to these sets."""
    names = {plan.set.name for plan in plans if plan.already}
    earlier: dict[int, EarlierDelivery] = {}
    for event in deliveries:
        if event.details["set"] in names:
            number = event.details["delivery"]
            files = earlier[number].files + 1 if number in earlier else 1
            at = event.at.astimezone(shoot.zone)
            earlier[number] = EarlierDelivery(number, at, files, event.details.get("folder", ""))
    return tuple(earlier.values())


def _earlier_deliveries(
    deliveries: Sequence[Event], left_out: Sequence[LeftOut]
) -> dict[int, tuple[int, ...]]:
    """For people who may not be published now, by id: the earlier deliveries with their pictures, except in
    sets of their own."""
    withheld = {left.person.id for left in left_out}
    numbers: dict[int, set[int]] = {}
    for event in deliveries:
        if event.person_id in withheld and not event.details["set"].startswith(f"{SetPer.PERSON}: "):
            numbers.setdefault(event.person_id or 0, set()).add(event.details["delivery"])
    return {person: tuple(sorted(numbered)) for person, numbered in numbers.items()}


def _check_folder(folder: Path, kind: Packaging) -> None:
    if folder.exists() and not folder.is_dir():
        raise Problem(f"{folder} is a file.", "Name a folder.")
    if (folder / SETTINGS_FILE).exists():
        raise Problem(
            f"{folder} is a shoot: finished files do not belong among its own.", "Name another folder."
        )
    if kind is Packaging.FOLDER and (folder / "bagit.txt").exists():
        raise Problem(f"{folder} is a bag, and complete.", "Name another folder, or deliver --as bag.")


def _packed(
    plans: Sequence[DeliveryPlan],
    folder: Path,
    order: DeliveryOrder,
    terms: FinishTerms,
    at: datetime,
    progress: Progress,
) -> tuple[list[DeliveredSet], list[tuple[str, str]]]:
    """Makes the files of all sets and packs each set. Returns (sets, (picture, reason) of files not made)."""
    jobs = [
        (job, staging(folder, plan.set.folder) / "data", plan.set.name) for plan in plans for job in plan.jobs
    ]
    outcomes = make_all([(job, data) for job, data, _ in jobs], terms, progress)
    made: dict[str, list[DeliveredFile]] = {}
    refused: list[tuple[str, str]] = []
    for (job, _, name), outcome in zip(jobs, outcomes, strict=True):
        if isinstance(outcome, DeliveredFile):
            made.setdefault(name, []).append(outcome)
        else:
            refused.append((job.wanted.text, outcome))
    packed = [
        done for plan in plans for done in _sealed(plan, made.get(plan.set.name, []), folder, order, at)
    ]
    return packed, refused


def _sealed(
    plan: DeliveryPlan, made: list[DeliveredFile], folder: Path, order: DeliveryOrder, at: datetime
) -> list[DeliveredSet]:
    """The packages of a set: those found complete, and a new one with the files made."""
    pictures = plan.set
    packages: dict[Path, list[DeliveredFile]] = {}
    for kept in plan.found:
        assert kept.package is not None
        packages.setdefault(kept.package, []).append(kept)
    if order.kind is Packaging.FOLDER and plan.found:
        made = [*made, *packages.pop(folder / pictures.folder)]
    if made:
        extras = _extras(plan, made, folder, order)
        packages[seal(order.kind, folder, pictures.folder, made, extras, at)] = made
    else:
        clear(folder, pictures.folder)
    packed = []
    for package, files in packages.items():
        wrong = next((kept for kept in files if not reads_back(order.kind, package, kept)), None)
        if wrong is not None:
            raise NotWritten(f"{wrong.name} does not read back as it was written")
        sha256 = sha256_of(package) if order.kind is Packaging.ZIP else ""
        packed.append(DeliveredSet(pictures.name, pictures.recipient, package, tuple(files), sha256))
    return packed


def _extras(
    plan: DeliveryPlan, made: Sequence[DeliveredFile], folder: Path, order: DeliveryOrder
) -> dict[str, str]:
    """File name -> text of the files that accompany the pictures."""
    if order.per is not SetPer.YEARBOOK:
        return {}
    there = folder / plan.set.folder / INDEX
    earlier = order.kind is Packaging.FOLDER and there.is_file()
    before = there.read_bytes().decode("utf-8", "replace") if earlier else ""
    return {INDEX: yearbook_index(plan.set.folder, made, before)}


def _recorded(
    shoot: Shoot,
    folder: Path,
    packed: Sequence[DeliveredSet],
    left_out: Sequence[LeftOut],
    station: str,
    order: DeliveryOrder,
) -> tuple[int, Path | None]:
    """Records a delivery and writes its receipt, both or neither. Returns (number, receipt)."""
    if not packed:
        return 0, None
    at = shoot.now()
    with shoot.writing() as session:
        kept_at = shoot.folder / RECEIPTS
        kept_at.mkdir(exist_ok=True)
        number = _next_number(session, packed, order.again)
        while _are_taken(_receipts(shoot, number, kept_at, folder)):
            number += 1  # a restored record does not know it, or another shoot of this name has it
        for done in packed:
            for kept in done.files:
                wanted = kept.job.wanted
                add_event(
                    session,
                    EventKind.DELIVERED,
                    at,
                    station=station,
                    person_id=wanted.person.id,
                    frame_id=wanted.frame,
                    delivery=number,
                    set=done.name,
                    file=kept.name,
                    sha256=kept.sha256,
                    source=wanted.sha256,
                    folder=str(folder.resolve()),
                )
        session.flush()
        text = receipt_of(shoot.settings, number, at, packed, left_out)
        for receipt in _receipts(shoot, number, kept_at, folder):
            write_atomic(receipt, text.encode())
    return number, receipt


def _receipts(shoot: Shoot, number: int, *folders: Path) -> list[Path]:
    """The paths of a delivery's receipt in these folders."""
    name = f"receipt {number:04} {folder_name(shoot.settings.name)}".strip() + ".html"
    return [folder / name for folder in folders]


def _are_taken(receipts: Sequence[Path]) -> bool:
    """Whether one of them is there, except where a draft shows that a kill ended the writing of both."""
    return any(path.exists() for path in receipts) and not any(draft_of(path).exists() for path in receipts)


def _next_number(session: Session, packed: Sequence[DeliveredSet], again: bool) -> int:
    """The number of this delivery. Raises Problem where another station has delivered some of it since."""
    now = delivered_before(read_events(session, [EventKind.DELIVERED]))
    for done in packed:
        names = now.get(done.name, {})
        if not again and any(key_of(kept.job.wanted) in names for kept in done.files):
            raise Problem(
                f"Another station delivered some of {done.name} meanwhile; nothing was recorded here.",
                "Take away this folder, or do it again to see what is new.",
            )
    ever = read_events(session, [EventKind.DELIVERED], undone_too=True)
    return 1 + max(
        (event.details["delivery"] for event in ever if event.kind is EventKind.DELIVERED), default=0
    )
