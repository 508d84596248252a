# Español, de usted.

## La página de las pruebas. `page-answer-…` va en la respuesta.

page-title = Pruebas: { $name }
page-head-none = Sus fotos
page-head = { $most ->
    [one] Toque la foto que más le guste
   *[other] Toque hasta { $most } fotos
}
page-unretouched = Estas pruebas aún no están retocadas.
page-then-send = Después, envíenos su código.
page-by = Por favor, elija a más tardar el { $day }.
page-photographer = Fotografía: { $studio }
page-contact = ¿Alguna pregunta? Escriba a
page-no-scripts = Este navegador no ejecuta scripts.
page-no-scripts-how = Responda con el número que figura debajo de la foto elegida, por ejemplo { $label }.
page-picture = Foto { $label }
page-larger = Ampliar
page-larger-of = Ampliar: { $label }
page-add-note = Añadir una nota
page-nothing-chosen = Ninguna foto elegida
page-chosen-of = { $count ->
    [one] { $count } foto elegida de { $most }
   *[other] { $count } fotos elegidas de { $most }
}
page-all-chosen = { $most ->
    [one] Ya ha elegido 1 foto.
   *[other] Ya ha elegido { $most } fotos.
} Toque antes una de ellas para quitarla.
page-get-code = Obtener mi código
page-larger-picture = Foto ampliada
page-previous = Foto anterior
page-next = Foto siguiente
page-choose = Elegir
page-chosen = Elegida ✓
page-close = Cerrar
page-note-head = Nota para el retoque
page-note-for = Nota para el retoque de { $label }
page-note-hair = Pelo suelto
page-note-glare = Reflejo en las gafas
page-note-lint = Pelusas
page-note-scar = Conservar una cicatriz
page-note-words = Con sus palabras
page-done = Listo
page-send-head = Envíenos este código
page-copy = Copiar mi respuesta
page-copied = Copiado ✓
page-copy-marked = Copie ahora el texto marcado
page-your-answer = Su respuesta
page-write-mail = Escribir el correo
page-open-mail = Abrir un correo vacío
page-mail-written = El correo ya está escrito: solo tiene que enviarlo. Si no ha dejado notas, basta con el código, por teléfono o en papel.
page-mail-no-address = El correo ya está escrito: ponga nuestra dirección y envíelo. Si no ha dejado notas, basta con el código, por teléfono o en papel.
page-mail-too-long = Sus notas son demasiado largas para un correo ya escrito. Copie su respuesta, abra un correo vacío y péguela en él.
page-you-chose = Su elección
page-change = Cambiar algo
page-answer-subject = Mi elección, { $shoot }
page-answer-code = Mi código: { $code }
page-answer-note = Nota { $label }: { $note }
page-answer-pictures = Fotos: { $labels }

## Hojas de contacto

proof-mark = PRUEBA
sheet-title = Pruebas
sheet-reply = Respuesta a { $address }
sheet-by = Por favor, elija a más tardar el { $day }

## Correos

mail-ready-subject = { $shoot }: sus pruebas están listas
mail-remind-subject = { $shoot }: por favor, elija { $picks ->
    [one] su foto
   *[other] sus fotos
}
mail-greeting = Buenos días, { $name }:
mail-ready = Las pruebas de sus fotos de «{ $shoot }»{ $day ->
    [none] {""}
   *[other] {" "}({ $day })
} están listas.
mail-waiting = Las pruebas de sus fotos de «{ $shoot }»{ $day ->
    [none] {""}
   *[other] {" "}({ $day })
} están listas desde el { $since }, y todavía no tenemos su elección.
mail-page = Por favor, abra su página:
mail-page-choose = { $picks ->
    [one] Elija en ella una foto y envíenos el código que muestra la página. O responda a este correo con el número que figura debajo de la foto.
   *[other] Elija en ella hasta { $picks } fotos y envíenos el código que muestra la página. O responda a este correo con los números que figuran debajo de las fotos.
}
mail-page-elsewhere = { $picks ->
    [one] Por favor, abra su página, cuya dirección ya le dimos, elija una foto y envíenos el código que muestra la página. O responda a este correo con el número que figura debajo de la foto.
   *[other] Por favor, abra su página, cuya dirección ya le dimos, elija hasta { $picks } fotos y envíenos el código que muestra la página. O responda a este correo con los números que figuran debajo de las fotos.
}
mail-sheet-attached = Su hoja de contacto va adjunta a este correo.
mail-sheet = Por favor, mire su hoja de contacto.
mail-sheet-choose = { $picks ->
    [one] Elija una foto y responda a este correo con el número que figura debajo de la foto.
   *[other] Elija hasta { $picks } fotos y responda a este correo con los números que figuran debajo de las fotos.
}
mail-by = Necesitamos su respuesta a más tardar el { $day }.
mail-crossed = Si ya ha respondido entretanto, no tenga en cuenta este correo.
mail-regards = Un cordial saludo,

## Recibo de entrega

receipt-title = { $shoot }: entrega { $number }
receipt-head = { $shoot }: recibo de la entrega { $number }
receipt-no-client = Cliente sin indicar
receipt-pictures = { $count ->
    [one] 1 foto
   *[other] { $count } fotos
}
receipt-in = en { $package }
receipt-zip = SHA-256 del archivo ZIP:
receipt-file = Archivo
receipt-who = Persona
receipt-bytes = Bytes
receipt-checksum = Suma de comprobación (SHA-256)

## Informe

