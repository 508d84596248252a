"""Whether a heading is about consent, and what a yes under it means.

Only a heading that is known word for word is read automatically. Every other heading that plausibly concerns
consent leads to a question for a person (`roster.consent_column_questions`); this module only determines
which answer is likelier, so that it is proposed first. The words are common practice, no source, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from enum import StrEnum
from functools import cache, lru_cache
from itertools import pairwise

from onsite.roster.column_headings import (
    heading_words,
    is_ordinary,
    is_qualifier,
    recognise,
    without_brackets,
)


class Leaning(StrEnum):
    """What a yes under a heading means, as far as its words show."""

    AGREES = "agrees"
    """Known word for word: a yes means that the person may be published."""
    FORBIDS = "forbids"
    """Known word for word: a yes means that the person must not be published."""
    LIKELY_AGREES = "likely agrees"
    LIKELY_FORBIDS = "likely forbids"
    EITHER = "either"
    """About consent, with two negations or a condition: "no objection", "photos only in print"."""
    VAGUE = "vague"
    """May be about anything, including consent: "Status", "Signed", no heading at all."""


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_FORBIDS = """
    do not publish; don't publish; dont publish; not publish; not to be published; must not be published;
    may not be published; cannot be published; not for publication; not publishable; no publication;
    no publishing; no photos; no photo; no pictures; no images; no photo consent; no consent; no permission;
    no photo permission; no release; opt out; opted out; opt out photos; photo opt out; publication ban;
    nicht veröffentlichen; nicht zu veröffentlichen; darf nicht veröffentlicht werden; keine veröffentlichung;
    veröffentlichung untersagt; veröffentlichung verboten; veröffentlichungsverbot; veröffentlichungssperre;
    keine fotos; kein foto; keine bilder; keine einwilligung; keine zustimmung; keine fotoerlaubnis;
    fotoverbot; fotosperre; bildsperre; sperrvermerk; widerspruch; widersprochen; ne pas publier;
    pas de publication; publication interdite; pas de photo; pas de photos; refus de publication;
    opposition à la publication; no publicar; sin publicación; sin autorización; sin consentimiento;
    no autorizado; non pubblicare; senza consenso; non pubblicabile; não publicar; sem autorização;
    niet publiceren; geen publicatie; geen toestemming; geen foto; geen foto's; ej publicering; publicera ej;
    publicera inte; får ej publiceras; nie publikować; bez zgody; brak zgody; nezveřejňovat; bez souhlasu;
    не публиковать; без согласия; να μη δημοσιευτεί; yayınlanmasın; ei julkaista; ei saa julkaista"""

_DENYING = _words(
    """
    no not don dont doesn doesnt didn didnt cannot never neither nor without none nope against nicht nein
    kein keine keinen keiner keinem keines nie niemals ohne gegen fehlt fehlend ne pas sans non jamais
    aucun aucune contre manque manquant sin nunca contra falta senza mai contro manca nao sem nunca niet
    nee geen nooit zonder tegen inte ej nej inget ingen inga aldrig utan mot saknas nie nigdy bez brak
    przeciw zadnych zaden ne nikdy proti zadne chybi ikke нет не без против μη μην δεν οχι ei degil hayir
    missing lacking pending outstanding expired lapsed stop ban banned lock locked hide hidden avoid omit
    shy anonymous anonym ausstehend"""
)
"""Negating words, folded."""

_REFUSING = _words(
    """
    refus oposi nefot afgewez unerwunsch declin withh denied denial reject object oppos forbid forbad
    prohib block exclu revok withdr restrict sperr verbot untersag verweig widerspr widerruf abgelehn
    ablehn ausgeschl ausschl interdi retir rechaz deneg proib impedid opone vietat vieta rifiut negat
    negad recus weiger bezwaar verbod verbied avvag nekad forbj forbud motsatt invand odmow odmaw sprzeciw
    zakaz zabron odmit nesouhl zamit namit nezverej unpublish nichtver dissent nonconsent optout optedout
    отказ запре αρνησ reddi yasak"""
)
"""Stems of words that refuse, folded; German also has them inside a word."""

_CLEAR_BY_ITSELF = _words("ban banned lock locked hide hidden nein stop")
"""Negating words that may be a whole heading; "No" is a number, and "Missing" may mean anything."""

_WITHIN_A_WORD = 5
"""The fewest letters of a stem that is also looked for inside words."""

_PERMISSION = _words(
    """
    consent consens permission permit einwillig einverst zustimm erlaub freigabe bildrecht autoris autoriz
    authoris authoriz permiso permess liberatoria toestemm samtyck tillstand zgod souhlas wizerun συγκαταθ
    συναιν соглас разреш suostum samtykk suglasn saglasn privol dovoljenj dozvol suhlas hozzajarul engedely
    medgiv kuvauslup julkaisulup optin privacy gdpr datenschutz dsgvo rgpd rodo kvkk release agree
    autorizz beeldrecht portretrecht 同意 許可 许可 동의"""
)
"""Stems of words about permission, though not necessarily to publish."""

_PICTURE = _words(
    """
    photo foto fotky fotek picture image imagen imagem immagin publi pubbl veroffentl zverejn julkai yayin
    δημοσι φωτο публик снима съем сьем фото kuvi kuvaus kuvata valokuv 撮影 掲載 写真 照片 拍摄 公開 公开 肖像
    사진 촬영 website internet homepage yearbook jahrbuch zdjec snimk snimek fotograf video beeld
    bilder newsletter brochure broschure prensa presse webseite"""
)
"""Stems of words about pictures and where they are shown."""

_PICTURE_WORDS = _words(
    "web bild film press media medien social online izin onay lupa pic pics camera kamera droitalimage www"
)

_CONDITIONS = _words(
    """
    only if unless except but until nur wenn ausser aber bis seulement uniquement sauf mais jusqu solo
    solamente salvo excepto pero soltanto eccetto tranne apenas somente exceto alleen behalve maar bara
    endast utom men tylko oprocz ale jen pouze krome jenom"""
)
_TURNED_ROUND = _words(
    """
    needed needs necessary required requires issue issues problem problems concern concerns worries
    reservation reservations notig erforderlich benotigt bedenken probleme necessaire requis requise probleme
    necesario necesaria problema problemas necessario necessaria necessita nodig vereist probleem behovs kravs
    potrzebna wymagana potreba nutny"""
)
"""Words that turn a denial round, or do not: nobody knows what a yes under "No consent needed" means."""

_RESERVED = _words(
    """
    private privat prive privee privado privada privato privata prywatne prywatny soukrome intern interne
    interner internal internally interno interna inom interni interny wewnetrzne wewnetrzny anonymous
    anonymously anonym anonyme anonymisiert anonimo anonima anoniem anonimowo anonymni confidential
    vertraulich confidentiel confidencial riservato vertrouwelijk safeguarding safeguarded safeguard
    protected kinderschutz"""
)
"""Words that, with nothing else in the heading, keep somebody from being shown."""

_KEPT_BACK = """
    do not use; don't use; dont use; not for use; not to be used; do not show; don't show; not shown;
    not to be shown; do not print; don't print; not for print; looked after; looked after child; in
    care; child in care; nicht verwenden; nicht benutzen; nicht zeigen; nicht drucken; ne pas utiliser;
    ne pas montrer; ne pas imprimer; no usar; no utilizar; no mostrar; non usare; non mostrare; não
    usar; não utilizar; não mostrar; niet gebruiken; niet tonen; använd inte; ej använda; visa inte; nie
    używać; nie pokazywać; nepoužívat; neukazovat"""
"""Whole headings that likely keep somebody from being shown."""

_REFUSING_SIGNS = "不非未禁拒"
"""Signs of Chinese and Japanese that deny or refuse, within a word."""

_BRACKETED = re.compile(r"\(([^)]*)\)|\[([^\]]*)\]")
_YES_WORDS = _words("yes y ja j oui o si s sim tak t ano a ναι да evet kylla true")
_NO_WORDS = _words("no n nein non nao nie ne nee nej ei nei οχι нет hayir false")
_BETWEEN_ANSWERS = _words("or oder ou of eller lub nebo")
_VAGUE = _words(
    """
    status ok okay agreed signed form slip returned answer response reply checked allowed approved
    permitted accepted consented decision einverstanden unterschrieben erlaubt genehmigt rucklauf antwort
    formular zettel accord signe autorise formulaire reponse firmado acuerdo respuesta formulario firmato
    accordo risposta modulo assinado acordo resposta akkoord getekend antwoord formulier godkand svar
    blankett podpisane odpowiedz formularz podepsano odpoved formular"""
)
_FILLING = _words(
    """
    the a an of for to in on and or by from with my our this that is are be been has have given i we do
    does use using parent parents guardian guardians family child children kid kids adult all any der die
    das den des dem ein eine zu zum zur im in am an auf von fur mit und oder ist sind wird eltern kind le
    les un une du d l au aux et ou pour par avec est parents enfant el los las lo un una del al y o por
    para con es padres hijo hijos il gli i e di da per con genitori figlio dos das em no na os as pais
    filho het een van voor met en ouders kind en ett av till for med och foraldrar barn na do z w i dla od
    rodzice dziecko s v k pro od rodice dite required optional pflicht pflichtfeld"""
)


@lru_cache(maxsize=4096)
def heading_leaning(heading: str) -> Leaning | None:
    """The leaning of a heading; None if it is not about consent."""
    heading = heading[:600]
    whole = _without_answers(heading_words(re.sub(r"[()\[\]]", " ", heading)))
    known = _known_leaning(whole)
    if known is None and _brackets_add_nothing(heading) and _TURNED_ROUND.isdisjoint(whole):
        known = _known_leaning(_without_answers(heading_words(without_brackets(heading))))
    if known is not None:
        return known
    if is_ordinary(heading) and not any(map(_denies, whole)):
        return None
    words = _without_number(whole, heading)
    denials = _denials(words)
    if is_permission(words) or is_picture(words):
        is_turned = denials and not _TURNED_ROUND.isdisjoint(words)
        if denials > 1 or is_turned or not _CONDITIONS.isdisjoint(words):
            return Leaning.EITHER
        return Leaning.LIKELY_FORBIDS if denials else Leaning.LIKELY_AGREES
    rest = [word for word in words if not _is_filling(word)]
    if "".join(words) in _kept_back() or _is_reserved(rest):
        is_denied = any(_denies(word) and word not in _RESERVED for word in rest)
        return Leaning.EITHER if is_denied and _is_reserved(rest) else Leaning.LIKELY_FORBIDS
    if any(_refuses(word) or word in _CLEAR_BY_ITSELF for word in rest) and all(map(_denies, rest)):
        return Leaning.LIKELY_FORBIDS if denials == 1 else Leaning.EITHER
    is_vague = all(word in _VAGUE for word in rest) if rest else not words
    return Leaning.VAGUE if is_vague and recognise(heading) is None else None


def forbids(text: str) -> bool:
    """Whether a text says, surely or probably, that a person must not be published: "no photos please"."""
    return len(text) <= 200 and heading_leaning(text) in (Leaning.FORBIDS, Leaning.LIKELY_FORBIDS)


def is_permission(words: Sequence[str]) -> bool:
    """Whether folded words are about a permission."""
    return any(stem in word for word in ("".join(words), *words) for stem in _PERMISSION)


def is_picture(words: Sequence[str]) -> bool:
    """Whether folded words are about pictures or where they are shown."""
    return any(word in _PICTURE_WORDS or any(stem in word for stem in _PICTURE) for word in words)


def is_only_about_permission(heading: str) -> bool:
    """Whether a heading is about permission for something other than pictures: "Swimming permission"."""
    words = heading_words(heading)
    named = any(not (_is_filling(word) or _is_permission_word(word) or word in _VAGUE) for word in words)
    return named and not is_picture(words)


def _is_permission_word(word: str) -> bool:
    return any(word.startswith(stem) for stem in _PERMISSION)


def _known_leaning(words: tuple[str, ...]) -> Leaning | None:
    if "".join(words) in _forbidding():
        return Leaning.FORBIDS
    return Leaning.AGREES if recognise(" ".join(words)) == "consent" else None


@cache
def _forbidding() -> frozenset[str]:
    return frozenset("".join(heading_words(text)) for text in _FORBIDS.split(";"))


@cache
def _kept_back() -> frozenset[str]:
    return frozenset("".join(heading_words(text)) for text in _KEPT_BACK.split(";"))


def _is_reserved(words: Sequence[str]) -> bool:
    """Whether words say that somebody is kept from being shown, and nothing else: "internal only"."""
    return not _RESERVED.isdisjoint(words) and all(
        word in _RESERVED or word in _CONDITIONS or _denies(word) for word in words
    )


def _without_answers(words: tuple[str, ...]) -> tuple[str, ...]:
    """The words without a list of possible answers at the beginning or the end: "Consent yes/no"."""
    for turn in (1, -1):
        turned = words[::-turn]
        run = 0
        while run < len(turned) and turned[run] in _YES_WORDS | _NO_WORDS | _BETWEEN_ANSWERS:
            run += 1
        found = set(turned[:run])
        if found & _YES_WORDS and found & _NO_WORDS:
            words = turned[run:][::-turn]
    return words


def _brackets_add_nothing(heading: str) -> bool:
    """Whether the text in brackets only lists the answers or the subject: "(yes/no)", "(photos)"."""
    found = " ".join("".join(pair) for pair in _BRACKETED.findall(heading))
    inside = _without_answers(heading_words(found))
    return not any(map(_denies, inside)) and all(
        _is_filling(word) or is_picture((word,)) or recognise(word) == "consent" for word in inside
    )


def _without_number(words: tuple[str, ...], heading: str) -> tuple[str, ...]:
    """The words without a "No." that is short for "number"."""
    if words and words[-1] == "no" and heading.rstrip().endswith("."):
        return words[:-1]
    return words[1:] if words[:2] == ("no", "of") or re.match(r"\s*no\.", heading, re.IGNORECASE) else words


def _denials(words: Sequence[str]) -> int:
    """The number of negations; French "ne … pas" and "opt out" count once."""
    denials = sum(map(_denies, words))
    if "ne" in words and {"pas", "jamais", "aucun", "aucune"} & set(words):
        denials -= 1
    return denials + any(first in ("opt", "opted") and then == "out" for first, then in pairwise(words))


def _denies(word: str) -> bool:
    return word in _DENYING or _refuses(word)


def _refuses(word: str) -> bool:
    is_cjk = "\u3040" <= word[:1] <= "\u9fff"
    if is_cjk and (word.endswith("ng") or any(sign in word for sign in _REFUSING_SIGNS)):
        return True
    return any(stem in word if len(stem) >= _WITHIN_A_WORD else word.startswith(stem) for stem in _REFUSING)


def _is_filling(word: str) -> bool:
    return word in _FILLING or is_qualifier(word) or word.isdigit()
