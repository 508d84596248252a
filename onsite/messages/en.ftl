# English. Each message in this file must be in the others too, with the same variables.

## The page with somebody's proofs. `page-answer-…` is what it puts into their mail.

page-title = Proofs: { $name }
page-head-none = Your pictures
page-head = { $most ->
    [one] Tap the picture you like best
   *[other] Tap up to { $most } pictures
}
page-unretouched = These are unretouched proofs.
page-then-send = Then send us your code.
page-by = Please choose by { $day }.
page-photographer = Photographer: { $studio }
page-contact = Questions? Write to
page-no-scripts = This browser runs no scripts.
page-no-scripts-how = Reply with the number under the picture that you choose, such as { $label }.
page-picture = Picture { $label }
page-larger = Larger
page-larger-of = Larger: { $label }
page-add-note = Add a note
page-nothing-chosen = Nothing chosen yet
page-chosen-of = { $count } of { $most } chosen
page-all-chosen = { $most ->
    [one] You have chosen 1 picture already.
   *[other] You have chosen { $most } pictures already.
} Tap one of them to take it back first.
page-get-code = Get my code
page-larger-picture = Larger picture
page-previous = Previous picture
page-next = Next picture
page-choose = Choose
page-chosen = Chosen ✓
page-close = Close
page-note-head = Note to the retoucher
page-note-for = Note to the retoucher for { $label }
page-note-hair = Stray hair
page-note-glare = Glasses glare
page-note-lint = Lint
page-note-scar = Keep a scar
page-note-words = In your words
page-done = Done
page-send-head = Send us this code
page-copy = Copy my answer
page-copied = Copied ✓
page-copy-marked = Now copy what is marked
page-your-answer = Your answer
page-write-mail = Write the mail
page-open-mail = Open an empty mail
page-mail-written = The mail is written for you: just send it. If you left no notes, the code alone will do, by phone or on paper.
page-mail-no-address = The mail is written for you: put in our address and send it. If you left no notes, the code alone will do, by phone or on paper.
page-mail-too-long = Your notes are too long for this page to write the mail. Copy your answer, open an empty mail, and paste your answer into it.
page-you-chose = You chose
page-change = Change something
page-answer-subject = My choice, { $shoot }
page-answer-code = My pick code: { $code }
page-answer-note = Note { $label }: { $note }
page-answer-pictures = Pictures: { $labels }

## Contact sheets

proof-mark = PROOF
sheet-title = Proofs
sheet-reply = Reply to { $address }
sheet-by = Please choose by { $day }

## Mails: proofs are ready, and reminders. No example of a number: somebody's quoted mail would pick it.

mail-ready-subject = { $shoot }: your proofs are ready
mail-remind-subject = { $shoot }: please choose your { $picks ->
    [one] picture
   *[other] pictures
}
mail-greeting = Dear { $name },
mail-ready = Your pictures are ready for you to choose from: { $shoot }{ $day ->
    [none] .
   *[other] , { $day }.
}
mail-waiting = Your pictures have been ready since { $since }, and you have not chosen yet: { $shoot }{ $day ->
    [none] .
   *[other] , { $day }.
}
mail-page = Please open your page:
mail-page-choose = { $picks ->
    [one] Choose one picture there, and send us the pick code that the page shows. Or reply to this mail with the number under it.
   *[other] Choose up to { $picks } pictures there, and send us the pick code that the page shows. Or reply to this mail with the numbers under them.
}
mail-page-elsewhere = { $picks ->
    [one] Please open your page (we sent you its address), choose one picture, and send us the pick code that the page shows. Or reply to this mail with the number under it.
   *[other] Please open your page (we sent you its address), choose up to { $picks } pictures, and send us the pick code that the page shows. Or reply to this mail with the numbers under them.
}
mail-sheet-attached = Your proof sheet comes with this mail.
mail-sheet = Please look at your proof sheet.
mail-sheet-choose = { $picks ->
    [one] Choose one picture, and reply to this mail with the number under it.
   *[other] Choose up to { $picks } pictures, and reply to this mail with the numbers under them.
}
mail-by = We need your answer by { $day }.
mail-crossed = If you have answered in the meantime, please ignore this mail.
mail-regards = Kind regards,

## Receipt of a delivery

receipt-title = { $shoot }: delivery { $number }
receipt-head = { $shoot }: receipt of delivery { $number }
receipt-no-client = Client not named
receipt-pictures = { $count ->
    [one] 1 picture
   *[other] { $count } pictures
}
receipt-in = in { $package }
receipt-zip = Checksum of the ZIP (SHA-256):
receipt-file = File
receipt-who = Person
receipt-bytes = Bytes
receipt-checksum = Checksum (SHA-256)

