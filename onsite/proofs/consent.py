"""Who gets a page: only people who consented to publication.

A page is seen by whoever has its address, so it counts as publication here, although no address leads to
another. A clear yes makes a page. A no, and anything unclear, makes none. Where nothing is written of
somebody, it depends on the list: if it says yes or no of anybody, the blank means that this person has not
consented (or walked in and was not asked); if it says nothing of anybody, consent was not asked for through
the list, and everybody gets a page. Sheets are made for everybody: they lie in the private folder.
"""

from __future__ import annotations

from collections.abc import Iterable

from onsite.roster.consent import Consent, consent_of

NO_PAGE = {
    Consent.NO: "did not consent to publication",
    Consent.UNCLEAR: "what is written of their consent is unclear",
    Consent.UNKNOWN: "nothing is written of their consent, and of others there is",
}
"""Why somebody gets no page."""


def is_asked(written: Iterable[str]) -> bool:
    """Whether the list says anything of consent, from what it says of each person."""
    return any(consent_of(text) is not Consent.UNKNOWN for text in written)


def why_no_page(written: str, asked: bool, blank_is_yes: bool = False) -> str:
    """Empty for a page, else the reason for none. `asked` is whether the list says anything of consent;
    `blank_is_yes` that somebody took it upon themselves to make pages where nothing is written."""
    consent = consent_of(written)
    if consent is Consent.YES or (consent is Consent.UNKNOWN and (blank_is_yes or not asked)):
        return ""
    return NO_PAGE[consent]
