"""Builds the proofs of a shoot: sheets and pages, each file whole or not at all, and only those that changed.

DIR/pages/     for a web host or to send on: a page for each person who consented, and nothing else
DIR/private/   contact sheets, the list of all pages, and the ledger of what each proof was made from
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Collection, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from onsite.core.errors import Problem
from onsite.core.json_data import NOT_JSON
from onsite.core.progress import Progress, no_progress
from onsite.files.atomic_write import atomic_file, sweep_drafts
from onsite.files.write_tables import rows_without, table_cell, write_csv
from onsite.messages.message_catalogue import catalogue
from onsite.proofs.contact_sheet import SheetHeading, answer_lines, jpeg_sheets, pdf_sheets, side_for
from onsite.proofs.proof_jobs import FILE as LEDGER
from onsite.proofs.proof_jobs import MadeProof, ProofJob, ProofLedger, proof_jobs
from onsite.proofs.proof_page import page_html
from onsite.proofs.proof_picture import NoProofPicture, ProofPicture, proof_picture
from onsite.proofs.proof_record import ProofRecord, read_proof_records, record_proofs
from onsite.reconcile.frame_ownership import PersonWithFrames, people_with_frames
from onsite.roster.parse_consent import Consent
from onsite.roster.roster_groups import in_group
from onsite.store.shoot import Shoot

PUBLIC, PRIVATE, LIST = "pages", "private", "pages.csv"
SHEETS = f"{PRIVATE}/sheets"
COLUMNS = ("key", "name", "group", "email", "pictures", "page", "sheet", "no_page_because")

_NOTHING_HERE = (
    b'<!doctype html><html lang="en"><meta charset="utf-8"><meta name="robots" content="noindex">'
    b'<meta name="referrer" content="no-referrer"><title>Nothing here</title><p>Nothing here.</p></html>\n'
)
"""Served as `index.html`, so that no host lists the folder. It links nowhere."""

_KEPT_EVERY = 25
"""Save the ledger after this many people: the most that are built again after a power cut."""


class PersonKey(NamedTuple):
    """Somebody on the roster."""

    key: str
    name: str


class WithoutPage(NamedTuple):
    """A person without a page, and why."""

    key: str
    name: str
    reason: str


class FrameTrouble(NamedTuple):
    """A frame that could not be put on a proof."""

    name: str
    """Of the person."""
    frame: str
    """Its label."""
    reason: str


@dataclass(slots=True)
class BuildResult:
    """The proofs in the folder after a run, and what this run changed."""

    people: int = 0  # people who have proofs
    made: int = 0  # people whose proofs this run built
    pages: int = 0  # people who have a page
    pictures: int = 0  # pictures on all proofs
    small: int = 0  # pictures built from a preview, because the original was not there
    without_frames: int = 0  # people without frames
    unasked: int = 0  # people with a page about whose consent the list says nothing
    on_request: list[PersonKey] = field(default_factory=list)
    """The people among `unasked` who have a page only because of `blank_is_yes`."""
    no_page: list[WithoutPage] = field(default_factory=list)
    troubled: list[FrameTrouble] = field(default_factory=list)
    """Frames that are on no proof."""
    removed: list[str] = field(default_factory=list)  # stale files that were deleted
    texts: list[str] = field(default_factory=list, metadata=NOT_JSON)
    """The names and groups on the sheets, and the shoot's name."""


@dataclass(frozen=True, slots=True)
class _FinishedJob:
    """The proofs of one person. `made` is None where none of their frames could be decoded."""

    job: ProofJob
    made: MadeProof | None
    small: int
    troubled: tuple[FrameTrouble, ...]


def build_proofs(
    shoot: Shoot,
    folder: Path,
    group: str | None = None,
    station: str = "",
    blank_is_yes: bool = False,
    progress: Progress = no_progress,
) -> BuildResult:
    """Builds the proofs of everybody with frames, or of one group, in `folder`.

    `progress` is called with the number of pictures done and the number to do. `blank_is_yes` gives a page to
    people without an answer about consent. Raises Problem where the group is empty, nobody has frames, or the
    folder cannot be written.
    """
    everybody = people_with_frames(shoot)
    chosen = in_group(everybody, group, lambda sitter: sitter.person.group)
    if not any(sitter.frames for sitter in chosen) and not (folder / PRIVATE / LEDGER).is_file():
        raise Problem(
            "Nobody here has frames under their name yet.", "Read frames in first: onsite ingest PATH"
        )
    with shoot.reading() as session:
        proofed = read_proof_records(session)
    jobs = proof_jobs(chosen, proofed, shoot.settings, shoot.mark, blank_is_yes)
    built = BuildResult(people=len(jobs), without_frames=len(chosen) - len(jobs))
    built.texts = [text for job in jobs for text in (job.sitter.person.name, job.sitter.person.group)]
    built.texts.append(shoot.settings.name)
    with _writing_to(folder):
        ledger = ProofLedger.opened(folder, folder / PRIVATE)
        _remove_stale(ledger, chosen, jobs, proofed, built)
        here = {sitter.person.id for sitter in chosen}
        others = [sitter for sitter in everybody if sitter.person.id not in here]
        _remove_wrong_pages(shoot, ledger, others, proofed, built)
        for code in ledger.made.keys() - {sitter.person.code for sitter in everybody}:
            built.removed += ledger.clear(code)  # the person is no longer in the shoot
        try:
            _make(shoot, ledger, jobs, station, built, progress)
        finally:
            with contextlib.suppress(Problem):  # of two errors, the first is reported
                ledger.save()
        ledger.save()
        _list_pages(ledger, everybody, jobs)
    _count_pages(built, jobs, ledger)
    return built


