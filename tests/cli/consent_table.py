"""Headings and answers about consent in ten languages and more: what each must mean, and what must be asked.

The words are everyday ones of general bilingual dictionaries, written down from memory; no list of another
project was copied. What is not known word for word must be asked about, and is never a yes by itself.
"""

from __future__ import annotations

AGREES, FORBIDS = "agrees", "forbids"
"""Read by itself: a yes means may be published, or must not be."""
ASK_NO = "ask, no-consent proposed"
"""Not known, and denies something: the only sense that is proposed and accepted is `no-consent`."""
ASK_BOTH = "ask, no-consent first"
"""Two denials, or a condition: both senses are proposed."""
ASK_YES = "ask, consent first"
ORDINARY = "ordinary"
"""About something else: nobody is asked anything, and nothing is read from it."""

HEADINGS = (
    # English
    ("Consent", AGREES), ("Photo consent (yes/no)", AGREES), ("May publish", AGREES),
    ("Consent yes/no", AGREES), ("Photo permission", AGREES), ("Consent (photos)", AGREES),
    ("Do not publish", FORBIDS), ("No photos", FORBIDS), ("Opt-out", FORBIDS), ("No consent", FORBIDS),
    ("Consent refused", ASK_NO), ("Do not photograph", ASK_NO), ("Opt out of photos", ASK_NO),
    ("Photo consent declined", ASK_NO), ("Consent withheld", ASK_NO), ("Blocked", ASK_NO),
    ("Consent (refused)", ASK_NO), ("Consent (not for the web)", ASK_NO), ("Refused by parents", ASK_NO),
    ("Consent pending", ASK_NO), ("Consent missing", ASK_NO), ("Excluded from media", ASK_NO),
    ("I do not want pictures of my child on the website of the festival or in any printed programme", ASK_NO),
    ("No objection", ASK_BOTH), ("No objection to photos", ASK_BOTH),
    ("Has not opted out of photos", ASK_BOTH),
    ("Photos only in print", ASK_BOTH), ("Consent unless noted", ASK_BOTH), ("Not blocked", ASK_BOTH),
    ("Photos", ASK_YES), ("GDPR", ASK_YES), ("Picture on website?", ASK_YES), ("Status", ASK_YES),
    ("Signed", ASK_YES), ("Yes/No", ASK_YES), ("Medical consent", ASK_YES),
    ("Vegetarian", ORDINARY), ("Not vegetarian", ORDINARY), ("Paid", ORDINARY), ("Present", ORDINARY),
    ("Bus", ORDINARY), ("No show", ORDINARY), ("Declined lunch", ORDINARY), ("Soloist", ORDINARY),
    ("Own instrument", ORDINARY), ("First aid", ORDINARY),
    ("Role (photo consent)", ASK_YES), ("Remarks (Consent)", ASK_YES), ("E-mail (photo consent)", ASK_YES),
    ("Slot (no photo)", ASK_NO), ("Notes (must not be published)", ASK_NO),
    ("Group (no photos please)", ASK_NO), ("No pics", ASK_NO), ("Do not use", ASK_NO),
    ("Do not show", ASK_NO), ("Camera shy", ASK_NO), ("Private", ASK_NO), ("Internal only", ASK_NO),
    ("Anonymous", ASK_NO), ("Safeguarding", ASK_NO), ("Looked after child", ASK_NO),
    ("No newsletter", ASK_NO), ("No Consent needed", ASK_BOTH), ("No consent issues", ASK_BOTH),
    ("No consent (required)", ASK_BOTH), ("Not private", ASK_BOTH), ("Red dot", ASK_YES),
    ("Red lanyard", ASK_YES), ("Green sticker", ASK_YES), ("Form", ASK_YES), ("Form (yes/no)", ASK_YES),
    ("Member may appear", ASK_YES), ("May appear in newsletter", ASK_YES), ("Show", ASK_YES),
    ("Newsletter", ORDINARY), ("Needs parking", ORDINARY), ("Over 18", ORDINARY), ("Checked in", ORDINARY),
    # German
    ("Nur intern", ASK_NO), ("Keine Einwilligung nötig", ASK_BOTH), ("Roter Punkt", ASK_YES),
    ("Übernachtung", ORDINARY), ("Erste Hilfe", ORDINARY), ("Parkplatz", ORDINARY),
    ("Einwilligung", AGREES), ("Fotoerlaubnis", AGREES), ("Veröffentlichung ja/nein", AGREES),
    ("Nicht veröffentlichen", FORBIDS), ("Keine Fotos", FORBIDS), ("Widerspruch", FORBIDS),
    ("Sperre", ASK_NO), ("Gesperrt", ASK_NO), ("Fotos nein danke", ASK_NO), ("Nicht fotografieren", ASK_NO),
    ("Einwilligung verweigert", ASK_NO), ("Foto abgelehnt", ASK_NO), ("Bilder untersagt", ASK_NO),
    ("Kein Widerspruch", ASK_BOTH), ("Keine Einwände gegen Fotos", ASK_BOTH), ("Fotos nur im Heft", ASK_BOTH),
    ("Fotos", ASK_YES), ("Datenschutz", ASK_YES), ("Unterschrieben", ASK_YES),
    ("Mittagessen", ORDINARY), ("Anwesend", ORDINARY), ("Kein Fleisch", ORDINARY),
    # French
    ("Consentement", AGREES), ("Droit à l'image", AGREES), ("Ne pas publier", FORBIDS),
    ("Pas de photo", FORBIDS),
    ("Refus photo", ASK_NO), ("Refus", ASK_NO), ("Ne pas photographier", ASK_NO), ("Sans image", ASK_NO),
    ("Autorisation refusée", ASK_NO), ("Pas d'opposition", ASK_BOTH), ("Pas de refus photo", ASK_BOTH),
    ("Photo sauf internet", ASK_BOTH), ("Photos", ASK_YES), ("Végétarien", ORDINARY),
    # Spanish
    ("Consentimiento", AGREES), ("Derechos de imagen", AGREES), ("No publicar", FORBIDS),
    ("Sin fotos", ASK_NO), ("Fotos no", ASK_NO), ("Rechaza fotos", ASK_NO),
    ("Consentimiento denegado", ASK_NO),
    ("Sin oposición", ASK_BOTH), ("Fotos", ASK_YES), ("Vegetariano", ORDINARY),
    # Italian
    ("Consenso", AGREES), ("Liberatoria foto", AGREES), ("Senza consenso", FORBIDS),
    ("Non pubblicare", FORBIDS),
    ("Niente foto, rifiuta", ASK_NO), ("Consenso negato", ASK_NO), ("Foto vietate", ASK_NO),
    ("Nessun rifiuto foto", ASK_NO), ("Foto solo stampa", ASK_BOTH), ("Foto", ASK_YES), ("Pranzo", ORDINARY),
    # Portuguese
    ("Consentimento", AGREES), ("Direito de imagem", AGREES), ("Não publicar", FORBIDS),
    ("Sem fotos", ASK_NO), ("Recusa de imagem", ASK_NO), ("Fotografia proibida", ASK_NO),
    ("Sem recusa de imagem", ASK_BOTH), ("Imagem", ASK_YES), ("Almoço", ORDINARY),
    # Dutch
    ("Toestemming", AGREES), ("Portretrecht", AGREES), ("Niet publiceren", FORBIDS), ("Geen foto's", FORBIDS),
    ("Toestemming geweigerd", ASK_NO), ("Bezwaar", ASK_NO), ("Niet fotograferen", ASK_NO),
    ("Geen bezwaar", ASK_BOTH), ("Foto's", ASK_YES), ("Aanwezig", ORDINARY),
    # Swedish
    ("Samtycke", AGREES), ("Publicering", AGREES), ("Får ej publiceras", FORBIDS),
    ("Inga foton", ASK_NO), ("Samtycke nekad", ASK_NO), ("Ej fotografering", ASK_NO),
    ("Inga foton utan samtycke", ASK_BOTH), ("Foton", ASK_YES), ("Närvarande", ORDINARY),
    # Polish
    ("Zgoda", AGREES), ("Wizerunek", AGREES), ("Bez zgody", FORBIDS), ("Nie publikować", FORBIDS),
    ("Odmowa zgody", ASK_NO), ("Sprzeciw", ASK_NO), ("Bez zdjęć", ASK_NO), ("Bez sprzeciwu", ASK_BOTH),
    ("Zdjęcia", ASK_YES), ("Obecność", ORDINARY),
    # Czech
    ("Souhlas", AGREES), ("Souhlas s focením", AGREES), ("Nezveřejňovat", FORBIDS), ("Bez souhlasu", FORBIDS),
    ("Souhlas odmítnut", ASK_NO), ("Nesouhlas", ASK_NO), ("Nefotit", ASK_NO), ("Bez fotek", ASK_NO),
    ("Fotky", ASK_YES),
    ("Oběd", ORDINARY),
    # And others
    ("Согласие", AGREES), ("Не публиковать", FORBIDS), ("Συγκατάθεση", AGREES), ("同意", AGREES),
    ("Suglasnost", ASK_YES), ("Privolitev", ASK_YES), ("Hozzájárulás", ASK_YES), ("Medgivande", ASK_YES),
    ("Lupa", ASK_YES), ("Ei kuvia", ASK_NO), ("Не снимать", ASK_NO), ("撮影NG", ASK_NO), ("掲載不可", ASK_NO),
    ("不同意", ASK_NO),
)  # fmt: skip

