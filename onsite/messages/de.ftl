# Deutsch, mit „Sie“.

## Die Seite mit den Probebildern. `page-answer-…` steht in der Antwort.

page-title = Probebilder: { $name }
page-head-none = Ihre Bilder
page-head = { $most ->
    [one] Tippen Sie auf das Bild, das Ihnen am besten gefällt
   *[other] Tippen Sie auf bis zu { $most } Bilder
}
page-unretouched = Diese Probebilder sind noch nicht retuschiert.
page-then-send = Senden Sie uns danach Ihren Code.
page-by = Bitte wählen Sie bis zum { $day }.
page-photographer = Fotografie: { $studio }
page-contact = Fragen? Schreiben Sie an
page-no-scripts = In diesem Browser sind Skripte abgeschaltet.
page-no-scripts-how = Antworten Sie mit der Nummer unter dem gewählten Bild, zum Beispiel { $label }.
page-picture = Bild { $label }
page-larger = Größer
page-larger-of = Größer: { $label }
page-add-note = Notiz hinzufügen
page-nothing-chosen = Noch nichts gewählt
page-chosen-of = { $count } von { $most } gewählt
page-all-chosen = { $most ->
    [one] Sie haben schon 1 Bild gewählt.
   *[other] Sie haben schon { $most } Bilder gewählt.
} Tippen Sie zuerst auf eines davon, um es abzuwählen.
page-get-code = Zu meinem Code
page-larger-picture = Größeres Bild
page-previous = Voriges Bild
page-next = Nächstes Bild
page-choose = Wählen
page-chosen = Gewählt ✓
page-close = Schließen
page-note-head = Notiz für die Retusche
page-note-for = Notiz für die Retusche von { $label }
page-note-hair = Abstehendes Haar
page-note-glare = Spiegelnde Brille
page-note-lint = Fusseln
page-note-scar = Narbe erhalten
page-note-words = In Ihren Worten
page-done = Fertig
page-send-head = Senden Sie uns diesen Code
page-copy = Antwort kopieren
page-copied = Kopiert ✓
page-copy-marked = Bitte den markierten Text kopieren
page-your-answer = Ihre Antwort
page-write-mail = E-Mail schreiben
page-open-mail = Leere E-Mail öffnen
page-mail-written = Die E-Mail ist fertig geschrieben: Sie müssen sie nur noch senden. Ohne Notizen genügt der Code allein, am Telefon oder auf Papier.
page-mail-no-address = Die E-Mail ist fertig geschrieben: Setzen Sie unsere Adresse ein und senden Sie sie. Ohne Notizen genügt der Code allein, am Telefon oder auf Papier.
page-mail-too-long = Ihre Notizen sind zu lang für eine fertige E-Mail. Kopieren Sie Ihre Antwort, öffnen Sie eine leere E-Mail und fügen Sie die Antwort dort ein.
page-you-chose = Ihre Auswahl
page-change = Etwas ändern
page-answer-subject = Meine Auswahl, { $shoot }
page-answer-code = Mein Code: { $code }
page-answer-note = Notiz { $label }: { $note }
page-answer-pictures = Bilder: { $labels }

## Kontaktbögen

proof-mark = PROBE
sheet-title = Probebilder
sheet-reply = Antwort an { $address }
sheet-by = Bitte wählen Sie bis zum { $day }

## E-Mails

