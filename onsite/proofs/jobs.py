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
from onsite.proofs.made import Made
from onsite.proofs.page import page_version
from onsite.proofs.record import NOT_YET, Proofed
from onsite.proofs.theirs import Sitter
from onsite.roster.publication import Reason
from onsite.slate.card import Card
from onsite.slate.png import file_names
from onsite.store.settings import Settings

LAYOUT = "3"
"""Raised when sheets or pictures come out differently for the same frames."""


@dataclass(frozen=True, slots=True)
class Job:
    """One person's proofs. `why_no_page` is empty for a page; `on_request` is a page without an answer about
    consent, made because that was asked for; `stem` begins the names of their sheets;
    `of` changes whenever their proofs would come out differently; `proofed` is what the record says so far;
    `language` is the tag of the language they are in."""

    sitter: Sitter
    why_no_page: str
    on_request: bool
    stem: str
    of: str
    proofed: Proofed
    language: str

    def is_done(self, made: Made | None, folder: Path) -> bool:
        """Whether what was made is what would be made now, whole, and in the record."""
        if made is None or made.of != self.of or made.poor or not made.is_whole(folder):
            return False
        frames = tuple(frame.id for frame in self.sitter.frames)
        return self.proofed.last == (frames, "" if self.why_no_page else self.proofed.page)


def jobs_for(
    chosen: Sequence[Sitter],
    proofed: Mapping[int, Proofed],
    settings: Settings,
    mark: str,
    blank_is_yes: bool,
) -> list[Job]:
    """A job for each of the chosen who has frames. A page is seen by whoever has its address, so it counts as
    publication. `blank_is_yes`: somebody takes it upon themselves to make pages of people on the list about
    whose consent nothing is written. Sheets are made of everybody: they lie in the private folder."""
    languages = Languages.of_shoot(settings)
    return [
        _job(sitter, proofed.get(sitter.person.id, NOT_YET), settings, mark, blank_is_yes, languages)
        for sitter in chosen
        if sitter.frames
    ]


def _job(
    sitter: Sitter,
    proofed: Proofed,
    settings: Settings,
    mark: str,
    blank_is_yes: bool,
    languages: Languages,
) -> Job:
    reason = sitter.person.publication.reason
    on_request = blank_is_yes and reason is Reason.NO_ANSWER
    why = "" if reason is None or on_request else reason.value
    numbered = tuple(dict.fromkeys([*proofed.numbered, *(frame.id for frame in sitter.frames)]))
    if not why and len(numbered) > MOST_PICTURES:
        why = f"a page holds no more than {MOST_PICTURES} pictures"
    language = languages.of(sitter.language, sitter.person.group)
    agreed = settings.agreed
    stem = file_names([Card(sitter.person.code, sitter.person.name)])[0].removesuffix(".png")
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
    return Job(sitter, why, on_request and not why, stem, of, proofed, language)
