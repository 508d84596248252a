# Français, avec « vous ». Une espace fine insécable précède ; : ! ? et borde les guillemets.

## La page des épreuves. `page-answer-…` est écrit dans la réponse.

page-title = Épreuves : { $name }
page-head-none = Vos photos
page-head = { $most ->
    [one] Touchez la photo que vous préférez
   *[other] Touchez jusqu’à { $most } photos
}
page-unretouched = Ces épreuves ne sont pas encore retouchées.
page-then-send = Envoyez-nous ensuite votre code.
page-by = Merci de choisir d’ici au { $day }.
page-photographer = Photographie : { $studio }
page-contact = Une question ? Écrivez à
page-no-scripts = Ce navigateur n’exécute pas les scripts.
page-no-scripts-how = Répondez avec le numéro inscrit sous la photo choisie, par exemple { $label }.
page-picture = Photo { $label }
page-larger = Agrandir
page-larger-of = Agrandir : { $label }
page-add-note = Ajouter une note
page-nothing-chosen = Aucune photo choisie
page-chosen-of = { $count ->
    [one] { $count } photo choisie sur { $most }
   *[other] { $count } photos choisies sur { $most }
}
page-all-chosen = { $most ->
    [one] Vous avez déjà choisi 1 photo.
   *[other] Vous avez déjà choisi { $most } photos.
} Touchez d’abord l’une d’elles pour la retirer.
page-get-code = Obtenir mon code
page-larger-picture = Photo agrandie
page-previous = Photo précédente
page-next = Photo suivante
page-choose = Choisir
page-chosen = Choisie ✓
page-close = Fermer
page-note-head = Note pour la retouche
page-note-for = Note pour la retouche de { $label }
page-note-hair = Mèche rebelle
page-note-glare = Reflet sur les lunettes
page-note-lint = Peluches
page-note-scar = Garder une cicatrice
page-note-words = Avec vos mots
page-done = Terminé
page-send-head = Envoyez-nous ce code
page-copy = Copier ma réponse
page-copied = Copié ✓
page-copy-marked = Copiez maintenant le texte sélectionné
page-your-answer = Votre réponse
page-write-mail = Écrire l’e-mail
page-open-mail = Ouvrir un e-mail vide
page-mail-written = L’e-mail est déjà rédigé : il ne vous reste qu’à l’envoyer. Sans note, le code seul suffit, par téléphone ou sur papier.
page-mail-no-address = L’e-mail est déjà rédigé : ajoutez notre adresse et envoyez-le. Sans note, le code seul suffit, par téléphone ou sur papier.
page-mail-too-long = Vos notes sont trop longues pour un e-mail déjà rédigé. Copiez votre réponse, ouvrez un e-mail vide et collez-y la réponse.
page-you-chose = Votre choix
page-change = Modifier
page-answer-subject = Mon choix, { $shoot }
page-answer-code = Mon code : { $code }
page-answer-note = Note { $label } : { $note }
page-answer-pictures = Photos : { $labels }

## Planches-contact

proof-mark = ÉPREUVE
sheet-title = Épreuves
sheet-reply = Réponse à { $address }
sheet-by = Merci de choisir d’ici au { $day }

## E-mails

