# Italiano, con il «Lei».

## La pagina dei provini. `page-answer-…` è scritto nella risposta.

page-title = Provini: { $name }
page-head-none = Le Sue foto
page-head = { $most ->
    [one] Tocchi la foto che preferisce
   *[other] Tocchi fino a { $most } foto
}
page-unretouched = Questi provini non sono ancora ritoccati.
page-then-send = Poi ci invii il Suo codice.
page-by = La preghiamo di scegliere entro il giorno { $day }.
page-photographer = Fotografia: { $studio }
page-contact = Domande? Scriva a
page-no-scripts = Questo browser non esegue script.
page-no-scripts-how = Risponda con il numero sotto la foto scelta, per esempio { $label }.
page-picture = Foto { $label }
page-larger = Ingrandisci
page-larger-of = Ingrandisci: { $label }
page-add-note = Aggiungi una nota
page-nothing-chosen = Nessuna foto scelta
page-chosen-of = { $count ->
    [one] { $count } foto scelta su { $most }
   *[other] { $count } foto scelte su { $most }
}
page-all-chosen = { $most ->
    [one] Ha già scelto 1 foto.
   *[other] Ha già scelto { $most } foto.
} Prima ne tocchi una per toglierla.
page-get-code = Mostra il mio codice
page-larger-picture = Foto ingrandita
page-previous = Foto precedente
page-next = Foto successiva
page-choose = Scegli
page-chosen = Scelta ✓
page-close = Chiudi
page-note-head = Nota per il ritocco
page-note-for = Nota per il ritocco di { $label }
page-note-hair = Capelli fuori posto
page-note-glare = Riflesso sugli occhiali
page-note-lint = Pelucchi
page-note-scar = Conservare una cicatrice
page-note-words = Con parole Sue
page-done = Fatto
page-send-head = Ci invii questo codice
page-copy = Copia la mia risposta
page-copied = Copiato ✓
page-copy-marked = Ora copi il testo selezionato
page-your-answer = La Sua risposta
page-write-mail = Scrivi l’e-mail
page-open-mail = Apri un’e-mail vuota
page-mail-written = L’e-mail è già scritta: basta inviarla. Se non ha lasciato note, basta il codice, per telefono o su carta.
page-mail-no-address = L’e-mail è già scritta: aggiunga il nostro indirizzo e la invii. Se non ha lasciato note, basta il codice, per telefono o su carta.
page-mail-too-long = Le Sue note sono troppo lunghe per un’e-mail già scritta. Copi la Sua risposta, apra un’e-mail vuota e la incolli lì.
page-you-chose = La Sua scelta
page-change = Cambia qualcosa
page-answer-subject = La mia scelta, { $shoot }
page-answer-code = Il mio codice: { $code }
page-answer-note = Nota { $label }: { $note }
page-answer-pictures = Foto: { $labels }

## Fogli provini

proof-mark = PROVINO
sheet-title = Provini
sheet-reply = Risposta a { $address }
sheet-by = La preghiamo di scegliere entro il giorno { $day }

## E-mail

