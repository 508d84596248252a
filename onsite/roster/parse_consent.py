"""Parsing what a client's list says about publishing a person's picture.

What is not clearly a yes never counts as a yes: a condition ("yes, not online"), a footnote ("yes*") or an
unknown word is unclear, and a person has to read it. Single letters count only if no language uses them
otherwise. The words are common practice, no source.
"""

from __future__ import annotations

from enum import StrEnum
from functools import lru_cache

from onsite.roster.person_names import fold_name


class Consent(StrEnum):
    """A person's answer about publishing their pictures."""

    YES = "yes"
    NO = "no"
    UNCLEAR = "unclear"
    """Something is written that is neither yes nor no."""
    UNKNOWN = "unknown"
    """Nothing is written."""


_YES = """
    y; yes; yes please; true; 1; ok; okay; given; granted; consented; agreed; permitted; allowed; may be
    published; can be published; consent given; permission given; ✓; ✔; ☑; ✅; ja; j; jawohl; erteilt;
    liegt vor; einverstanden; zugestimmt; erlaubt; zustimmung erteilt; oui; d'accord; accordé; accordée;
    autorisé; autorisée; accepté; sí; si; sì; concedido; concedida; autorizado; autorizada; de acuerdo;
    acepto; concesso; concessa; autorizzato; autorizzata; d'accordo; acconsento; sim; concordo; aceito;
    akkoord; toegestaan; toestemming gegeven; medges; godkänd; godkänt; samtycker; beviljat; tak;
    wyrażona; wyrażam zgodę; zgadzam się; ano; souhlasím; udělen; udělen souhlas; ναι; ναί; συμφωνώ;
    δόθηκε; да; согласен; согласна; согласие дано; разрешено; дано; evet; onaylıyorum; verildi; izin
    verildi; kyllä; suostun; samtykker; はい; 是; 同意; 예; 네; نعم; כן"""

_NO = """
    n; no; no thanks; false; 0; not given; not granted; none; none given; denied; declined; refused;
    withheld; withdrawn; revoked; no consent; no permission; no photos; no publication; no publishing;
    not permitted; not allowed; do not publish; don't publish; must not be published; not to be
    published; never; opt out; opted out; ✗; ✘; ☒; ❌; 🚫; nein; nicht erteilt; liegt nicht vor;
    abgelehnt; verweigert; widerrufen; nicht einverstanden; keine; keine zustimmung; keine einwilligung;
    keine veröffentlichung; nicht veröffentlichen; nicht erlaubt; non; refus; refusé; refusée; pas
    d'accord; pas d'autorisation; non autorisé; non autorisée; ne pas publier; ninguno; denegado;
    denegada; rechazado; no autorizado; no autorizada; no publicar; não; recusado; recusada; não
    autorizado; não autorizada; não publicar; rifiutato; negato; non autorizzato; non autorizzata; non
    pubblicare; nee; geweigerd; geen toestemming; niet akkoord; niet publiceren; nej; nekad; ej
    samtycke; inget samtycke; nie; brak zgody; odmowa; nie wyrażam zgody; nie publikować; ne;
    nesouhlasím; odmítnuto; bez souhlasu; nezveřejňovat; όχι; δεν συμφωνώ; нет; не согласен; не
    согласна; отказ; запрещено; не публиковать; hayır; vermiyorum; izin yok; ei; nei; いいえ; 否;
    不同意; 아니오; لا; לא"""

_MARKS = ".,;!\"'"
"""Ignored around a text; a question mark, an asterisk or a bracket adds meaning and is not ignored."""


def _words(listed: str) -> frozenset[str]:
    return frozenset(_plain(text) for text in listed.split(";"))


def _plain(text: str) -> str:
    return " ".join(fold_name(text).strip(_MARKS + " ").split())


_KNOWN = {**dict.fromkeys(_words(_YES), Consent.YES), **dict.fromkeys(_words(_NO), Consent.NO)}


@lru_cache(maxsize=4096)
def parse_consent(text: str) -> Consent:
    """Whether a text says yes or no to publishing, in the languages whose headings are known."""
    if not text.strip():
        return Consent.UNKNOWN
    if len(text) > 80:
        return Consent.UNCLEAR
    return _KNOWN.get(_plain(text), Consent.UNCLEAR)
