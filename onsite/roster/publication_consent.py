"""Who may be published: the one rule for pages, deliveries, the yearbook, the report and every screen.

- If the client's list has answers about consent at all, only a plain yes is a yes. A list has answers as
  soon as one of its rows has one, or a person on it says yes at the door; from then on it always has. If it
  has none, consent was not asked for through the list, and nobody is withheld for want of an answer.
- A walk-in is on no list and needs a yes of their own, which says nothing about the people on the list.
- A person who is no longer on the client's list is not published: why they left the list is unknown.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from onsite.core.text import plural
from onsite.roster.parse_consent import Consent, parse_consent


class WithholdingReason(StrEnum):
    """Why a person is not published."""

    REFUSED = "must not be published"
    UNCLEAR = "it is not clear whether they may be published"
    NO_ANSWER = "no answer about consent, while others on the list have one"
    WALK_IN = "a walk-in without an answer about consent"
    WITHDRAWN = "no longer on the client's list"

    @property
    def message(self) -> str:
        """The id of its text in the message catalogues."""
        return f"reason-{self.name.lower().replace('_', '-')}"


@dataclass(frozen=True, slots=True)
class Publication:
    """Whether pictures of a person may be published: `reason` is why not, None if they may."""

    consent: Consent
    reason: WithholdingReason | None

    @property
    def allowed(self) -> bool:
        return self.reason is None

    def data(self) -> dict[str, object]:
        """The publication as a JSON object."""
        return {"may_be_published": self.allowed, "not_published_because": self.reason or ""}


UNKNOWN = Publication(Consent.UNKNOWN, WithholdingReason.NO_ANSWER)
"""The publication of a person about whom nothing was read."""


@lru_cache(maxsize=4096)
def decide_publication(
    written: str, *, asked: bool, walk_in: bool = False, withdrawn: bool = False
) -> Publication:
    """Decides whether a person may be published.

    `written` is their consent as written; `asked` whether the client's list has answers about consent at all.
    """
    consent = parse_consent(written)
    reason = _REASONS.get(consent)
    if reason is None and withdrawn:
        reason = WithholdingReason.WITHDRAWN
    if reason is None and consent is Consent.UNKNOWN and (walk_in or asked):
        reason = WithholdingReason.WALK_IN if walk_in else WithholdingReason.NO_ANSWER
    return Publication(consent, reason)


_REASONS = {Consent.NO: WithholdingReason.REFUSED, Consent.UNCLEAR: WithholdingReason.UNCLEAR}


def is_first_yes(written: str, walk_in: bool) -> bool:
    """Whether an answer given at the door is the yes of a person on the list, so that the list has answers.

    A refusal says nothing about the others.
    """
    return not walk_in and parse_consent(written) is Consent.YES


def stays_refused(before: str, now: str) -> bool:
    """Whether an empty text would replace a refusal or an unclear answer, which has to stay."""
    withheld = parse_consent(before) in (Consent.NO, Consent.UNCLEAR)
    return withheld and parse_consent(now) is Consent.UNKNOWN


def count_reasons(publications: Iterable[Publication]) -> dict[WithholdingReason, int]:
    """The number of people who are not published, by reason, without reasons that nobody has."""
    counted = Counter(publication.reason for publication in publications if publication.reason is not None)
    return {reason: counted[reason] for reason in WithholdingReason if counted[reason]}


def publication_text(may: Publication) -> str:
    """The publication in words: "may be published", "not published: a walk-in …"."""
    if may.reason in (None, WithholdingReason.REFUSED):
        return may.reason or "may be published"
    return f"not published: {may.reason}"


FIRST_YES_NOTE = (
    "It is the first yes of somebody on the list: from now on nobody on it is published without one."
)
"""Added to the message about an answer at the door that `is_first_yes`."""


def withheld_text(people: int, withheld: Mapping[WithholdingReason, int]) -> str:
    """How many people may be published, and why the others may not, on one line."""
    may = people - sum(withheld.values())
    why = "".join(f"; {count}: {reason}" for reason, count in withheld.items())
    return f"To publish: {may} of {plural(people, 'person', 'people')}{why}."