YES, NO, UNCLEAR = "yes", "no", "unclear"

ANSWERS = (
    # text, under a heading that agrees, under one that forbids
    ("yes", YES, NO), ("Y", YES, NO), ("TRUE", YES, NO), ("ok", YES, NO), ("✓", YES, NO), ("1", YES, NO),
    ("ja", YES, NO), ("Ja.", YES, NO), ("oui", YES, NO), ("sí", YES, NO), ("sì", YES, NO), ("sim", YES, NO),
    ("JA", YES, NO), ("tak", YES, NO), ("ano", YES, NO), ("да", YES, NO), ("ναι", YES, NO),
    ("no", NO, YES), ("N", NO, YES), ("FALSE", NO, YES), ("0", NO, YES), ("nein", NO, YES),
    ("Nein.", NO, YES),
    ("non", NO, YES), ("não", NO, YES), ("nee", NO, YES), ("nej", NO, YES), ("nie", NO, YES), ("ne", NO, YES),
    ("нет", NO, YES), ("όχι", NO, YES),
    ("refused", NO, NO), ("declined", NO, NO), ("no photos", NO, NO), ("do not publish", NO, NO),
    ("verweigert", NO, NO), ("keine Einwilligung", NO, NO), ("refusé", NO, NO), ("denegado", NO, NO),
    ("rifiutato", NO, NO), ("recusado", NO, NO), ("geweigerd", NO, NO), ("nekad", NO, NO), ("odmowa", NO, NO),
    ("nesouhlasím", NO, NO), ("✗", NO, NO),
    ("x", UNCLEAR, NO), ("X", UNCLEAR, NO), ("*", UNCLEAR, NO),
    ("yes, but not online", UNCLEAR, UNCLEAR), ("yes?", UNCLEAR, UNCLEAR), ("yes*", UNCLEAR, UNCLEAR),
    ("(yes)", UNCLEAR, UNCLEAR), ("yes/no", UNCLEAR, UNCLEAR), ("ja/nein", UNCLEAR, UNCLEAR),
    ("no?", UNCLEAR, UNCLEAR), ("n/a", UNCLEAR, UNCLEAR), ("?", UNCLEAR, UNCLEAR), ("-", UNCLEAR, UNCLEAR),
    ("–", UNCLEAR, UNCLEAR), (".", UNCLEAR, UNCLEAR), ("tbd", UNCLEAR, UNCLEAR),
    ("pending", UNCLEAR, UNCLEAR),
    ("no objection", UNCLEAR, UNCLEAR), ("objects: no", UNCLEAR, UNCLEAR), ("no problem", UNCLEAR, UNCLEAR),
    ("not refused", UNCLEAR, UNCLEAR), ("not declined", UNCLEAR, UNCLEAR),
    ("not without asking", UNCLEAR, UNCLEAR),
    ("kein Widerspruch", UNCLEAR, UNCLEAR), ("nein, kein Problem", UNCLEAR, UNCLEAR),
    ("Fotos nein danke", UNCLEAR, UNCLEAR), ("nur Heft", UNCLEAR, UNCLEAR), ("jein", UNCLEAR, UNCLEAR),
    ("pas de problème", UNCLEAR, UNCLEAR), ("oui mais non", UNCLEAR, UNCLEAR),
    ("peut-être", UNCLEAR, UNCLEAR),
    ("sin problema", UNCLEAR, UNCLEAR), ("sí, salvo internet", UNCLEAR, UNCLEAR),
    ("nessun problema", UNCLEAR, UNCLEAR), ("sì ma non online", UNCLEAR, UNCLEAR),
    ("sem problema", UNCLEAR, UNCLEAR), ("geen bezwaar", UNCLEAR, UNCLEAR),
    ("inga problem", UNCLEAR, UNCLEAR),
    ("nie ma problemu", UNCLEAR, UNCLEAR), ("není problém", UNCLEAR, UNCLEAR), ("2", UNCLEAR, UNCLEAR),
    ("see mail", UNCLEAR, UNCLEAR), ("form sent", UNCLEAR, UNCLEAR), ("mother asks", UNCLEAR, UNCLEAR),
)  # fmt: skip
