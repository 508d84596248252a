"""Headings of yes/no columns that are plainly not about consent. Common practice, no source, from memory."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from onsite.roster.column_headings import heading_words

_STEMS = """
    vegetar végétar wegetar vegan végan vegán lunch mittag déjeuner almuerz almoç comida pranz obiad
    oběd lunsj meal mahlzeit repas pasto refeiç maaltijd måltid posiłe jídlo dinner abendessen dîner
    diner cena jantar middag kolacj večeř breakfast frühstück petit desayun colazion ontbijt frukost
    śniadan snídan snack dessert drink getränk boisson fleisch viande carne vlees kött mięso maso pork
    schwein fish fisch poisson pescad pesce peixe halal kosher koscher gluten lactos laktos lattos
    laktoz nuts nüsse allerg alerg alérg asthma asthme asma astma medicat medikament médicament medicam
    medicijn medicin léky diabet epilep wheelchair rollstuhl fauteuil rullstol wózek vozík disab
    behinder handicap discapac disabil deficiên funktionsned vaccin vacun geimpf impfung parking
    parkplatz parkschein aparcam parchegg estacion parker parkov train zug zugfahrt coach autobus buss
    busfahrt transport taxi shuttle pickup abhol travel anreise abreise arrival arrived angekommen
    ankunft arrivé llegad arrivat chegad chegou aangekomen anländ przyby przyjazd příjezd dorazil
    present anwesend abwesend absent présen presen asisten aanwez närvar frånvar obecn přítom attend
    teilnahme teilgenommen eingecheckt paid bezahl zahlung payé pagad pagat pagou pago betaal betald
    opłac zapłac zaplac deposit anzahlung invoice rechnung facture factura fattura fatura factuur
    faktura receipt quittung discount rabatt ticket eintritt karten fees gebühr beitrag cotis cuota
    quota member mitglied membre miembro membro medlem członek człon člen socio sócio volunt helfer
    bénévol ehrenamt vrijwill wolontar dobrovol soloist solist solo solista choir chor chœur rehears
    probe répét ensayo prova repeti próba zkouš concert konzert koncert concierto instrument strument
    piano klavier klavír music noten stand stühle chair stuhl first erste primeir primi premier první
    pierwsz aid hilfe secours auxilio auxílio soccorso soccors hulp hjälp pomoc ehbo shirt tshirt
    shirtgröße hoodie jacket jacke uniform kostüm costume locker schließfach overnight übernacht nuitée
    nuit pernoct pernott dormid overnacht övernatt nocleg přespán nocleh hotel hébergement hostel
    unterkunft accommod alojam alloggi logies boende zakwater ubytov room zimmer camping sleep
    newsletter rundbrief infolettre boletín nieuwsbrief nyhetsbrev biuletyn zpravodaj subscri abonn
    swimmer schwimm führerschein driver fahrer insurance versicher assur seguro assicuraz verzeker
    försäkr ubezpiecz pojišt emergency notfall bicycle fahrrad luggage gepäck bagage sibling geschwister
    registered registration anmeld angemeldet invited eingeladen booked gebucht workshop party feier
    fête fiesta festa feest fest ceremon monday tuesday wednesday thursday friday saturday sunday montag
    dienstag mittwoch donnerstag freitag samstag sonntag lundi mardi mercredi jeudi vendredi samedi
    dimanche morning afternoon evening vormittag nachmittag abend matin soir weekend wochenende teacher
    lehrer leader leiter conductor dirigent beginner anfänger advanced student staff adult erwachsen
    speaks english deutsch trained training keyholder checkin driving confirmed bestätigt meat shoes
    schuhe chaussures zapatos scarpe sapatos schoenen skor buty boty trousers dress ferry vaccinated
    passport folder mappe ordner helfen siblings age birthday geburtstag language chess sport sports
    football swim singing dance dancing theatre climbing hiking glasses brille intoler drive tenor
    soprano sopran altos bariton treble crew pullman autocar corriera betalt socorro primer ersthelf
    volljähr minderj zelt vorstand kuchen kitchen packed reception hire rental handed maggiorenn
    minorenn majeur myndig cake catering barbecue picnic ausflug accompan begleitung usher steward count
    anzahl amount total summe cantidad quantit antal liczba počet"""
"""Beginnings of words. Each word of a heading has to begin with one of them, or be one of `_WORDS`."""

_WORDS = """
    bus car bil auto key keys no not none own eigene eigenes eigener propre propio proprio próprio eget
    vlastní własny needs need needed wants want wish wishes has required requires brings takes home way
    back return day days space place extra help special diet dietary food free seat seats row floor
    table pause tea coffee kaffee late early new bed beds tent size number of per week gratis repas
    plats plaats plads miejsce místo de del da di la le les los las en y e et und and or für for the a i
    do w z na te kein keine keinen braucht ohne mit sin sans senza sem zonder utan bez without with
    declined abgelehnt in on at to is midi am pm noon night gezahlt time times black white stay stays
    sold collected child parent school access accessible requirements requirement returned returns
    contact fee can plays play bringing attending section over under stage hin zurück erhalten fährt
    spielt du med till lid alto bass första primo prima drives out pick up left right"""
"""Whole words: those that are ordinary by themselves, and those that fill in between."""

_ALONE = """
    bus car auto bil key keys food diet bed tent tea coffee kaffee seat row floor table day late new
    over under lid fee alto bass dietary"""
"""Of `_WORDS`, those that may be all that a heading says."""


def is_ordinary(heading: str) -> bool:
    """Whether every word of a heading is about something ordinary: "Needs parking", "First aid"."""
    stem, words, alone = _known()
    found = [word for word in heading_words(heading.translate(_BRACKETS)) if not word.isdigit()]
    if "".join(found) in ("noshow", "checkedin", "checkedout"):
        return True
    return any(word in alone or stem(word) for word in found) and all(
        word in words or stem(word) for word in found
    )


_BRACKETS = dict.fromkeys(map(ord, "()[]"), " ")


@cache
def _known() -> tuple[Callable[[str], bool], frozenset[str], frozenset[str]]:
    stems = tuple(heading_words(_STEMS))

    def begins(word: str) -> bool:
        return word.startswith(stems)

    return begins, frozenset(heading_words(_WORDS)) | {"t"}, frozenset(heading_words(_ALONE))