mail-ready-subject = { $shoot }: Ihre Probebilder sind da
mail-remind-subject = { $shoot }: Bitte wählen Sie { $picks ->
    [one] Ihr Bild
   *[other] Ihre Bilder
}
mail-greeting = Guten Tag { $name },
mail-ready = die Probebilder von „{ $shoot }“{ $day ->
    [none] {""}
   *[other] {" "}({ $day })
} sind da.
mail-waiting = die Probebilder von „{ $shoot }“{ $day ->
    [none] {""}
   *[other] {" "}({ $day })
} sind seit dem { $since } da, und Ihre Auswahl fehlt uns noch.
mail-page = Bitte öffnen Sie Ihre Seite:
mail-page-choose = { $picks ->
    [one] Wählen Sie dort ein Bild und senden Sie uns den Code, den die Seite zeigt. Oder antworten Sie auf diese E-Mail mit der Nummer unter dem Bild.
   *[other] Wählen Sie dort bis zu { $picks } Bilder und senden Sie uns den Code, den die Seite zeigt. Oder antworten Sie auf diese E-Mail mit den Nummern unter den Bildern.
}
mail-page-elsewhere = { $picks ->
    [one] Bitte öffnen Sie Ihre Seite, deren Adresse Sie von uns haben, wählen Sie ein Bild und senden Sie uns den Code, den die Seite zeigt. Oder antworten Sie auf diese E-Mail mit der Nummer unter dem Bild.
   *[other] Bitte öffnen Sie Ihre Seite, deren Adresse Sie von uns haben, wählen Sie bis zu { $picks } Bilder und senden Sie uns den Code, den die Seite zeigt. Oder antworten Sie auf diese E-Mail mit den Nummern unter den Bildern.
}
mail-sheet-attached = Ihr Kontaktbogen liegt dieser E-Mail bei.
mail-sheet = Bitte sehen Sie sich Ihren Kontaktbogen an.
mail-sheet-choose = { $picks ->
    [one] Wählen Sie ein Bild und antworten Sie auf diese E-Mail mit der Nummer unter dem Bild.
   *[other] Wählen Sie bis zu { $picks } Bilder und antworten Sie auf diese E-Mail mit den Nummern unter den Bildern.
}
mail-by = Wir brauchen Ihre Antwort bis zum { $day }.
mail-crossed = Falls Sie inzwischen geantwortet haben, ist diese E-Mail gegenstandslos.
mail-regards = Mit freundlichen Grüßen

## Lieferschein

receipt-title = { $shoot }: Lieferung { $number }
receipt-head = { $shoot }: Lieferschein { $number }
receipt-no-client = Auftraggeber nicht genannt
receipt-pictures = { $count ->
    [one] 1 Bild
   *[other] { $count } Bilder
}
receipt-in = in { $package }
receipt-zip = SHA-256 der ZIP-Datei:
receipt-file = Datei
receipt-who = Wer
receipt-bytes = Bytes
receipt-checksum = Prüfsumme (SHA-256)

## Bericht

