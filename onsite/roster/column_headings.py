"""Recognising the headings of a client's list in several languages. Common practice, no source."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache, lru_cache

from onsite.roster.person_names import fold_name

WORDS = {
    "key": """key; id; id number; uid; reference; ref; roster key; person id; student id; student
        number; pupil id; pupil number; member id; member number; membership number; participant
        id; participant number; staff id; staff number; employee id; employee number; personnel
        number; registration number; registration id; kennung; schlüssel; personalnummer;
        mitgliedsnummer; schülernummer; teilnehmernummer; matrikelnummer; identifiant;
        matricule; numéro d'élève; numéro de membre; identificador; clave; matrícula; código;
        número de alumno; número de socio; identificativo; matricola; codice; número de aluno;
        número de sócio; sleutel; leerlingnummer; lidnummer; personeelsnummer; nyckel;
        elevnummer; medlemsnummer; anställningsnummer; identyfikator; klucz; numer ucznia; numer
        legitymacji; klíč; osobní číslo; členské číslo; κωδικός; αριθμός μητρώου; ключ; код;
        табельный номер; личный номер; anahtar; öğrenci no; sicil no; üye no""",
    "number": """number; no; nr; num; n°; nº; #; row; lfd nr; lfdnr; laufende nummer; nummer; numéro;
        número; numero; n; numer; lp; l p; číslo; poř č; αριθμός; α/α; αα; номер; №; п/п; № п/п;
        sıra; sıra no; numara""",
    "given": """given; given name; given names; first; first name; first names; firstname; forename;
        forenames; christian name; vorname; vornamen; rufname; prénom; prénoms; nombre de pila;
        nombres; primeiro nome; nome próprio; nome di battesimo; voornaam; voornamen; roepnaam;
        förnamn; tilltalsnamn; imię; imiona; křestní jméno; κύριο όνομα; имя и отчество; имя
        отчество; adı; isim; etunimi; fornavn""",
    "family": """family; family name; last; last name; lastname; surname; nachname; familienname; zuname;
        nom de famille; apellido; apellidos; primer apellido; cognome; sobrenome; apelido;
        último nome; achternaam; familienaam; efternamn; nazwisko; příjmení; επώνυμο; επίθετο;
        фамилия; soyad; soyadı; soyisim; sukunimi; etternavn; efternavn""",
    "bare": """name; names; nom; nombre; nome; naam; namn; navn; nimi; jméno; όνομα; имя; ad; isim
        soyisim""",
    "name": """full name; fullname; complete name; display name; displayed name; name in full; first
        and last name; first name last name; given and family name; vollständiger name; vor und
        nachname; vorname nachname; vor und zuname; vorname und nachname; nom complet; prénom
        nom; prénom et nom; nombre completo; nombre y apellidos; nombre y apellido; nombres y
        apellidos; nome completo; nome e cognome; nome e apelido; nome e sobrenome; volledige
        naam; voor en achternaam; voornaam en achternaam; fullständigt namn; för och efternamn;
        förnamn och efternamn; pełne imię i nazwisko; imię i nazwisko; imię nazwisko; celé
        jméno; jméno a příjmení; jméno příjmení; ονοματεπώνυμο; όνομα και επώνυμο; имя и
        фамилия; имя фамилия; ad soyad; adı soyadı; ad ve soyad; tam ad; 姓名; 名前; 氏名; 이름; 성명;
        الاسم; الاسم الكامل; שם; שם מלא""",
    "family first": """last name first name; last first; last name first; surname first name; surname given
        name; surname forename; family name given name; surname name; name vorname; nachname
        vorname; familienname vorname; nom prénom; nom et prénom; nom et prénoms; apellidos
        nombre; apellidos y nombre; apellidos y nombres; cognome nome; cognome e nome; apelido
        nome; sobrenome nome; naam voornaam; achternaam voornaam; efternamn förnamn; nazwisko
        imię; nazwisko i imię; příjmení jméno; příjmení a jméno; επώνυμο όνομα; фио; ф и о;
        фамилия имя; фамилия и имя; фамилия имя отчество; soyad ad; soyadı adı""",
    "group": """group; class; form; grade; homeroom; section; team; choir; ensemble; orchestra;
        department; division; unit; gruppe; klasse; abteilung; chor; stimme; mannschaft;
        register; groupe; classe; équipe; chœur; chorale; pupitre; service; département; grupo;
        clase; curso; equipo; coro; departamento; sección; gruppo; squadra; reparto; sezione;
        turma; equipa; equipe; departamento; secção; seção; groep; klas; koor; afdeling; ploeg;
        grupp; klass; kör; lag; avdelning; stämma; grupa; klasa; chór; zespół; dział; drużyna;
        skupina; třída; sbor; oddělení; družstvo; ομάδα; τάξη; τμήμα; χορωδία; группа; класс;
        хор; отдел; команда; grup; sınıf; koro; takım; bölüm; şube""",
    "role": """role; position; job; job title; title; function; part; voice; instrument; rolle;
        funktion; beruf; stimmlage; rôle; fonction; poste; rol; función; cargo; puesto; ruolo;
        funzione; mansione; papel; função; functie; funktie; roll; befattning; rola; funkcja;
        stanowisko; role; funkce; pozice; ρόλος; θέση; роль; должность; görev; unvan; rolü""",
    "email": """email; e mail; email address; e mail address; mail; mail address; mailadresse; e mail
        adresse; email adresse; courriel; adresse e mail; adresse mail; adresse électronique;
        mél; correo; correo electrónico; dirección de correo; posta elettronica; indirizzo e
        mail; indirizzo email; correio eletrónico; correio eletrônico; endereço de e mail; e
        mailadres; mailadres; e post; epost; e postadress; epostadress; adres e mail; adres
        email; poczta; e mailová adresa; ηλεκτρονικό ταχυδρομείο; email διεύθυνση; электронная
        почта; эл почта; почта; адрес электронной почты; e posta; eposta; e posta adresi""",
    "phone": """phone; phone number; telephone; telephone number; tel; mobile; mobile number; mobile
        phone; cell; cell phone; telefon; telefonnummer; handy; handynummer; mobil; mobilnummer;
        rufnummer; téléphone; portable; numéro de téléphone; tél; teléfono; móvil; celular;
        telefono; cellulare; telefone; telemóvel; telefoon; telefoonnummer; mobiel;
        mobiltelefon; komórka; numer telefonu; telefonní číslo; τηλέφωνο; κινητό; телефон; номер
        телефона; мобильный; cep telefonu; telefon numarası""",
    "slot": """slot; time; time slot; timeslot; appointment; scheduled; schedule; session; uhrzeit;
        zeit; termin; zeitfenster; heure; horaire; créneau; rendez vous; hora; horario; turno;
        cita; ora; orario; appuntamento; horário; marcação; tijd; tijdstip; tijdvak; afspraak;
        tid; klockslag; godzina; termin; czas; čas; termín; ώρα; ραντεβού; время; saat; randevu""",
    "consent": """consent; consents; permission; photo consent; photo permission; publish; may publish;
        release; model release; einwilligung; einverständnis; zustimmung; fotoerlaubnis;
        fotofreigabe; veröffentlichung; consentement; autorisation; droit à l'image; consentimiento;
        autorización; permiso; consenso; autorizzazione; liberatoria; consentimento; autorização;
        toestemming; samtycke; tillstånd; zgoda; souhlas; συγκατάθεση; συναίνεση; άδεια; согласие;
        разрешение; onay; izin; rıza; photo consents; consent photo; consent photos; consent to
        photos; consent for photos; consent given; consent y n; consent to photography; consent to
        publish; consent to publication; publication consent; photography consent; image consent;
        media consent; media release; photo release; image release; picture permission; media
        permission; photography permission; permission to publish; permission to photograph; photo
        permission given; photo ok; photos ok; ok to publish; ok for web; web consent; may be
        published; can be published; publication; image rights; fotoeinwilligung;
        fotoeinverständnis; fotogenehmigung; fotozustimmung; bildrechte; bildrecht; recht am bild;
        recht am eigenen bild; bildfreigabe; einverständniserklärung; einwilligungserklärung;
        einwilligung foto; einwilligung fotos; einverständnis foto; einverständnis fotos; zustimmung
        foto; zustimmung fotos; darf veröffentlicht werden; foto erlaubt; fotos erlaubt;
        autorisation photo; autorisation photos; autorisation de publication; autorisation droit à
        l'image; autorisation image; consentement photo; consentement photos; droits à l'image;
        droit image; accord photo; publication autorisée; consentimiento foto; consentimiento fotos;
        consentimiento de imagen; derechos de imagen; derecho de imagen; cesión de imagen;
        autorización de imagen; autorización foto; autorización fotos; permiso de imagen; permiso
        foto; permiso fotos; consenso foto; consenso alle foto; consenso immagini; liberatoria foto;
        liberatoria immagini; diritti d'immagine; diritto d'immagine; autorizzazione foto;
        autorizzazione immagini; direito de imagem; direitos de imagem; autorização de imagem;
        cedência de imagem; consentimento foto; consentimento fotos; uso de imagem; beeldrecht;
        portretrecht; toestemming foto; toestemming foto's; foto toestemming; fototoestemming;
        toestemming publicatie; fotosamtycke; samtycke foto; samtycke bild; samtycke till
        publicering; fototillstånd; publicering; zgoda na wizerunek; wizerunek; zgoda na publikację;
        zgoda na publikację wizerunku; zgoda na zdjęcia; zgoda foto; souhlas s focením; souhlas s
        fotografováním; souhlas se zveřejněním; souhlas foto; συγκατάθεση φωτογραφίας; άδεια
        φωτογράφισης; δημοσίευση; согласие на съемку; согласие на фото; согласие на публикацию;
        разрешение на съемку; разрешение на публикацию; публикация; fotoğraf izni; görsel izni;
        çekim izni; yayın izni; fotoğraf onayı; suostumus; kuvauslupa; julkaisulupa; samtykke;
        fotosamtykke; fototillatelse; fototilladelse; 同意; 撮影同意; 肖像权; 동의; الموافقة; موافقة; הסכמה;
        אישור צילום""",
    "spoken": """pronunciation; pronounced; pronounced as; how to say; how to say it; how to say name; how to
        say the name; say; say it; say it like; phonetic; phonetics; phonetic spelling; phonetic
        name; name pronunciation; pronunciation of name; name phonetic; sounds like; spoken; spoken
        name; aussprache; namensaussprache; aussprache des namens; name aussprache; lautschrift;
        gesprochen; prononciation; prononciation du nom; se prononce; phonétique; pronunciación;
        pronunciación del nombre; cómo se pronuncia; fonética; pronuncia; pronuncia del nome; come
        si pronuncia; pronúncia; pronúncia do nome; uitspraak; uitspraak naam; uttal; uttal av namn;
        namnuttal; wymowa; wymowa nazwiska; výslovnost; výslovnost jména; προφορά; προφορά ονόματος;
        произношение; как произносится; telaffuz; okunuş; okunuşu; söyleniş; ääntäminen;
        ääntämisohje; uttale; udtale; 発音; よみがな; ふりがな; フリガナ; 读音; 拼音; 발음; النطق; הגייה""",
    "language": """language; languages; preferred language; correspondence language; language of
        correspondence; spoken language; mother tongue; native language; lang; sprache; korrespondenzsprache;
        muttersprache; bevorzugte sprache; langue; langue préférée; langue de correspondance; langue
        maternelle; idioma; idioma preferido; lengua; lengua materna; lingua; lingua preferita; lingua di
        corrispondenza; madrelingua; língua; idioma preferencial; taal; voorkeurstaal; moedertaal; språk;
        modersmål; sprog; język; jazyk; γλώσσα; язык; dil; kieli; 言語; 语言; 언어; اللغة; שפה""",
    "note": """note; notes; remark; remarks; comment; comments; bemerkung; bemerkungen; notiz;
        anmerkung; kommentar; hinweis; remarque; remarques; commentaire; nota; notas;
        observaciones; comentario; comentarios; osservazioni; annotazioni; commento;
        observações; comentário; opmerking; opmerkingen; notitie; anteckning; anmärkning; uwagi;
        uwaga; notatka; poznámka; poznámky; σημείωση; σημειώσεις; παρατηρήσεις; примечание;
        примечания; заметка; комментарий; notlar; açıklama""",
}
"""Field -> headings. There are three more sorts: "bare" is a word for name that may mean the full name or one
part of it; "family first" a single column with the family name first; "number" a number that may be a key
or may just count the rows."""

_WHOSE = (
    "your the student students pupil pupils child childs member members participant participants "
    "person persons singer singers player players musician musicians sänger schüler teilnehmer "
    "mitglied de l eleve du participant"
)
"""Words that say to whom a name or number belongs."""

_QUALIFIERS = frozenset(_WHOSE.split())
_BRACKETED = re.compile(r"\([^)]*\)|\[[^\]]*\]")
_BETWEEN_WORDS = re.compile(r"[\s_./\\:;,*?!&+'\"|–-]+")


@lru_cache(maxsize=4096)
def recognise(heading: str) -> str | None:
    """The field that a heading usually means, or one of the other sorts in `WORDS`; else None."""
    if len(heading) > 80:
        return None
    known = _known()
    plain = heading_words(without_brackets(heading)) or heading_words(heading)
    unqualified = plain
    while unqualified and unqualified[0] in _QUALIFIERS:
        unqualified = unqualified[1:]
    for words in (plain, unqualified, tuple(word for word in unqualified if word not in _QUALIFIERS)):
        found = known.get("".join(words))
        if found:
            return found
    return known.get(heading.strip()) if heading.strip() in {"#", "№"} else None


def is_name_heading(heading: str) -> bool:
    """Whether a column with this heading holds names or parts of names."""
    return recognise(heading) in {"name", "bare", "family first", "given", "family"}


@cache
def _known() -> dict[str, str]:
    known: dict[str, str] = {"#": "number", "№": "number"}
    for field, headings in WORDS.items():
        for heading in headings.split(";"):
            known.setdefault("".join(heading_words(heading)), field)
    known.pop("", None)
    return known


def is_qualifier(word: str) -> bool:
    """Whether a folded word only says to whom a name or number belongs."""
    return word in _QUALIFIERS


def without_brackets(heading: str) -> str:
    """A heading without its texts in brackets."""
    return _BRACKETED.sub(" ", heading)


def heading_words(text: str) -> tuple[str, ...]:
    """The words of a heading, folded."""
    return tuple(word for word in _BETWEEN_WORDS.split(fold_name(text)) if word)


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
    stem, words, alone = _ordinary_words()
    found = [word for word in heading_words(heading.translate(_BRACKETS)) if not word.isdigit()]
    if "".join(found) in ("noshow", "checkedin", "checkedout"):
        return True
    return any(word in alone or stem(word) for word in found) and all(
        word in words or stem(word) for word in found
    )


_BRACKETS = dict.fromkeys(map(ord, "()[]"), " ")


@cache
def _ordinary_words() -> tuple[Callable[[str], bool], frozenset[str], frozenset[str]]:
    stems = tuple(heading_words(_STEMS))

    def begins(word: str) -> bool:
        return word.startswith(stems)

    return begins, frozenset(heading_words(_WORDS)) | {"t"}, frozenset(heading_words(_ALONE))
