"""Plans a set: which files it still lacks, and their names."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from onsite.delivery.deliverables import Deliverable
from onsite.delivery.delivery_packages import Packaging, existing_packages, files_in
from onsite.delivery.delivery_sets import DeliveryOrder, PictureSet
from onsite.delivery.finish_delivered_picture import FinishTerms
from onsite.delivery.make_delivery_files import (
    DeliveredFile,
    DeliveryJob,
    MadeFrom,
    delivered_file,
    made_in,
    made_of,
    whole_jpeg,
)
from onsite.files.file_name_pattern import FileName, NamePattern, file_stem
from onsite.files.file_names import UsedNames, comparable_name
from onsite.metadata.xmp_fields import MetadataFields
from onsite.roster.find_people import RosterPerson
from onsite.store.events import Event
from onsite.store.shoot import Shoot

_ENDING = ".jpg"
_LONGEST = 500
"""Most characters of a text in the metadata: a packet must fit into a segment of a JPEG, 65,533 bytes (ITU-T
T.81, B.1.1.4)."""

Key = tuple[int | None, int | None, str]
"""Person id, frame id, and SHA-256 of the source of a finished file."""


Before = dict[Key, str]
"""The file names delivered in one set, by key."""


@dataclass(frozen=True, slots=True)
class DeliveryPlan:
    """The work on a set."""

    set: PictureSet
    jobs: tuple[DeliveryJob, ...]  # files to make
    found: tuple[DeliveredFile, ...]  # files that an interrupted delivery had finished
    already: int  # pictures delivered earlier
    notices: tuple[str, ...]
    names: tuple[tuple[RosterPerson, FileName], ...]  # of each new file


def delivered_before(events: Iterable[Event]) -> dict[str, Before]:
    """Folds DELIVERED events into the file names delivered, by set."""
    sets: dict[str, Before] = {}
    for event in events:
        details = event.details
        key = (event.person_id, event.frame_id, details["source"])
        sets.setdefault(details["set"], {})[key] = details["file"]
    return sets


def key_of(wanted: Deliverable) -> Key:
    """What identifies a delivered picture within its set."""
    return wanted.person.id, wanted.frame, wanted.sha256


def plan_set(
    shoot: Shoot,
    pictures: PictureSet,
    before: Before,
    folder: Path,
    order: DeliveryOrder,
    pattern: NamePattern,
    terms: FinishTerms,
) -> DeliveryPlan:
    """Plans the work on a set in `folder`."""
    names = {
        id(picture): _name(shoot, pattern, picture, order.ascii_only) for picture in pictures.deliverables
    }
    stems = {id(picture): _stem(names[id(picture)], picture, pictures) for picture in pictures.deliverables}
    old = [picture for picture in pictures.deliverables if key_of(picture) in before and not order.again]
    new = [picture for picture in pictures.deliverables if key_of(picture) not in before or order.again]
    notices = _renamed(shoot, pattern, pictures, before, old) + _alike(new, stems)
    blank = [_job(shoot, picture, terms, order.creator) for picture in new]
    recorded = set() if order.again else set(before.values())
    packages = existing_packages(order.kind, folder, pictures.folder)
    there = _existing_files(order.kind, packages, {job.made: job for job in blank}, recorded)
    taken, on_disk = UsedNames([*before.values(), *there.names]), UsedNames(there.names)
    jobs: list[DeliveryJob] = []
    for job in blank:
        if job.made in there.found:
            continue
        stem, earlier = stems[id(job.wanted)], before.get(key_of(job.wanted), "")
        same = _has_stem(earlier, stem) and earlier not in on_disk
        jobs.append(replace(job, name=earlier if same else taken.unused_name(stem, _ENDING)))
    called_so = tuple((picture.person, names[id(picture)]) for picture in new)
    return DeliveryPlan(
        pictures, tuple(jobs), tuple(there.found.values()), len(old), tuple(notices), called_so
    )


def _alike(new: Sequence[Deliverable], stems: Mapping[int, str]) -> list[str]:
    """Notices about different people whose files would have the same name."""
    first: dict[str, Deliverable] = {}
    notices = []
    for picture in new:
        other = first.setdefault(comparable_name(stems[id(picture)]), picture)
        if other.person.id != picture.person.id:
            notices.append(
                f"Told apart only by a number in their files' names: {other.person.name} ({other.person.key})"
                f" and {picture.person.name} ({picture.person.key})"
            )
    return list(dict.fromkeys(notices))


def _renamed(
    shoot: Shoot, pattern: NamePattern, pictures: PictureSet, before: Before, old: Sequence[Deliverable]
) -> list[str]:
    """A notice about files delivered under names that have changed since."""
    wrong = []
    for picture in old:
        name = before[key_of(picture)]
        names = [_name(shoot, pattern, picture, ascii_only) for ascii_only in (False, True)]
        stems = [_stem(name, picture, pictures) for name in names]
        if not any(_has_stem(name, stem) for stem in stems):
            wrong.append(f"{name}, now {stems[0]}{_ENDING}")
    if not wrong:
        return []
    return [f"Delivered under names that have changed since: {len(wrong)}, such as {wrong[0]}. Use --again."]


def _has_stem(name: str, stem: str) -> bool:
    """Whether a file has that name, perhaps with a number after it."""
    return re.fullmatch(rf"{re.escape(stem)}(_\d+)?{re.escape(_ENDING)}", name) is not None


@dataclass(slots=True)
class _ExistingFiles:
    """The names in complete packages, and the files in them that were made but not recorded."""

    names: list[str] = field(default_factory=list)
    found: dict[MadeFrom, DeliveredFile] = field(default_factory=dict)


def _existing_files(
    kind: Packaging, packages: Iterable[Path], jobs: Mapping[MadeFrom, DeliveryJob], recorded: set[str]
) -> _ExistingFiles:
    there = _ExistingFiles()
    for package in packages:
        for name, file in files_in(kind, package):
            there.names.append(name)
            made = None if name in recorded else made_in(file)
            if made is None or made not in jobs:
                continue
            file.seek(0)
            content = whole_jpeg(file.read(), made)
            if content is not None:
                there.found[made] = delivered_file(jobs[made], name, content, package)
    return there


def _job(shoot: Shoot, picture: Deliverable, terms: FinishTerms, creator: str) -> DeliveryJob:
    fields = fields_of(shoot, picture, creator)
    made = made_of(shoot.mark, picture, terms, fields)
    return DeliveryJob(picture, "", made, replace(fields, made=str(made)))


def fields_of(shoot: Shoot, picture: Deliverable, creator: str) -> MetadataFields:
    """The metadata of a finished file. It holds no address, telephone number, note, consent or other column
    of the client's list."""
    settings = shoot.settings
    day = picture.day.isoformat() if picture.day else settings.date
    name, group, event, maker = (
        text[:_LONGEST] for text in (picture.person.name, picture.person.group, settings.name, creator)
    )
    who = ", ".join(part for part in (name, group) if part)
    return MetadataFields(
        title=name,
        description=f"{who}. {event}{f', {day}' if day else ''}",
        keywords=(group,) if group else (),
        people=(name,),
        creator=maker,
        created=day,
        event=event,
    )


def _name(shoot: Shoot, pattern: NamePattern, picture: Deliverable, ascii_only: bool) -> FileName:
    return file_stem(
        pattern,
        picture.person,
        shoot.settings,
        frame=picture.frame,
        pick=picture.pick,
        original=picture.original,
        day=picture.day,
        ascii_only=ascii_only,
    )


def _stem(name: FileName, picture: Deliverable, pictures: PictureSet) -> str:
    """The path of a picture in its package, without number and extension."""
    inside = pictures.inside.get(picture.person.id)
    return f"{inside}/{name.text}" if inside else name.text