def _count_pages(built: BuildResult, jobs: Sequence[ProofJob], ledger: ProofLedger) -> None:
    for job in jobs:
        made = ledger.made.get(job.sitter.person.code)
        has_page = made is not None and not job.why_no_page
        built.pages += has_page
        built.unasked += has_page and job.sitter.person.publication.consent is Consent.UNKNOWN
        if has_page and job.on_request:
            built.on_request.append(PersonKey(job.sitter.person.key, job.sitter.person.name))
        built.pictures += made.pictures if made else 0
        if job.why_no_page:
            person = job.sitter.person
            built.no_page.append(WithoutPage(person.key, person.name, job.why_no_page))


def find_contact_sheets(folder: Path) -> dict[str, Path]:
    """Maps a person's code to their contact sheet as PDF, for all proofs in a folder. Raises Problem where it
    holds no proofs."""
    if not (folder / PRIVATE / LEDGER).is_file():
        raise Problem(f"No proofs were made in {folder}.", "Make them first: onsite proofs build DIR")
    made = ProofLedger.opened(folder, folder / PRIVATE).made
    return {
        code: folder / name for code, proof in made.items() for name in proof.files if name.endswith(".pdf")
    }


def proofs_without(
    parent: Path, code: str, key: str, pages: Collection[str]
) -> tuple[list[Path], dict[Path, str]]:
    """A person's sheets and pages in every folder of proofs below `parent`; and the ledgers and lists with
    others too, each with its text without the person."""
    files: list[Path] = []
    texts: dict[Path, str] = {}
    for path in sorted(parent.rglob(f"{PRIVATE}/{LEDGER}")):
        ledger = ProofLedger.opened(path.parent.parent, path.parent)
        names = {f"{PUBLIC}/{page}" for page in pages}
        if made := ledger.made.pop(code, None):
            names.update(made.files)
            texts[path] = ledger.text
        inside = ledger.folder.resolve()
        found = ((ledger.folder / name).resolve() for name in sorted(names))
        files += [file for file in found if file.is_relative_to(inside) and file.is_file()]
        listed = path.with_name(LIST)
        if listed.is_file() and (text := rows_without(listed, {table_cell(key)})) is not None:
            texts[listed] = text
    return files, texts


@contextlib.contextmanager
def _writing_to(folder: Path) -> Iterator[None]:
    try:
        for place in (PUBLIC, SHEETS):
            (folder / place).mkdir(parents=True, exist_ok=True)
            sweep_drafts(folder / place)
        with atomic_file(folder / PUBLIC / "index.html") as stream:
            stream.write(_NOTHING_HERE)
        yield
    except OSError as error:
        raise Problem(
            f"{folder} cannot be written to: {error.strerror or error}",
            "Free the disk, or name another folder.",
        ) from error


def _remove_stale(
    ledger: ProofLedger,
    chosen: Sequence[PersonWithFrames],
    jobs: Sequence[ProofJob],
    proofed: dict[int, ProofRecord],
    built: BuildResult,
) -> None:
    """Deletes proofs with frames that are no longer the person's, and pages that must no longer exist.

    A page that is about to be replaced stays until then: people already have its address.
    """
    by_code = {job.sitter.person.code: job for job in jobs}
    for sitter in chosen:
        job, made = by_code.get(sitter.person.code), ledger.made.get(sitter.person.code)
        has_page = job is not None and not job.why_no_page
        page = proofed[sitter.person.id].page if sitter.person.id in proofed else ""
        place = f"{PUBLIC}/{page}"
        if made and (job is None or job.of != made.of):
            gone = ledger.clear(sitter.person.code, keep=[place] if has_page else ())
            built.removed += [name for name in gone if job is None or name == place]
        if page and not has_page and (ledger.folder / place).is_file():  # the ledger may have been lost
            (ledger.folder / place).unlink()
            built.removed.append(place)


def _remove_wrong_pages(
    shoot: Shoot,
    ledger: ProofLedger,
    others: Sequence[PersonWithFrames],
    proofed: dict[int, ProofRecord],
    built: BuildResult,
) -> None:
    """Deletes the proofs of people outside the group whose page must no longer exist, or shows a frame that
    is no longer theirs: their own group may not be built again. A page made on request stays."""
    jobs = proof_jobs(others, proofed, shoot.settings, shoot.mark, blank_is_yes=True)
    allowed = {job.sitter.person.id for job in jobs if not job.why_no_page}
    for sitter in others:
        record, theirs = proofed.get(sitter.person.id), {frame.id for frame in sitter.frames}
        if record is None or not record.page or record.last is None:
            continue
        place = ledger.folder / PUBLIC / record.page
        if place.is_file() and not (sitter.person.id in allowed and theirs.issuperset(record.last[0])):
            built.removed += ledger.clear(sitter.person.code)
            if place.is_file():  # the ledger may have been lost
                place.unlink()
                built.removed.append(f"{PUBLIC}/{record.page}")