stage-expected = erwartet
stage-arrived = angekommen
stage-photographed = fotografiert
stage-proofed = Probebilder erhalten
stage-picked = ausgewählt
stage-at-retouch = in der Retusche
stage-retouched = retuschiert
stage-delivered = geliefert
stage-absent = nicht gekommen
stage-withdrawn = von der Liste genommen
wait-proof = noch keine Probebilder
wait-picks = Probebilder da, noch keine Auswahl
wait-sending = Auswahl noch nicht in der Retusche
wait-retouch = abgegeben, noch nicht zurück
wait-delivery = zurück, noch nicht geliefert
report-client-title = Bericht für den Auftraggeber: { $name }
report-books-title = Bücher: { $name }
report-for = Für { $client }.
report-shot = Fotografiert am { $day }; Stand vom { $made }, { $clock } Uhr.
report-stood = Stand vom { $made }, { $clock } Uhr.
report-people = { $count ->
    [one] Person
   *[other] Personen
}
report-photographed = fotografiert
report-absent = nicht gekommen
report-still-expected = noch erwartet
report-frames = { $count ->
    [one] Aufnahme
   *[other] Aufnahmen
}
report-have-picked = { $count ->
    [one] hat gewählt
   *[other] haben gewählt
}
report-delivered = geliefert
report-stages = Wie weit alle sind
report-stages-how = Jede Zeile zählt alle, die so weit oder weiter sind; wer einen Schritt übersprungen hat, zählt dort nicht.
report-stage = Stand
report-people-column = Personen
report-share = Anteil
report-of = { $part } von { $whole }
report-groups = Stand nach Gruppen
report-groups-how = Gefüllt: fotografiert. Schraffiert: gekommen, noch ohne Aufnahme. Leer: nicht gekommen.
report-group-bar = { $photographed } von { $people } fotografiert, { $came } gekommen und ohne Aufnahme, { $missing } nicht gekommen
report-no-group = ohne Gruppe
report-pace = Verlauf des Tages
report-pace-how = Personen je Viertelstunde. Gefüllt: angekommen. Schraffiert: erste Aufnahme.
report-pace-unknown = { $count ->
    [one] Von 1 fotografierten Person ist die Zeit nicht bekannt.
   *[other] Von { $count } fotografierten Personen ist die Zeit nicht bekannt.
}
report-pace-chart = Verlauf am { $day }
report-pace-told = Zwischen { $start } und { $end } Uhr { $arrived ->
    [one] kam 1 Person an
   *[other] kamen { $arrived } Personen an
}, und { $shot ->
    [one] 1 wurde
   *[other] { $shot } wurden
} zum ersten Mal fotografiert; die meisten kamen ab { $busiest } Uhr, { $most } in einer Viertelstunde.
report-as-table = Dasselbe als Tabelle
report-from = Ab
report-arrived = Angekommen
report-first-frame = Erste Aufnahme
report-nobody-arrived = Es ist noch niemand angekommen.
report-waited = Wartezeiten am Tag
report-waited-told = { $count ->
    [one] Von der Ankunft bis zur ersten Aufnahme, 1 Person: { $median }.
   *[other] Von der Ankunft bis zur ersten Aufnahme, { $count } Personen: Die Hälfte wartete { $median } oder kürzer, die längste Wartezeit war { $longest }.
}
report-waited-unknown = Nicht bekannt: Keine Kamerauhr ließ sich genau genug mit der Uhr am Eingang vergleichen.
report-waited-chart = Wartezeiten in Minuten
report-waited-column = Wartezeit
report-minutes-between = { $low } bis { $high } Minuten
report-minutes-more = { $low } Minuten und mehr
report-minutes = { $count ->
    [0] unter einer Minute
    [one] 1 Minute
   *[other] { $count } Minuten
}
report-make-up = Für einen Nachholtermin
report-never-came = { $count ->
    [one] 1 Person auf der Liste, weder angekommen noch fotografiert.
   *[other] { $count } Personen auf der Liste, weder angekommen noch fotografiert.
}
report-everybody-came = Alle auf der Liste sind gekommen.
report-name = Name
report-group = Gruppe
report-after = Nach dem Termin: wer worauf wartet
report-waits-for = Stand
report-since = Seit
report-picks = Auswahl
report-picks-told = { $pictures ->
    [one] 1 Bild wurde ausgewählt
   *[other] { $pictures } Bilder wurden ausgewählt
}; vereinbart { $agreed ->
    [one] ist 1 Bild
   *[other] sind { $agreed } Bilder
} je Person.
report-picks-over = { $count ->
    [one] Mehr als vereinbart: 1 Person.
   *[other] Mehr als vereinbart: { $count } Personen.
}
report-picked-pictures = Ausgewählte Bilder
report-number = Anzahl
report-not-sent = noch nicht in der Retusche
report-out = abgegeben, noch nicht zurück
report-back = zurück, noch nicht geliefert
report-handed-over = übergeben
report-deliveries = Lieferungen
report-delivery = Lieferung
report-day = Tag
report-sets = Zusammenstellungen
report-files = Dateien
report-nothing-delivered = Es wurde noch nichts geliefert.
report-everybody = Alle Personen

## Who may be published, in the report and on receipts

report-publication = Veröffentlichung
report-may-be-published = { $part } von { $whole } Personen dürfen veröffentlicht werden.
report-in-no-set = Kein Bild der anderen kommt in eine Lieferung an den Auftraggeber oder eine Gruppe oder ins Jahrbuch.
reason = Grund
reason-refused = darf nicht veröffentlicht werden
reason-unclear = unklar, ob eine Veröffentlichung erlaubt ist
reason-no-answer = keine Antwort zur Einwilligung, während andere auf der Liste eine haben
reason-walk-in = ohne Voranmeldung gekommen, keine Antwort zur Einwilligung
reason-withdrawn = nicht mehr auf der Liste des Auftraggebers
receipt-left-out = Ausgelassen: { $count ->
    [one] 1 Person
   *[other] { $count } Personen
}
receipt-in-no-set = Kein Bild dieser Personen ist in dieser Lieferung.
receipt-not-published = Nicht zu veröffentlichen: { $count ->
    [one] 1 Person
   *[other] { $count } Personen
}
receipt-own-set = Diese Personen erhalten ihre Bilder gesondert und nur für sich selbst.
