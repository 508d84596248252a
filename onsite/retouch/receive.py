"""Files back from retouching: found by name, checked by content, accepted where nothing is in doubt."""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlmodel import Session

from onsite.frames.called import frame_labels
from onsite.frames.copies import CopyFailed, copy_as
from onsite.frames.previews import preview
from onsite.problems import Problem
from onsite.progress.batches import Batch, Out, outs_of, read_batches
from onsite.retouch.batch_folder import OWN_FILES
from onsite.retouch.checks import Trouble, Wrong
from onsite.retouch.memory import Waiting, Went, alone, colours_of, keep_waiting, sight_of, waiting, went_out
from onsite.retouch.returned import Expected, Returned, check
from onsite.retouch.same import Compared, working
from onsite.store.record import Kind, add
from onsite.store.shoot import Shoot
from onsite.wrap.current import stands

if TYPE_CHECKING:
    from PIL import Image

    from onsite.retouch.compare import Sight

Progress = Callable[[int, int], None]

RETOUCHED = "retouched"
"""The folder in the shoot's where accepted files lie."""

_SIGHTS = 4096
"""So many small pictures are held while files are compared: some 600 MB at most."""

_COMPARED = 200
"""Of so many also what is computed of them, 1 to 2 MB each."""


@dataclass(frozen=True, slots=True)
class Received:
    """What became of a folder of returned files. `accepted` is each with its path in the shoot's folder;
    `held` are not accepted; `known` were accepted before; `repeated` have the content of another one for the
    same pick; `missing` are awaited in these batches and not there at all."""

    accepted: tuple[tuple[Returned, str], ...]
    held: tuple[Returned, ...]
    known: tuple[Returned, ...]
    repeated: tuple[Path, ...]
    missing: tuple[Out, ...]


def receive(
    shoot: Shoot,
    folder: Path,
    batch: str = "",
    spot: int = 0,
    station: str = "",
    dry_run: bool = False,
    progress: Progress | None = None,
) -> Received:
    """Takes in what came back in `folder`. Files there are only read; accepted ones are copied, verified.

    `spot` of a hundred that are right wait for somebody to look at them (`accept`). It can be run again on
    the same folder. Raises Problem where the folder cannot be listed or there is no such batch.
    """
    paths = _files(folder)
    with alone(shoot):
        batches = _meant(shoot, batch)
        expected = _expected(shoot, batches)
        checked = _checked(paths, expected, progress)
        checked, repeated = _doubled(checked)
        checked = _spot_checks(checked, spot)
        right = [one for one in checked if not one.wrong and not one.known]
        accepted, unkept = ([(one, "") for one in right], []) if dry_run else _accept(shoot, right, station)
        held = [one for one in checked if one.wrong] + unkept
        if not dry_run:
            _keep_waiting(shoot, held, [one for one, _ in accepted])
    known = tuple(one for one in checked if one.known)
    there = {one.out.frame for one in checked if one.out}
    touched = {one.out.batch for one in checked if one.out} if not batch else {batch}
    missing = [
        out
        for frame, out in expected.outs.items()
        if out.received is None and frame not in there and (out.batch in touched or not touched)
    ]
    return Received(tuple(accepted), tuple(held), known, tuple(repeated), tuple(missing))


def _files(folder: Path) -> list[Path]:
    """Every file below a folder that is not hidden and not one of a batch's own lists."""

    def note(error: OSError) -> None:
        raise Problem(f"{error.filename} cannot be listed: {error.strerror}.", "Check its permissions.")

    if not folder.is_dir():
        raise Problem(f"{folder} is not a folder.", "Name the folder with the files that came back.")
    found = []
    for where, folders, names in os.walk(folder, onerror=note):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        found += [Path(where, n) for n in sorted(names) if not n.startswith(".") and n not in OWN_FILES]
    return found


def _meant(shoot: Shoot, name: str) -> list[Batch]:
    with shoot.reading() as session:
        batches = read_batches(session)
    if not batches:
        raise Problem("No batch was sent from this shoot.", "Send one: onsite retouch send DIR")
    if not name:
        return batches
    meant = [batch for batch in batches if batch.name == name]
    if not meant:
        names = ", ".join(batch.name for batch in batches)
        raise Problem(f"There is no batch {name!r}.", f"Batches here: {names}.")
    return meant


def _expected(shoot: Shoot, batches: Iterable[Batch]) -> Expected:
    outs = outs_of(batches)
    with shoot.reading() as session:
        called = frame_labels(session)
    went: dict[int, Went] = {}
    for name in {out.batch for out in outs.values()}:
        went |= {frame: one for frame, one in went_out(shoot, name).items() if outs[frame].batch == name}

    @lru_cache(_SIGHTS)
    def sent(frame: int) -> Image.Image | None:
        return sight_of(shoot, outs[frame].batch, frame)

    @lru_cache(_SIGHTS)
    def taken(frame: int) -> Image.Image | None:
        from PIL import Image

        path = preview(shoot, frame)
        if path is None:
            return None
        with Image.open(path) as picture:
            return working(picture)

    return Expected(
        outs,
        went,
        {frame: stand.person for frame, stand in stands(shoot).items()},
        frozenset(one.sha256 for one in waiting(shoot) if one.sent_back),
        shoot.settings.agreed.long_side,
        _compared(sent),
        _compared(taken),
        lambda frame: colours_of(shoot, outs[frame].batch, frame),
        called,
    )


def _compared(look: Callable[[int], Image.Image | None]) -> Sight:
    @lru_cache(_COMPARED)
    def sight(frame: int) -> Compared | None:
        picture = look(frame)
        return None if picture is None else Compared(picture)

    return sight


