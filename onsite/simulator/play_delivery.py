"""Plays the days after the shoot: proofs, picks, a batch at retouch and back, and a delivery.

Uses the same code as with real people, on invented days, and stops early enough that somebody is at every
stage. Everything is written into the shoot's folder.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

from onsite.core.codes import holder_of, pick_code
from onsite.core.frame_ref import frame_id_text
from onsite.core.progress import Progress, no_progress
from onsite.delivery.deliver import DeliveryResult, deliver_pictures
from onsite.delivery.delivery_sets import DeliveryOrder as DeliveryOrder
from onsite.frames.find_frames import frame_labels
from onsite.picks.load_picks import load_picks
from onsite.picks.record_picks import add_picks
from onsite.proofs.build_proofs import build_proofs
from onsite.proofs.proof_record import read_proof_records
from onsite.reconcile.current_match import frames_per_person, update_match
from onsite.retouch.batch_contents import BatchOrder, SentBatch
from onsite.retouch.receive_batch import ReceiveResult, receive_batch
from onsite.retouch.send_batch import send_batch
from onsite.roster.find_people import RosterPerson
from onsite.roster.read_people import read_people
from onsite.status.picture_status import read_picture_statuses
from onsite.store.shoot import Shoot

PROOFS, ANSWERS, OUT, BACK, FINISHED = "proofs", "answers.txt", "retouch-out", "retouch-back", "delivery"
_RETOUCHER, _PRICE = "An invented retoucher", Decimal("5.00")
_ANSWER = 0.8
"""The share of people who send their picks."""

_SENT = 0.75
"""The share of picks sent to retouch; two thirds come back, in two parts, and the first part is delivered."""

_NOTES = ("Stray hair on the left", "Glare in the glasses", "Please keep the scar", "")


@dataclass(frozen=True, slots=True)
class ShootAt(Shoot):
    """A shoot whose clock shows `time` instead of this machine's time."""

    time: datetime

    def now(self) -> datetime:
        return self.time


@dataclass(frozen=True, slots=True)
class PlayedDelivery:
    """The counts of what was played.

    `asked` counts people with proofs, `answered` people with picks, `accepted` returned files that passed the
    checks, `held` returned files that wait for a decision.
    """

    asked: int = 0
    answered: int = 0
    sent: int = 0
    accepted: int = 0
    held: int = 0
    delivered: int = 0


def play_delivery(
    shoot: Shoot, seed: int, step: Progress = no_progress, first_day: date | None = None
) -> PlayedDelivery:
    """Play the days after `first_day`, else after the shoot's day. Raises Problem."""
    day = first_day or shoot.day
    rng = random.Random(f"after/{seed}")
    asked = _proofs(_days_later(shoot, day, 1), step)
    if not asked:  # a day so small that nobody has a frame
        return PlayedDelivery()
    answered = _picks(_days_later(shoot, day, 4), asked, rng)
    sent = _batch(_days_later(shoot, day, 5), step)
    first, second = _come_back(shoot.folder, sent, seed)
    received = [receive_batch(_days_later(shoot, day, 7), first, progress=step)]
    finished = _deliver(_days_later(shoot, day, 8), step)
    received.append(receive_batch(_days_later(shoot, day, 9), second, progress=step))
    return PlayedDelivery(
        len(asked),
        answered,
        len(sent.items),
        sum(len(result.accepted) for result in received),
        _held(received),
        finished.files,
    )


def _days_later(shoot: Shoot, day: date, days: int) -> ShootAt:
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=shoot.zone)
    return ShootAt(shoot.folder, shoot.settings, shoot.mark, shoot.engine, noon + timedelta(days=days))


