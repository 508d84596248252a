"""Which proofs to build, and the ledger of those already built, so that only what changed is built again."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path

from onsite.core.codes import MOST_PICTURES
from onsite.files.atomic_write import atomic_file
from onsite.messages.languages import Languages
from onsite.messages.message_catalogue import version
from onsite.proofs.proof_page import page_version
from onsite.proofs.proof_record import NO_PROOFS, ProofRecord
from onsite.reconcile.frame_ownership import PersonWithFrames
from onsite.roster.publication_consent import WithholdingReason
from onsite.slates.slate_image import file_names
from onsite.slates.slate_layout import Ticket
from onsite.store.settings import Settings

LAYOUT = "3"
"""Increase it when sheets or pictures come out differently for the same frames."""


@dataclass(frozen=True, slots=True)
class ProofJob:
    """The proofs to build for one person."""

    sitter: PersonWithFrames
    why_no_page: str  # empty where there is a page
    on_request: bool  # a page without an answer about consent, because of `blank_is_yes`
    stem: str  # beginning of the sheets' file names
    of: str  # digest of everything that goes into the proofs
    proofed: ProofRecord  # what the record says so far
    language: str  # language tag

    def is_done(self, made: MadeProof | None, folder: Path) -> bool:
        """Whether the proofs in `folder` are complete, recorded, and the same that would be built now."""
        if made is None or made.of != self.of or made.poor or not made.is_whole(folder):
            return False
        frames = tuple(frame.id for frame in self.sitter.frames)
        return self.proofed.last == (frames, "" if self.why_no_page else self.proofed.page)


def proof_jobs(
    chosen: Sequence[PersonWithFrames],
    proofed: Mapping[int, ProofRecord],
    settings: Settings,
    mark: str,
    blank_is_yes: bool,
) -> list[ProofJob]:
    """A job for each person who has frames.

    A page counts as publication, because anybody with its address can see it. `blank_is_yes` gives a page
    to people about whose consent the list says nothing. Everybody gets a sheet: sheets stay in the private
    folder.
    """
    languages = Languages.of_shoot(settings)
    return [
        _job(sitter, proofed.get(sitter.person.id, NO_PROOFS), settings, mark, blank_is_yes, languages)
        for sitter in chosen
        if sitter.frames
    ]


def _job(
    sitter: PersonWithFrames,
    proofed: ProofRecord,
    settings: Settings,
    mark: str,
    blank_is_yes: bool,
    languages: Languages,
) -> ProofJob:
    reason = sitter.person.publication.reason
    on_request = blank_is_yes and reason is WithholdingReason.NO_ANSWER
    why = "" if reason is None or on_request else reason.value
    numbered = tuple(dict.fromkeys([*proofed.numbered, *(frame.id for frame in sitter.frames)]))
    if not why and len(numbered) > MOST_PICTURES:
        why = f"a page holds no more than {MOST_PICTURES} pictures"
    language = languages.language_for(sitter.language, sitter.person.group)
    agreed = settings.agreed
    stem = file_names([Ticket(sitter.person.code, sitter.person.name)])[0].removesuffix(".png")
    parts = [
        LAYOUT,
        page_version(),
        [language, version(language)],
        [settings.name, settings.date, mark, agreed.picks],
        [agreed.studio, agreed.reply_to, agreed.picks_due],
        [sitter.person.name, sitter.person.group, sitter.holder, stem, bool(why)],
        [
            [numbered.index(frame.id), frame.label, [source.sha256 for source in frame.sources]]
            for frame in sitter.frames
        ],
    ]
    of = hashlib.sha256(json.dumps(parts).encode()).hexdigest()
    return ProofJob(sitter, why, on_request and not why, stem, of, proofed, language)


# The ledger

FILE = "made.json"


@dataclass(frozen=True, slots=True)
class MadeProof:
    """The proofs built for one person."""

    of: str  # `ProofJob.of` of the job
    files: Mapping[str, int]  # path in the folder -> bytes
    pictures: int  # number of pictures on the proofs
    poor: bool = False  # a frame is missing, or was taken from its preview

    def is_whole(self, folder: Path) -> bool:
        """Whether all files are still there in full size."""
        return all(_size(folder / name) == size for name, size in self.files.items())


def _size(path: Path) -> int | None:
    try:
        return path.stat().st_size
    except OSError:
        return None


@dataclass(slots=True)
class ProofLedger:
    """Proofs built in `folder` by the person's code; saved in its private part."""

    folder: Path
    private: Path
    made: dict[str, MadeProof] = field(default_factory=dict)

    @classmethod
    def opened(cls, folder: Path, private: Path) -> ProofLedger:
        """Reads the ledger. One that is missing or damaged is empty: then all proofs are built again."""
        try:
            rows = json.loads((private / FILE).read_text(encoding="utf-8"))
            made = {
                str(code): MadeProof(
                    str(row["of"]),
                    {str(name): int(size) for name, size in row["files"].items()},
                    int(row["pictures"]),
                    bool(row["poor"]),
                )
                for code, row in rows.items()
            }
        except (OSError, ValueError, TypeError, KeyError, AttributeError):
            made = {}
        return cls(folder, private, made)

    def save(self) -> None:
        """Writes the ledger. Raises Problem."""
        with atomic_file(self.private / FILE) as stream:
            stream.write(self.text.encode())

    @property
    def text(self) -> str:
        """The ledger as it is saved."""
        rows = {code: asdict(proof) for code, proof in sorted(self.made.items())}
        return json.dumps(rows, ensure_ascii=False, indent=1)

    def clear(self, code: str, keep: Iterable[str] = ()) -> list[str]:
        """Deletes the proofs of a person except the files in `keep`; returns the paths deleted. Raises
        OSError."""
        removed = self.made.pop(code, None)
        inside = self.folder.resolve()
        gone = []
        for name in removed.files if removed else ():
            path = self.folder / name
            if name not in set(keep) and path.resolve().is_relative_to(inside) and path.is_file():
                path.unlink()
                gone.append(name)
        return gone