def _checked(paths: Sequence[Path], expected: Expected, progress: Progress | None) -> list[Returned]:
    checked = []
    with ThreadPoolExecutor(os.cpu_count(), thread_name_prefix="check") as pool:
        try:
            for one in pool.map(lambda path: check(path, expected), paths):
                checked.append(one)
                if progress:
                    progress(len(checked), len(paths))
        finally:
            pool.shutdown(cancel_futures=True)
    return checked


def _doubled(checked: Sequence[Returned]) -> tuple[list[Returned], list[Path]]:
    """(files, paths of those left out): of several with one content the first, of several with different
    contents for one pick none is accepted."""
    repeated, seen = [], set()
    single = []
    for one in checked:
        frame = one.out.frame if one.out else None
        if frame is not None and (frame, one.sha256) in seen:
            repeated.append(one.path)
        else:
            seen.add((frame, one.sha256))
            single.append(one)
    by_frame: dict[int, list[Returned]] = defaultdict(list)
    for one in single:
        if one.out and not one.known and _may_be(one):
            by_frame[one.out.frame].append(one)
    doubled = {id(one): others for others in by_frame.values() if len(others) > 1 for one in others}
    return [_told_double(one, doubled[id(one)]) if id(one) in doubled else one for one in single], repeated


def _may_be(one: Returned) -> bool:
    """Whether a file may be the version that is awaited of its pick."""
    never = {Trouble.REFUSED_BEFORE, Trouble.UNREADABLE, Trouble.BACK_ALREADY, Trouble.RENAMED}
    return never.isdisjoint(wrong.trouble for wrong in one.wrong)


def _told_double(one: Returned, others: Sequence[Returned]) -> Returned:
    names = ", ".join(other.path.name for other in others if other is not one)
    return replace(one, wrong=(*one.wrong, Wrong(Trouble.DOUBLED, f"there is another one for it: {names}")))


def _spot_checks(checked: Sequence[Returned], spot: int) -> list[Returned]:
    """The same, with `spot` of a hundred of those that are right held for somebody to look at: always the
    same ones for the same files."""
    right = sorted(one.sha256 for one in checked if not one.wrong and not one.known)
    chosen = set(right[: ceil(len(right) * spot / 100)])
    wrong = (Wrong(Trouble.SPOT, "somebody should look at it, and accept it"),)
    return [
        replace(one, wrong=wrong) if one.sha256 in chosen and not one.wrong and not one.known else one
        for one in checked
    ]


def _accept(
    shoot: Shoot, right: Sequence[Returned], station: str
) -> tuple[list[tuple[Returned, str]], list[Returned]]:
    accepted, unkept = [], []
    for one in right:
        assert one.out is not None
        try:
            accepted.append((one, keep_retouched(shoot, one.path, one.sha256, one.out)))
        except CopyFailed as error:
            unkept.append(replace(one, wrong=(Wrong(Trouble.NOT_KEPT, str(error)),)))
    if accepted:
        record_received(shoot, [(one.out, file, one.sha256) for one, file in accepted if one.out], station)
    return accepted, unkept


def keep_retouched(shoot: Shoot, path: Path, sha256: str, out: Out) -> str:
    """Copies an accepted file into the shoot's folder and returns its path in it. Raises CopyFailed."""
    version = f"-v{out.version}" if out.version > 1 else ""
    name = f"{Path(out.file).stem}{version}{path.suffix.lower()}"
    place = copy_as(path, shoot.folder / RETOUCHED / name, sha256)
    return place.relative_to(shoot.folder).as_posix()


def record_received(
    shoot: Shoot, files: Sequence[tuple[Out, str, str]], station: str, reason: str = ""
) -> None:
    """Records (pick, path in the shoot's folder, SHA-256) as accepted, all or none. Raises Problem where
    another station decided on one of them meanwhile."""
    now = shoot.now()
    why: dict[str, Any] = {"reason": reason} if reason else {}
    with shoot.writing() as session:
        outs = outs_of(read_batches(session))
        for out, file, sha256 in files:
            if out.received is not None or outs.get(out.frame) != out:
                name = frame_labels(session)[out.frame]
                raise Problem(
                    f"Another station decided on {name} meanwhile: nothing was accepted.", "Do it again."
                )
            record_of(session, Kind.RECEIVED, out, now, station, file=file, sha256=sha256, **why)


def record_of(session: Session, kind: Kind, out: Out, at: datetime, station: str, **details: Any) -> None:
    """Adds what happened to a version of a pick in its batch."""
    whose = {"person_id": out.person, "frame_id": out.frame}
    add(session, kind, at, station=station, **whose, batch=out.batch, version=out.version, **details)


def _keep_waiting(shoot: Shoot, held: Sequence[Returned], accepted: Sequence[Returned]) -> None:
    """Remembers which files wait: those of now in place of what was said of the same files before."""
    done = {one.out.frame for one in accepted if one.out}
    now = {str(one.path.resolve()) for one in (*held, *accepted)}
    before = [w for w in waiting(shoot) if w.sent_back or (w.path not in now and w.frame not in done)]
    decided = {(w.path, w.sha256) for w in before if w.sent_back}
    added = [
        Waiting(
            one.out.frame,
            one.out.person,
            one.out.batch,
            one.out.version,
            str(one.path.resolve()),
            one.sha256,
            "; ".join(wrong.text for wrong in one.wrong),
        )
        for one in held
        if one.out and _may_be(one) and (str(one.path.resolve()), one.sha256) not in decided
    ]
    keep_waiting(shoot, [*before, *added])