def _proofs(shoot: Shoot, step: Progress) -> list[RosterPerson]:
    """Build proofs for the first half of the groups and return everybody who has some."""
    update_match(shoot)
    with shoot.reading() as session:
        framed = frames_per_person(session)
        groups = sorted({person.group for person in read_people(session) if framed.get(person.id)})
    for group in groups[: max(len(groups) // 2, 1)]:
        build_proofs(shoot, shoot.folder / PROOFS, group, progress=step)
    with shoot.reading() as session:
        proofed = read_proof_records(session)
        return [person for person in read_people(session) if person.id in proofed]


def _picks(shoot: Shoot, asked: Sequence[RosterPerson], rng: random.Random) -> int:
    """Let most people choose, and return how many did.

    People with a page send its pick code in a mail; all mails are one text file, which is loaded. The picks
    of people with a printed sheet are added by hand.
    """
    with shoot.reading() as session:
        proofed = read_proof_records(session)
        labels = frame_labels(session)
    mails = []
    answered = 0
    for person in asked:
        proof_record = proofed[person.id]
        numbers = range(len(proof_record.numbered))
        chosen = rng.sample(numbers, min(len(numbers), rng.randint(1, shoot.settings.agreed.picks)))
        note = rng.choice(_NOTES)
        if rng.random() > _ANSWER and person != asked[0]:
            continue
        if proof_record.page:
            code = pick_code(shoot.mark, holder_of(person.code), chosen)
            label = labels[proof_record.numbered[chosen[0]]]
            about = f"Note {label}: {note}\n" if note else ""  # as a page writes it
            mails.append(f"Hello, these are mine: {code}\n\n{about}")
        else:
            add_picks(shoot, person.key, [frame_id_text(proof_record.numbered[number]) for number in chosen])
            answered += 1
    if not mails:
        return answered
    answers = shoot.folder / ANSWERS
    answers.write_text("\n".join(mails), encoding="utf-8")
    return answered + len(load_picks(shoot, answers).people)


def _batch(shoot: Shoot, step: Progress) -> SentBatch:
    """Send one batch with the picks of the first people who answered."""
    with shoot.reading() as session:
        after = read_picture_statuses(session)
    picked = [pick.frame for picture_status in after.values() for pick in picture_status.picks]
    frames = tuple(frame_id_text(frame) for frame in picked[: max(round(len(picked) * _SENT), 1)])
    due = (shoot.now() + timedelta(days=7)).date().isoformat()
    order = BatchOrder(
        _RETOUCHER, due, _PRICE, shoot.settings.agreed.currency, frames=frames, named=False, metadata=False
    )
    return send_batch(shoot, shoot.folder / OUT, order, progress=step)


def _come_back(folder: Path, sent: SentBatch, seed: int) -> tuple[Path, Path]:
    """Return two parts of the batch, with one file not retouched; the retoucher keeps the rest."""
    files = [sent.folder / item.file for item in sent.items]
    part = -(-len(files) // 3)
    places = folder / BACK / "first", folder / BACK / "second"
    for place, part_files in zip(places, (files[:part], files[part : 2 * part]), strict=True):
        place.mkdir(parents=True)
        for file in part_files:
            retouch(file, place / f"{file.stem}-retouched{file.suffix}", seed)
    if len(files) > part + 1:
        untouched = files[part]
        (places[1] / f"{untouched.stem}-retouched{untouched.suffix}").write_bytes(untouched.read_bytes())
    return places


def _held(received: Sequence[ReceiveResult]) -> int:
    return sum(len(result.held) for result in received)


def _deliver(shoot: Shoot, step: Progress) -> DeliveryResult:
    return deliver_pictures(shoot, shoot.folder / FINISHED, DeliveryOrder(), progress=step)


def print_after(after: PlayedDelivery, folder: Path, say: Callable[..., None]) -> None:
    """Print the days after the shoot."""
    say("The days after:", "bold")
    say(f"  {after.asked} people have proofs, in {folder / PROOFS}")
    say(f"  {after.answered} of them picked; their mails are in {folder / ANSWERS}")
    say(f"  {after.sent} picks went to be retouched, in {folder / OUT}")
    say(f"  {after.accepted} came back right, in {folder / BACK}; {after.held} held for you to look at")
    say(f"  {after.delivered} finished pictures delivered, in {folder / FINISHED}")


_QUALITY = 92  # of a JPEG, as retouchers send them (common practice, no source)


def retouch(file: Path, place: Path, seed: int) -> None:
    """Brighten and soften the picture in `file` a little and write it to `place`.

    The same seed makes the same picture.
    """
    from PIL import Image, ImageEnhance, ImageFilter

    rng = random.Random(f"retouch/{seed}/{file.name}")
    with Image.open(file) as picture:
        brighter = ImageEnhance.Brightness(picture.convert("RGB")).enhance(rng.uniform(1.03, 1.10))
        softer = brighter.filter(ImageFilter.SMOOTH)
        softer.save(place, quality=_QUALITY, exif=picture.getexif())
