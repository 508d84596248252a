"""What a set still lacks, and what each new file will be called."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from onsite.delivery.finish import Terms
from onsite.delivery.made import Job, Kept, Made, kept_as, made_in, made_of, whole_jpeg
from onsite.delivery.order import Order
from onsite.delivery.package import As, files_in, packages_there
from onsite.delivery.sets import PictureSet
from onsite.delivery.wanted import Wanted
from onsite.files.called import Name, called
from onsite.files.names import Taken, same_on_any
from onsite.files.pattern import Pattern
from onsite.metadata.fields import Fields
from onsite.roster.find import Someone
from onsite.store.record import Happening
from onsite.store.shoot import Shoot

_ENDING = ".jpg"
_LONGEST = 500
"""Characters of a text in the metadata: a packet has to fit into one segment of a JPEG, 65,533 bytes (ITU-T
T.81, B.1.1.4)."""

Key = tuple[int | None, int | None, str]
"""Person, frame, and SHA-256 of the file that the finished one was made from."""


Before = dict[Key, str]
"""What was delivered of one set: the names of files, by what they show."""


@dataclass(frozen=True, slots=True)
class Plan:
    """The work on one set: files to make, files that a delivery that was broken off had finished, how many
    were delivered earlier, and by whose name and with what in it each new file is called."""

    set: PictureSet
    jobs: tuple[Job, ...]
    found: tuple[Kept, ...]
    already: int
    notices: tuple[str, ...]
    names: tuple[tuple[Someone, Name], ...]


def delivered_before(events: Iterable[Happening]) -> dict[str, Before]:
    """What was delivered, by set."""
    sets: dict[str, Before] = {}
    for event in events:
        details = event.details
        key = (event.person_id, event.frame_id, details["source"])
        sets.setdefault(details["set"], {})[key] = details["file"]
    return sets


def key_of(wanted: Wanted) -> Key:
    return wanted.person.id, wanted.frame, wanted.sha256


def plan_set(
    shoot: Shoot,
    pictures: PictureSet,
    before: Before,
    folder: Path,
    order: Order,
    pattern: Pattern,
    terms: Terms,
) -> Plan:
    """What is to be done for a set in `folder`."""
    names = {id(one): _name(shoot, pattern, one, order.ascii_only) for one in pictures.wanted}
    stems = {id(one): _stem(names[id(one)], one, pictures) for one in pictures.wanted}
    old = [one for one in pictures.wanted if key_of(one) in before and not order.again]
    new = [one for one in pictures.wanted if key_of(one) not in before or order.again]
    notices = _renamed(shoot, pattern, pictures, before, old) + _alike(new, stems)
    blank = [_job(shoot, one, terms, order.creator) for one in new]
    recorded = set() if order.again else set(before.values())
    packages = packages_there(order.kind, folder, pictures.folder)
    there = _there(order.kind, packages, {job.made: job for job in blank}, recorded)
    taken, on_disk = Taken([*before.values(), *there.names]), Taken(there.names)
    jobs: list[Job] = []
    for job in blank:
        if job.made in there.found:
            continue
        stem, earlier = stems[id(job.wanted)], before.get(key_of(job.wanted), "")
        same = _is_called(earlier, stem) and earlier not in on_disk
        jobs.append(replace(job, name=earlier if same else taken.free(stem, _ENDING)))
    called_so = tuple((one.person, names[id(one)]) for one in new)
    return Plan(pictures, tuple(jobs), tuple(there.found.values()), len(old), tuple(notices), called_so)


def _alike(new: Sequence[Wanted], stems: Mapping[int, str]) -> list[str]:
    """What is said of different people whose files would have one name."""
    first: dict[str, Wanted] = {}
    notices = []
    for one in new:
        other = first.setdefault(same_on_any(stems[id(one)]), one)
        if other.person.id != one.person.id:
            notices.append(
                f"Told apart only by a number in their files' names: {other.person.name} ({other.person.key})"
                f" and {one.person.name} ({one.person.key})"
            )
    return list(dict.fromkeys(notices))


def _renamed(
    shoot: Shoot, pattern: Pattern, pictures: PictureSet, before: Before, old: Sequence[Wanted]
) -> list[str]:
    """What is said of files that were delivered under another name than they would have now."""
    wrong = []
    for one in old:
        name = before[key_of(one)]
        names = [_name(shoot, pattern, one, ascii_only) for ascii_only in (False, True)]
        stems = [_stem(name, one, pictures) for name in names]
        if not any(_is_called(name, stem) for stem in stems):
            wrong.append(f"{name}, now {stems[0]}{_ENDING}")
    if not wrong:
        return []
    return [f"Delivered under names that have changed since: {len(wrong)}, such as {wrong[0]}. Use --again."]


def _is_called(name: str, stem: str) -> bool:
    """Whether a file has that name, perhaps with a number behind it."""
    return re.fullmatch(rf"{re.escape(stem)}(_\d+)?{re.escape(_ENDING)}", name) is not None


@dataclass(slots=True)
class _There:
    """What complete packages hold: all names, and files that were made and not recorded."""

    names: list[str] = field(default_factory=list)
    found: dict[Made, Kept] = field(default_factory=dict)


def _there(kind: As, packages: Iterable[Path], jobs: Mapping[Made, Job], recorded: set[str]) -> _There:
    there = _There()
    for package in packages:
        for name, file in files_in(kind, package):
            there.names.append(name)
            made = None if name in recorded else made_in(file)
            if made is None or made not in jobs:
                continue
            file.seek(0)
            content = whole_jpeg(file.read(), made)
            if content is not None:
                there.found[made] = kept_as(jobs[made], name, content, package)
    return there


def _job(shoot: Shoot, one: Wanted, terms: Terms, creator: str) -> Job:
    fields = fields_of(shoot, one, creator)
    made = made_of(shoot.mark, one, terms, fields)
    return Job(one, "", made, replace(fields, made=str(made)))


def fields_of(shoot: Shoot, one: Wanted, creator: str) -> Fields:
    """What a finished file says of itself. No address, telephone number, note, consent or other column of the
    client's list is among it."""
    settings = shoot.settings
    day = one.day.isoformat() if one.day else settings.date
    name, group, event, maker = (
        text[:_LONGEST] for text in (one.person.name, one.person.group, settings.name, creator)
    )
    who = ", ".join(part for part in (name, group) if part)
    return Fields(
        title=name,
        description=f"{who}. {event}{f', {day}' if day else ''}",
        keywords=(group,) if group else (),
        people=(name,),
        creator=maker,
        created=day,
        event=event,
    )


def _name(shoot: Shoot, pattern: Pattern, one: Wanted, ascii_only: bool) -> Name:
    return called(
        pattern,
        one.person,
        shoot.settings,
        frame=one.frame,
        pick=one.pick,
        original=one.original,
        day=one.day,
        ascii_only=ascii_only,
    )


def _stem(name: Name, one: Wanted, pictures: PictureSet) -> str:
    """The path of a picture in its package, without number and ending."""
    inside = pictures.inside.get(one.person.id)
    return f"{inside}/{name.text}" if inside else name.text
