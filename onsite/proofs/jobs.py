"""What is to be made for whom, and what made earlier must go."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from onsite.messages.catalogue import version
from onsite.messages.languages import Languages
from onsite.proofs.code import MOST_PICTURES
from onsite.proofs.made import MadeProof
from onsite.proofs.page import page_version
from onsite.proofs.record import NO_PROOFS, ProofRecord
from onsite.proofs.theirs import PersonWithFrames
from onsite.roster.publication import WithholdingReason
from onsite.slate.card import Ticket
from onsite.slate.png import file_names
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