mail-ready-subject = { $shoot }: i Suoi provini sono pronti
mail-remind-subject = { $shoot }: La preghiamo di scegliere { $picks ->
    [one] la Sua foto
   *[other] le Sue foto
}
mail-greeting = Gentile { $name },
mail-ready = i provini delle Sue foto di «{ $shoot }»{ $day ->
    [none] {""}
   *[other] {" "}({ $day })
} sono pronti.
mail-waiting = i provini delle Sue foto di «{ $shoot }»{ $day ->
    [none] {""}
   *[other] {" "}({ $day })
} sono pronti dal giorno { $since } e non abbiamo ancora la Sua scelta.
mail-page = La preghiamo di aprire la Sua pagina:
mail-page-choose = { $picks ->
    [one] Scelga lì una foto e ci invii il codice che la pagina mostra. Oppure risponda a questa e-mail con il numero sotto la foto.
   *[other] Scelga lì fino a { $picks } foto e ci invii il codice che la pagina mostra. Oppure risponda a questa e-mail con i numeri sotto le foto.
}
mail-page-elsewhere = { $picks ->
    [one] La preghiamo di aprire la Sua pagina, di cui ha già l’indirizzo, di scegliere una foto e di inviarci il codice che la pagina mostra. Oppure risponda a questa e-mail con il numero sotto la foto.
   *[other] La preghiamo di aprire la Sua pagina, di cui ha già l’indirizzo, di scegliere fino a { $picks } foto e di inviarci il codice che la pagina mostra. Oppure risponda a questa e-mail con i numeri sotto le foto.
}
mail-sheet-attached = Il Suo foglio provini è allegato a questa e-mail.
mail-sheet = La preghiamo di guardare il Suo foglio provini.
mail-sheet-choose = { $picks ->
    [one] Scelga una foto e risponda a questa e-mail con il numero sotto la foto.
   *[other] Scelga fino a { $picks } foto e risponda a questa e-mail con i numeri sotto le foto.
}
mail-by = Abbiamo bisogno della Sua risposta entro il giorno { $day }.
mail-crossed = Se nel frattempo ha già risposto, non tenga conto di questa e-mail.
mail-regards = Cordiali saluti

## Ricevuta di consegna

receipt-title = { $shoot }: consegna { $number }
receipt-head = { $shoot }: ricevuta della consegna { $number }
receipt-no-client = Cliente non indicato
receipt-pictures = { $count ->
    [one] 1 foto
   *[other] { $count } foto
}
receipt-in = in { $package }
receipt-zip = SHA-256 del file ZIP:
receipt-file = File
receipt-who = Persona
receipt-bytes = Byte
receipt-checksum = Somma di controllo (SHA-256)

## Resoconto