mail-ready-subject = { $shoot } : vos épreuves sont prêtes
mail-remind-subject = { $shoot } : merci de choisir { $picks ->
    [one] votre photo
   *[other] vos photos
}
mail-greeting = Bonjour { $name },
mail-ready = Les épreuves de vos photos de « { $shoot } »{ $day ->
    [none] {""}
   *[other] {" "}({ $day })
} sont prêtes.
mail-waiting = Les épreuves de vos photos de « { $shoot } »{ $day ->
    [none] {""}
   *[other] {" "}({ $day })
} sont prêtes depuis le { $since }, et nous n’avons pas encore reçu votre choix.
mail-page = Ouvrez votre page, s’il vous plaît :
mail-page-choose = { $picks ->
    [one] Choisissez-y une photo et envoyez-nous le code affiché sur la page. Ou répondez à cet e-mail avec le numéro inscrit sous la photo.
   *[other] Choisissez-y jusqu’à { $picks } photos et envoyez-nous le code affiché sur la page. Ou répondez à cet e-mail avec les numéros inscrits sous les photos.
}
mail-page-elsewhere = { $picks ->
    [one] Ouvrez votre page, dont nous vous avons donné l’adresse, choisissez une photo et envoyez-nous le code affiché sur la page. Ou répondez à cet e-mail avec le numéro inscrit sous la photo.
   *[other] Ouvrez votre page, dont nous vous avons donné l’adresse, choisissez jusqu’à { $picks } photos et envoyez-nous le code affiché sur la page. Ou répondez à cet e-mail avec les numéros inscrits sous les photos.
}
mail-sheet-attached = Votre planche-contact est jointe à cet e-mail.
mail-sheet = Regardez votre planche-contact, s’il vous plaît.
mail-sheet-choose = { $picks ->
    [one] Choisissez une photo et répondez à cet e-mail avec le numéro inscrit sous la photo.
   *[other] Choisissez jusqu’à { $picks } photos et répondez à cet e-mail avec les numéros inscrits sous les photos.
}
mail-by = Nous avons besoin de votre réponse d’ici au { $day }.
mail-crossed = Si vous avez répondu entre-temps, merci de ne pas tenir compte de cet e-mail.
mail-regards = Cordialement,

## Reçu de livraison

receipt-title = { $shoot } : livraison { $number }
receipt-head = { $shoot } : reçu de la livraison { $number }
receipt-no-client = Client non indiqué
receipt-pictures = { $count ->
    [one] { $count } photo
   *[other] { $count } photos
}
receipt-in = dans { $package }
receipt-zip = SHA-256 du fichier ZIP :
receipt-file = Fichier
receipt-who = Personne
receipt-bytes = Octets
receipt-checksum = Somme de contrôle (SHA-256)

## Rapport