stage-expected = por llegar
stage-arrived = llegadas
stage-photographed = fotografiadas
stage-proofed = pruebas entregadas
stage-picked = elección hecha
stage-at-retouch = en retoque
stage-retouched = retoque terminado
stage-delivered = fotos entregadas
stage-absent = no vinieron
stage-withdrawn = retiradas de la lista
wait-proof = aún sin pruebas
wait-picks = pruebas entregadas, sin elección
wait-sending = elección aún no enviada a retoque
wait-retouch = enviadas, aún sin volver
wait-delivery = de vuelta, sin entregar
report-client-title = Informe para el cliente: { $name }
report-books-title = Cuentas: { $name }
report-for = Para { $client }.
report-shot = Fotografiado el { $day }; situación del { $made } a las { $clock }.
report-stood = Situación del { $made } a las { $clock }.
report-people = { $count ->
    [one] persona
   *[other] personas
}
report-photographed = { $count ->
    [one] fotografiada
   *[other] fotografiadas
}
report-absent = { $count ->
    [one] no vino
   *[other] no vinieron
}
report-still-expected = aún por llegar
report-frames = { $count ->
    [one] toma
   *[other] tomas
}
report-have-picked = { $count ->
    [one] ha elegido
   *[other] han elegido
}
report-delivered = { $count ->
    [one] tiene sus fotos entregadas
   *[other] tienen sus fotos entregadas
}
report-stages = Hasta dónde ha llegado cada persona
report-stages-how = Cada línea cuenta a todas las personas que han llegado hasta ahí, o más lejos, menos a quienes se saltaron esa etapa.
report-stage = Etapa
report-people-column = Personas
report-share = Proporción
report-of = { $part } de { $whole }
report-groups = Situación por grupos
report-groups-how = Lleno: fotografiadas. Rayado: vinieron, aún sin foto. Vacío: no vinieron.
report-group-bar = { $photographed } de { $people } fotografiadas, { $came } vinieron y no tienen foto, { $missing } no vinieron
report-no-group = sin grupo
report-pace = Ritmo del día
report-pace-how = Personas por cuarto de hora. Lleno: llegadas. Rayado: primera toma.
report-pace-unknown = { $count ->
    [one] No se conoce la hora de 1 persona fotografiada.
   *[other] No se conoce la hora de { $count } personas fotografiadas.
}
report-pace-chart = Ritmo del { $day }
report-pace-told = Entre las { $start } y las { $end } { $arrived ->
    [one] llegó 1 persona
   *[other] llegaron { $arrived } personas
} y { $shot ->
    [one] 1 fue fotografiada
   *[other] { $shot } fueron fotografiadas
} por primera vez; la mayoría llegó a partir de las { $busiest }, { $most } en un cuarto de hora.
report-as-table = Lo mismo en una tabla
report-from = Desde
report-arrived = Llegadas
report-first-frame = Primera toma
report-nobody-arrived = Aún no ha llegado nadie.
report-waited = Esperas del día
report-waited-told = { $count ->
    [one] De la llegada a la primera toma, 1 persona: { $median }.
   *[other] De la llegada a la primera toma, { $count } personas: la mitad esperó { $median } o menos, y la espera más larga fue de { $longest }.
}
report-waited-unknown = No se conocen: ningún reloj de cámara pudo compararse con el de la entrada con bastante exactitud.
report-waited-chart = Tiempo de espera, en minutos
report-waited-column = Espera
report-minutes-between = de { $low } a { $high } minutos
report-minutes-more = { $low } minutos y más
report-minutes = { $count ->
    [0] menos de un minuto
    [one] 1 minuto
   *[other] { $count } minutos
}
report-make-up = Para un día de recuperación
report-never-came = { $count ->
    [one] 1 persona de la lista, ni llegada ni fotografiada.
   *[other] { $count } personas de la lista, ni llegadas ni fotografiadas.
}
report-everybody-came = Vinieron todas las personas de la lista.
report-name = Nombre
report-group = Grupo
report-after = Después de la sesión: quién espera qué
report-waits-for = Situación
report-since = Desde
report-picks = Elección
report-picks-told = { $pictures ->
    [one] 1 foto elegida
   *[other] { $pictures } fotos elegidas
}; se { $agreed ->
    [one] acordó 1 foto
   *[other] acordaron { $agreed } fotos
} por persona.
report-picks-over = { $count ->
    [one] Más de lo acordado: 1 persona.
   *[other] Más de lo acordado: { $count } personas.
}
report-picked-pictures = Fotos elegidas
report-number = Número
report-not-sent = aún no enviadas a retoque
report-out = enviadas, aún sin volver
report-back = de vuelta, sin entregar
report-handed-over = ya entregadas
report-deliveries = Entregas
report-delivery = Entrega
report-day = Día
report-sets = Conjuntos
report-files = Archivos
report-nothing-delivered = Aún no se ha entregado nada.
report-everybody = Todas las personas

## Who may be published, in the report and on receipts

report-publication = Publicación
report-may-be-published = { $part } de { $whole } personas pueden publicarse.
report-in-no-set = Ninguna foto de las demás va en una entrega para el cliente o un grupo ni en el anuario.
reason = Motivo
reason-refused = no debe publicarse
reason-unclear = no está claro si puede publicarse
reason-no-answer = sin respuesta sobre el consentimiento, aunque otras personas de la lista la tienen
reason-walk-in = llegó sin inscripción y sin respuesta sobre el consentimiento
reason-withdrawn = ya no está en la lista del cliente
receipt-left-out = No incluidas: { $count ->
    [one] 1 persona
   *[other] { $count } personas
}
receipt-in-no-set = Ninguna foto de estas personas está en esta entrega.
receipt-not-published = No se publican: { $count ->
    [one] 1 persona
   *[other] { $count } personas
}
receipt-own-set = Estas personas reciben sus fotos aparte, solo para ellas.
