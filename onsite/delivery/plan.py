"""What a set still lacks, and what each new file will be called."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from onsite.delivery.filenames import Taken, named, safe
from onsite.delivery.finish import Terms
from onsite.delivery.made import Job, Kept, Made, made_in, made_of
from onsite.delivery.package import As, files_in, packages_there
from onsite.delivery.pattern import Pattern
from onsite.delivery.sets import PictureSet
from onsite.delivery.wanted import Wanted
from onsite.metadata.fields import Fields
from onsite.store.record import Happening
from onsite.store.shoot import Shoot

Key = tuple[int | None, int | None, str]
"""Person, frame, and SHA-256 of the file that the finished one was made from."""


@dataclass(slots=True)
class Before:
    """What was delivered of one set: the names of files, by what they show."""

    names: dict[Key, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Plan:
    """The work on one set: files to make, files that a delivery that was broken off had finished, and how
    many were delivered earlier."""

    set: PictureSet
    jobs: tuple[Job, ...]
    found: tuple[Kept, ...]
    already: int
    notices: tuple[str, ...]


def delivered_before(events: Iterable[Happening]) -> dict[str, Before]:
    """What was delivered, by set."""
    sets: dict[str, Before] = {}
    for event in events:
        details = event.details
        key = (event.person_id, event.frame_id, details["source"])
        sets.setdefault(details["set"], Before()).names[key] = details["file"]
    return sets


def key_of(wanted: Wanted) -> Key:
    return wanted.person.id, wanted.frame, wanted.sha256


def plan_set(
    shoot: Shoot,
    pictures: PictureSet,
    before: Before,
    folder: Path,
    kind: As,
    pattern: Pattern,
    terms: Terms,
    creator: str,
    ascii_only: bool,
    again: bool,
) -> Plan:
    """What is to be done for a set in `folder`. With `again` nothing counts as delivered."""
    new = [one for one in pictures.wanted if again or key_of(one) not in before.names]
    if not new:
        return Plan(pictures, (), (), len(pictures.wanted), ())
    blank = [_job(shoot, one, terms, creator) for one in new]
    there = _there(kind, folder, pictures.folder, {job.made: job for job in blank}, before, again)
    taken = Taken([*before.names.values(), *there.names])
    jobs: list[Job] = []
    alike: dict[str, Wanted] = {}
    notices = []
    for job in blank:
        if job.made in there.found:
            continue
        one = job.wanted
        stem = _stem(shoot, pattern, one, ascii_only)
        if inside := pictures.inside.get(one.person.id):
            stem = f"{inside}/{stem}"
        other = alike.setdefault(stem, one)
        if other.person.id != one.person.id:
            notices.append(
                f"Told apart only by a number in their files' names: {other.person.name} ({other.person.key})"
                f" and {one.person.name} ({one.person.key})"
            )
        earlier = before.names.get(key_of(one))
        jobs.append(replace(job, name=earlier or taken.free(stem, ".jpg")))
    already = len(pictures.wanted) - len(new)
    return Plan(pictures, tuple(jobs), tuple(there.found.values()), already, tuple(dict.fromkeys(notices)))


@dataclass(slots=True)
class _There:
    """What complete packages hold: all names, and files that were made and not recorded."""

    names: list[str] = field(default_factory=list)
    found: dict[Made, Kept] = field(default_factory=dict)


def _there(
    kind: As, folder: Path, name: str, jobs: Mapping[Made, Job], before: Before, again: bool
) -> _There:
    there = _There()
    recorded = set() if again else set(before.names.values())
    for package in packages_there(kind, folder, name):
        for file_name, file in files_in(kind, package):
            there.names.append(file_name)
            job = None if file_name in recorded else jobs.get(made_in(file) or Made("", ""))
            if job is not None:
                file.seek(0)
                content = file.read()
                sha256 = hashlib.sha256(content).hexdigest()
                there.found[job.made] = Kept(job, file_name, len(content), sha256, package)
    return there


def _job(shoot: Shoot, one: Wanted, terms: Terms, creator: str) -> Job:
    fields = fields_of(shoot, one, creator)
    made = made_of(shoot.mark, one, terms, fields)
    return Job(one, "", made, replace(fields, made=str(made)))


def fields_of(shoot: Shoot, one: Wanted, creator: str) -> Fields:
    """What a finished file says of itself. No address, telephone number, note, consent or other column of the
    client's list is among it."""
    person, settings = one.person, shoot.settings
    day = one.day.isoformat() if one.day else settings.date
    who = ", ".join(part for part in (person.name, person.group) if part)
    return Fields(
        title=person.name,
        description=f"{who}. {settings.name}{f', {day}' if day else ''}",
        keywords=(person.group,) if person.group else (),
        people=(person.name,),
        creator=creator,
        created=day,
        event=settings.name,
    )


def _stem(shoot: Shoot, pattern: Pattern, one: Wanted, ascii_only: bool) -> str:
    person, settings = one.person, shoot.settings
    texts = {
        "family": person.family,
        "given": person.given,
        "name": person.name,
        "group": person.group,
        "key": person.key,
        "original": one.original,
        "shoot": settings.name,
        "client": settings.client,
        "date": one.day.isoformat() if one.day else settings.date,
    }
    if not person.family and not person.given:
        texts["family"] = person.name
    values: dict[str, str | int | None] = {field: safe(text, ascii_only) for field, text in texts.items()}
    values |= {"sequence": person.sequence, "pick": one.pick, "frame": one.frame}
    return named(values, pattern.filled) or f"picture {one.frame}"


def new_in(plans: Sequence[Plan]) -> int:
    """How many files are to be made."""
    return sum(len(plan.jobs) for plan in plans)