stage-expected = attese
stage-arrived = arrivate
stage-photographed = fotografate
stage-proofed = provini consegnati
stage-picked = scelta fatta
stage-at-retouch = al ritocco
stage-retouched = ritocco finito
stage-delivered = foto consegnate
stage-absent = non venute
stage-withdrawn = tolte dall’elenco
wait-proof = ancora senza provini
wait-picks = provini consegnati, nessuna scelta
wait-sending = scelta non ancora al ritocco
wait-retouch = inviate, non ancora tornate
wait-delivery = tornate, non ancora consegnate
report-client-title = Resoconto per il cliente: { $name }
report-books-title = Conti: { $name }
report-for = Per { $client }.
report-shot = Riprese: { $day }; situazione: { $made }, ore { $clock }.
report-stood = Situazione: { $made }, ore { $clock }.
report-people = { $count ->
    [one] persona
   *[other] persone
}
report-photographed = { $count ->
    [one] fotografata
   *[other] fotografate
}
report-absent = { $count ->
    [one] non venuta
   *[other] non venute
}
report-still-expected = { $count ->
    [one] ancora attesa
   *[other] ancora attese
}
report-frames = { $count ->
    [one] scatto
   *[other] scatti
}
report-have-picked = { $count ->
    [one] ha scelto
   *[other] hanno scelto
}
report-delivered = { $count ->
    [one] ha le foto consegnate
   *[other] hanno le foto consegnate
}
report-stages = A che punto sono le persone
report-stages-how = Ogni riga conta tutte le persone arrivate fino a lì, o più avanti, tranne chi ha saltato quella fase.
report-stage = Fase
report-people-column = Persone
report-share = Quota
report-of = { $part } su { $whole }
report-groups = Situazione per gruppo
report-groups-how = Pieno: fotografate. Tratteggiato: venute, ancora senza foto. Vuoto: non venute.
report-group-bar = { $photographed } su { $people } fotografate, { $came } venute e senza foto, { $missing } non venute
report-no-group = senza gruppo
report-pace = Andamento della giornata
report-pace-how = Persone per quarto d’ora. Pieno: arrivate. Tratteggiato: primo scatto.
report-pace-unknown = { $count ->
    [one] Di 1 persona fotografata non si conosce l’ora.
   *[other] Di { $count } persone fotografate non si conosce l’ora.
}
report-pace-chart = Andamento: { $day }
report-pace-told = Tra le { $start } e le { $end } { $arrived ->
    [one] è arrivata 1 persona
   *[other] sono arrivate { $arrived } persone
} e { $shot ->
    [one] 1 è stata fotografata
   *[other] { $shot } sono state fotografate
} per la prima volta; la maggior parte è arrivata dalle { $busiest }, { $most } in un quarto d’ora.
report-as-table = Gli stessi dati in tabella
report-from = Dalle
report-arrived = Arrivate
report-first-frame = Primo scatto
report-nobody-arrived = Non è ancora arrivato nessuno.
report-waited = Attese della giornata
report-waited-told = { $count ->
    [one] Dall’arrivo al primo scatto, 1 persona: { $median }.
   *[other] Dall’arrivo al primo scatto, { $count } persone: metà ha atteso { $median } o meno, l’attesa più lunga è stata di { $longest }.
}
report-waited-unknown = Non note: nessun orologio di fotocamera si è potuto confrontare con quello dell’ingresso in modo abbastanza preciso.
report-waited-chart = Tempo di attesa, in minuti
report-waited-column = Attesa
report-minutes-between = da { $low } a { $high } minuti
report-minutes-more = { $low } minuti e più
report-minutes = { $count ->
    [0] meno di un minuto
    [one] 1 minuto
   *[other] { $count } minuti
}
report-make-up = Per un giorno di recupero
report-never-came = { $count ->
    [one] 1 persona dell’elenco, né arrivata né fotografata.
   *[other] { $count } persone dell’elenco, né arrivate né fotografate.
}
report-everybody-came = Sono venute tutte le persone dell’elenco.
report-name = Nome
report-group = Gruppo
report-after = Dopo le riprese: chi aspetta che cosa
report-waits-for = Situazione
report-since = Dal
report-picks = Scelte
report-picks-told = { $pictures ->
    [one] 1 foto scelta
   *[other] { $pictures } foto scelte
}; { $agreed ->
    [one] è stata concordata 1 foto
   *[other] sono state concordate { $agreed } foto
} a persona.
report-picks-over = { $count ->
    [one] Più di quanto concordato: 1 persona.
   *[other] Più di quanto concordato: { $count } persone.
}
report-picked-pictures = Foto scelte
report-number = Numero
report-not-sent = non ancora al ritocco
report-out = inviate, non ancora tornate
report-back = tornate, non ancora consegnate
report-handed-over = già consegnate
report-deliveries = Consegne
report-delivery = Consegna
report-day = Giorno
report-sets = Serie
report-files = File
report-nothing-delivered = Non è stato ancora consegnato nulla.
report-everybody = Tutte le persone

## Who may be published, in the report and on receipts

report-publication = Pubblicazione
report-may-be-published = { $part } persone su { $whole } possono essere pubblicate.
report-in-no-set = Nessuna foto delle altre va in una consegna al cliente o a un gruppo né nell’annuario.
reason = Motivo
reason-refused = non deve essere pubblicata
reason-unclear = non è chiaro se la pubblicazione sia permessa
reason-no-answer = nessuna risposta sul consenso, mentre altre persone dell’elenco l’hanno data
reason-walk-in = arrivata senza iscrizione, nessuna risposta sul consenso
reason-withdrawn = non è più nell’elenco del cliente
receipt-left-out = Non incluse: { $count ->
    [one] 1 persona
   *[other] { $count } persone
}
receipt-in-no-set = Nessuna foto di queste persone è in questa consegna.
receipt-not-published = Da non pubblicare: { $count ->
    [one] 1 persona
   *[other] { $count } persone
}
receipt-own-set = Queste persone ricevono le loro foto a parte, solo per loro.