def _make(
    shoot: Shoot,
    ledger: ProofLedger,
    jobs: Sequence[ProofJob],
    station: str,
    built: BuildResult,
    progress: Progress,
) -> None:
    wanted = [job for job in jobs if not job.is_done(ledger.made.get(job.sitter.person.code), ledger.folder)]
    total, pictures = sum(len(job.sitter.frames) for job in wanted), 0
    with ThreadPoolExecutor(os.cpu_count() or 1, thread_name_prefix="proofs") as pool:
        try:
            waiting = [pool.submit(_make_job, shoot, ledger.folder, job, station) for job in wanted]
            for count, future in enumerate(as_completed(waiting), start=1):
                done = future.result()
                if done.made is not None:
                    ledger.made[done.job.sitter.person.code] = done.made
                    built.made += 1
                built.small += done.small
                built.troubled += done.troubled
                pictures += len(done.job.sitter.frames)
                progress(pictures, total)
                if count % _KEPT_EVERY == 0:
                    ledger.save()
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise


def _make_job(shoot: Shoot, folder: Path, job: ProofJob, station: str) -> _FinishedJob:
    """Builds the proofs of one person. Their numbering is recorded before the page is written."""
    words = catalogue(job.language)
    pictures, troubled = _pictures(shoot, job, words.text("proof-mark"))
    if not pictures:
        return _FinishedJob(job, None, 0, troubled)
    person, settings = job.sitter.person, shoot.settings
    about = (person.group, settings.name, words.day(settings.date))
    heading = SheetHeading(
        person.name,
        " · ".join(filter(None, about)),
        words.text("proof-mark"),
        " · ".join(answer_lines(settings.agreed, words)),
        words.text("sheet-title"),
    )
    files = {f"{SHEETS}/{job.stem}.pdf": pdf_sheets(heading, pictures)}
    sheets = jpeg_sheets(heading, pictures)
    for number, content in enumerate(sheets, start=1):
        files[f"{SHEETS}/{job.stem}{f'-{number}' if len(sheets) > 1 else ''}.jpg"] = content
    _write(folder, files.items())
    shown = [picture.frame.id for picture in pictures]
    noted = record_proofs(shoot, person.id, shown, not job.why_no_page, station)
    if not job.why_no_page:
        page = _page(shoot, job, noted, pictures)
        files[f"{PUBLIC}/{noted.page}"] = page
        _write(folder, [(f"{PUBLIC}/{noted.page}", page)])
    small = sum(picture.from_preview for picture in pictures)
    sizes = {name: len(content) for name, content in files.items()}
    return _FinishedJob(
        job, MadeProof(job.of, sizes, len(pictures), bool(small or troubled)), small, troubled
    )


def _pictures(shoot: Shoot, job: ProofJob, mark: str) -> tuple[list[ProofPicture], tuple[FrameTrouble, ...]]:
    side = side_for(len(job.sitter.frames))
    pictures, troubled = [], []
    for frame in job.sitter.frames:
        try:
            pictures.append(proof_picture(frame, shoot.folder, side, mark))
        except NoProofPicture as error:
            troubled.append(FrameTrouble(job.sitter.person.name, frame.label, str(error)))
    return pictures, tuple(troubled)


def _page(shoot: Shoot, job: ProofJob, noted: ProofRecord, pictures: Sequence[ProofPicture]) -> bytes:
    return page_html(
        page=noted.page,
        settings=shoot.settings,
        words=catalogue(job.language),
        mark=shoot.mark,
        holder=job.sitter.holder,
        name=job.sitter.person.name,
        pictures=[(noted.numbered.index(picture.frame.id), picture) for picture in pictures],
    )


def _write(folder: Path, files: Iterable[tuple[str, bytes]]) -> None:
    for name, content in files:
        with atomic_file(folder / name) as stream:
            stream.write(content)


def _list_pages(ledger: ProofLedger, everybody: Sequence[PersonWithFrames], jobs: Sequence[ProofJob]) -> None:
    """Writes the private list of everybody who has proofs in this folder."""
    why = {job.sitter.person.code: job.why_no_page for job in jobs}
    rows = []
    for sitter in everybody:
        person, made = sitter.person, ledger.made.get(sitter.person.code)
        if made is not None:
            page = next((name for name in made.files if name.startswith(f"{PUBLIC}/")), "")
            sheet = next(name for name in made.files if name.endswith(".pdf"))
            row = (person.key, person.name, person.group, sitter.email, str(made.pictures))
            rows.append([*row, page, sheet, why.get(person.code, "")])
    write_csv(ledger.private / LIST, COLUMNS, rows)