stage-expected = à venir
stage-arrived = arrivées
stage-photographed = photographiées
stage-proofed = épreuves remises
stage-picked = choix fait
stage-at-retouch = à la retouche
stage-retouched = retouche terminée
stage-delivered = photos livrées
stage-absent = pas venues
stage-withdrawn = retirées de la liste
wait-proof = pas encore d’épreuves
wait-picks = épreuves remises, pas de choix
wait-sending = choix pas encore à la retouche
wait-retouch = envoyées, pas encore de retour
wait-delivery = de retour, pas encore livré
report-client-title = Rapport pour le client : { $name }
report-books-title = Comptes : { $name }
report-for = Pour { $client }.
report-shot = Prises de vue le { $day } ; situation le { $made } à { $clock }.
report-stood = Situation le { $made } à { $clock }.
report-people = { $count ->
    [one] personne
   *[other] personnes
}
report-photographed = { $count ->
    [one] photographiée
   *[other] photographiées
}
report-absent = { $count ->
    [one] pas venue
   *[other] pas venues
}
report-still-expected = encore à venir
report-frames = { $count ->
    [one] prise de vue
   *[other] prises de vue
}
report-have-picked = { $count ->
    [one] a fait son choix
   *[other] ont fait leur choix
}
report-delivered = { $count ->
    [one] a ses photos livrées
   *[other] ont leurs photos livrées
}
report-stages = Où en sont les personnes
report-stages-how = Chaque ligne compte toutes les personnes arrivées à ce point, ou plus loin, sauf celles qui ont sauté cette étape.
report-stage = Étape
report-people-column = Personnes
report-share = Part
report-of = { $part } sur { $whole }
report-groups = Situation par groupe
report-groups-how = Plein : photographiées. Hachuré : venues, encore sans photo. Vide : pas venues.
report-group-bar = { $photographed } sur { $people } photographiées, { $came } venues et sans photo, { $missing } pas venues
report-no-group = sans groupe
report-pace = Déroulement de la journée
report-pace-how = Personnes par quart d’heure. Plein : arrivées. Hachuré : première prise de vue.
report-pace-unknown = { $count ->
    [one] L’heure n’est pas connue pour { $count } personne photographiée.
   *[other] L’heure n’est pas connue pour { $count } personnes photographiées.
}
report-pace-chart = Déroulement le { $day }
report-pace-told = Entre { $start } et { $end }, { $arrived ->
    [one] { $arrived } personne est arrivée
   *[other] { $arrived } personnes sont arrivées
} et { $shot ->
    [one] { $shot } a été photographiée
   *[other] { $shot } ont été photographiées
} pour la première fois ; le plus d’arrivées à partir de { $busiest }, { $most } en un quart d’heure.
report-as-table = Les mêmes chiffres en tableau
report-from = À partir de
report-arrived = Arrivées
report-first-frame = Première prise de vue
report-nobody-arrived = Personne n’est encore arrivé.
report-waited = Attente pendant la journée
report-waited-told = { $count ->
    [one] De l’arrivée à la première prise de vue, { $count } personne : { $median }.
   *[other] De l’arrivée à la première prise de vue, { $count } personnes : la moitié a attendu { $median } ou moins, l’attente la plus longue a été de { $longest }.
}
report-waited-unknown = Inconnue : aucune horloge d’appareil n’a pu être comparée assez précisément à celle de l’entrée.
report-waited-chart = Temps d’attente, en minutes
report-waited-column = Attente
report-minutes-between = { $low } à { $high } minutes
report-minutes-more = { $low } minutes et plus
report-minutes = { $count ->
    [0] moins d’une minute
    [one] { $count } minute
   *[other] { $count } minutes
}
report-make-up = Pour une séance de rattrapage
report-never-came = { $count ->
    [one] { $count } personne de la liste, ni arrivée ni photographiée.
   *[other] { $count } personnes de la liste, ni arrivées ni photographiées.
}
report-everybody-came = Toutes les personnes de la liste sont venues.
report-name = Nom
report-group = Groupe
report-after = Après les prises de vue : qui attend quoi
report-waits-for = Situation
report-since = Depuis
report-picks = Choix
report-picks-told = { $pictures ->
    [one] { $pictures } photo choisie
   *[other] { $pictures } photos choisies
} ; { $agreed ->
    [one] { $agreed } photo
   *[other] { $agreed } photos
} par personne selon l’accord.
report-picks-over = { $count ->
    [one] Plus que convenu : { $count } personne.
   *[other] Plus que convenu : { $count } personnes.
}
report-picked-pictures = Photos choisies
report-number = Nombre
report-not-sent = pas encore à la retouche
report-out = envoyées, pas encore de retour
report-back = de retour, pas encore livrées
report-handed-over = remises
report-deliveries = Livraisons
report-delivery = Livraison
report-day = Jour
report-sets = Lots
report-files = Fichiers
report-nothing-delivered = Rien n’a encore été livré.
report-everybody = Toutes les personnes

## Who may be published, in the report and on receipts

report-publication = Publication
report-may-be-published = { $part } personnes sur { $whole } peuvent être publiées.
report-in-no-set = Aucune photo des autres ne figure dans une livraison au client ou à un groupe, ni dans l’album de l’année.
reason = Raison
reason-refused = ne doit pas être publié
reason-unclear = on ne sait pas si la publication est permise
reason-no-answer = pas de réponse sur le consentement, alors que d’autres sur la liste en ont une
reason-walk-in = venu sans inscription, pas de réponse sur le consentement
reason-withdrawn = ne figure plus sur la liste du client
receipt-left-out = Non compris : { $count ->
    [one] 1 personne
   *[other] { $count } personnes
}
receipt-in-no-set = Aucune photo de ces personnes ne figure dans cette livraison.
receipt-not-published = À ne pas publier : { $count ->
    [one] 1 personne
   *[other] { $count } personnes
}
receipt-own-set = Ces personnes reçoivent leurs photos à part, pour elles seules.