## Report. The words of stages and waits are used within lines and tables.

stage-expected = expected
stage-arrived = here
stage-photographed = photographed
stage-proofed = proofed
stage-picked = picked
stage-at-retouch = at retouch
stage-retouched = retouched
stage-delivered = delivered
stage-absent = absent
stage-withdrawn = withdrawn
wait-proof = no proof yet
wait-picks = proof out, no picks
wait-sending = picks not sent
wait-retouch = sent, not back yet
wait-delivery = back, not delivered
report-client-title = Report for the client: { $name }
report-books-title = Books: { $name }
report-for = For { $client }.
report-shot = Shot on { $day }; as it stood on { $made } at { $clock }.
report-stood = As it stood on { $made } at { $clock }.
report-people = { $count ->
    [one] person
   *[other] people
}
report-photographed = photographed
report-absent = absent
report-still-expected = still expected
report-frames = { $count ->
    [one] frame
   *[other] frames
}
report-have-picked = { $count ->
    [one] has picked
   *[other] have picked
}
report-delivered = delivered
report-stages = How far everybody is
report-stages-how = Each line counts everybody who has come that far, or further.
report-stage = Stage
report-people-column = People
report-share = Share
report-of = { $part } of { $whole }
report-groups = Photographed by group
report-groups-how = Filled: photographed. Hatched: came, and has no frame. Empty: did not come.
report-group-bar = { $photographed } of { $people } photographed, { $came } came and have no frame, { $missing } did not come
report-no-group = no group
report-pace = Pace over the day
report-pace-how = People in each quarter of an hour. Filled: arrived. Hatched: photographed for the first time.
report-pace-unknown = { $count ->
    [one] Of 1 photographed person the time is not known.
   *[other] Of { $count } photographed people the time is not known.
}
report-pace-chart = Pace on { $day }
report-pace-told = { $arrived ->
    [one] 1 person arrived
   *[other] { $arrived } people arrived
} and { $shot ->
    [one] 1 was
   *[other] { $shot } were
} first photographed between { $start } and { $end }; most arrived from { $busiest } on, { $most } in a quarter of an hour.
report-as-table = The same as a table
report-from = From
report-arrived = Arrived
report-first-frame = First frame
report-nobody-arrived = Nobody has arrived.
report-waited = How long people waited
report-waited-told = { $count ->
    [one] From arriving to the first frame, 1 person: { $median }.
   *[other] From arriving to the first frame, { $count } people: half of them waited { $median } or less, the longest { $longest }.
}
report-waited-unknown = Not known: no camera’s clock could be tied to the door’s closely enough.
report-waited-chart = How long people waited, in minutes
report-waited-column = Waited
report-minutes-between = { $low } to { $high } minutes
report-minutes-more = { $low } minutes and more
report-minutes = { $count ->
    [0] less than a minute
    [one] 1 minute
   *[other] { $count } minutes
}
report-make-up = For a make-up day
report-never-came = { $count ->
    [one] 1 person on the list did not come.
   *[other] { $count } people on the list did not come.
}
report-everybody-came = Everybody on the list came.
report-name = Name
report-group = Group
report-after = After the shoot: what people wait for
report-waits-for = Waits for
report-since = Since
report-picks = Picks
report-picks-told = { $pictures ->
    [one] 1 picture was picked
   *[other] { $pictures } pictures were picked
}; agreed: { $agreed ->
    [one] 1 picture
   *[other] { $agreed } pictures
} each.
report-picks-over = { $count ->
    [one] More than agreed: 1 person.
   *[other] More than agreed: { $count } people.
}
report-picked-pictures = Picked pictures
report-number = Number
report-not-sent = not sent yet
report-out = sent, not back yet
report-back = back, not delivered
report-handed-over = handed over
report-deliveries = Deliveries
report-delivery = Delivery
report-day = Day
report-sets = Sets
report-files = Files
report-nothing-delivered = Nothing has been delivered yet.
report-everybody = Everybody

## Who may be published, in the report and on receipts

report-publication = Publication
report-may-be-published = { $part } of { $whole } people may be published.
report-in-no-set = No picture of the others goes into a set for the client, a group or the yearbook.
reason = Why not
reason-refused = must not be published
reason-unclear = it is not clear whether they may be published
reason-no-answer = no answer about consent, while others on the list have one
reason-walk-in = a walk-in without an answer about consent
reason-withdrawn = no longer on the client’s list
receipt-left-out = Left out: { $count ->
    [one] 1 person
   *[other] { $count } people
}
receipt-in-no-set = No picture of these people was delivered.
receipt-not-published = Not to be published: { $count ->
    [one] 1 person
   *[other] { $count } people
}
receipt-own-set = These people have a set of their own. It is for them alone.
