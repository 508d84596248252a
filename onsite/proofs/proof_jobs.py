"""What is to be made for whom, and what made earlier must go."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path

from onsite.core.codes import MOST_PICTURES
from onsite.files.atomic_write import atomic_file
from onsite.messages.catalogue import version
from onsite.messages.languages import Languages
from onsite.proofs.proof_page import page_version
from onsite.proofs.proof_record import NO_PROOFS, ProofRecord
from onsite.reconcile.ownership import PersonWithFrames
from onsite.roster.publication import WithholdingReason
from onsite.slates.slate_image import file_names
from onsite.slates.slate_layout import Ticket
from onsite.store.settings import Settings

LAYOUT = "3"
"""Raised when sheets or pictures come out differently for the same frames."""


@dataclass(frozen=True, slots=True)
class ProofJob:
    """One person's proofs. `why_no_page` is empty for a page; `on_request` is a page without an answer about
    consent, made because that was asked for; `stem` begins the names of their sheets;
    `of` changes whenever their proofs would come out differently; `proofed` is what the record says so far;
    `language` is the tag of the language they are in."""

    sitter: PersonWithFrames
    why_no_page: str
    on_request: bool
    stem: str
    of: str
    proofed: ProofRecord
    language: str

    def is_done(self, made: MadeProof | None, folder: Path) -> bool:
        """Whether what was made is what would be made now, whole, and in the record."""
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
    """A job for each of the chosen who has frames. A page is seen by whoever has its address, so it counts as
    publication. `blank_is_yes`: somebody takes it upon themselves to make pages of people on the list about
    whose consent nothing is written. Sheets are made of everybody: they lie in the private folder."""
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


# TODO What lies in a folder of proofs, so that only what changed is made again.

FILE = "made.json"


@dataclass(frozen=True, slots=True)
class MadeProof:
    """What was made for one person: `of` tells everything that went into it; `files` are paths in the folder
    with their sizes in bytes; `pictures` are on it, and it is `poor` where a frame could not be looked at or
    only its preview was left."""

    of: str
    files: Mapping[str, int]
    pictures: int
    poor: bool = False

    def is_whole(self, folder: Path) -> bool:
        """Whether all of it is still there."""
        return all(_size(folder / name) == size for name, size in self.files.items())


def _size(path: Path) -> int | None:
    try:
        return path.stat().st_size
    except OSError:
        return None


@dataclass(slots=True)
class ProofLedger:
    """By person's code, what was made for them in `folder`; kept in its private part."""

    folder: Path
    private: Path
    made: dict[str, MadeProof] = field(default_factory=dict)

    @classmethod
    def opened(cls, folder: Path, private: Path) -> ProofLedger:
        """A ledger that is missing or damaged is an empty one: then everything is made again."""
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
        """Raises Problem."""
        rows = {code: asdict(proof) for code, proof in sorted(self.made.items())}
        with atomic_file(self.private / FILE) as stream:
            stream.write(json.dumps(rows, ensure_ascii=False, indent=1).encode())

    def clear(self, code: str, keep: Iterable[str] = ()) -> list[str]:
        """Removes what was made for a person, but for the files to keep; returns what was removed. Raises
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
