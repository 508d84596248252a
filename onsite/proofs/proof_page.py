"""A person's page: one self-contained HTML file, for any static host or a folder.

The pictures are embedded as `data:` URIs. Nothing lies beside the page to be found, listed or linked to, it
can be sent on as one file and opened without a network, and its Content Security Policy forbids every
request. The cost is a third more bytes: some 100 KB for each picture. `page.js` makes the pick code that
`onsite.core.codes` reads.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from onsite.core.codes import ALPHABET, MOST_PICTURES, PICK_PREFIX
from onsite.core.text import shown
from onsite.files.program_resources import template_environment, template_text
from onsite.messages.message_catalogue import Catalogue
from onsite.proofs.proof_picture import ProofPicture
from onsite.store.settings import Settings

if TYPE_CHECKING:
    from jinja2 import Template

SUGGESTIONS = ("page-note-hair", "page-note-glare", "page-note-lint", "page-note-scar")
"""Messages suggested as notes: the most common wishes. Common practice, no source."""

NOTE_LENGTH = 300
"""Most characters of a note."""

LONGEST_MAILTO = 2_000
"""Characters of a `mailto:` link that browsers pass on whole. RFC 6068 sets no limit; common practice stays
below the 2,083 of old Windows programs (Microsoft Support, article 208427)."""

_ANY = "\ue000"
"""Marks a placeholder that the page's script fills in."""

_SCRIPT_TEXTS = {
    "picture": ("page-picture", ("label",)),
    "addNote": ("page-add-note", ()),
    "nothing": ("page-nothing-chosen", ()),
    "choose": ("page-choose", ()),
    "chosen": ("page-chosen", ()),
    "noteFor": ("page-note-for", ("label",)),
    "copy": ("page-copy", ()),
    "copied": ("page-copied", ()),
    "copyMarked": ("page-copy-marked", ()),
    "writeMail": ("page-write-mail", ()),
    "openMail": ("page-open-mail", ()),
    "tooLong": ("page-mail-too-long", ()),
    "code": ("page-answer-code", ("code",)),
    "note": ("page-answer-note", ("label", "note")),
    "pictures": ("page-answer-pictures", ("labels",)),
}
"""Text of the script -> message id, and its variables in the order in which the script passes them."""


def page_html(
    *,
    page: str,
    settings: Settings,
    words: Catalogue,
    mark: str,
    holder: str,
    name: str,
    pictures: Sequence[tuple[int, ProofPicture]],
) -> bytes:
    """The page as UTF-8. `page` is its file name, `words` the catalogue of its language, `mark` the shoot's
    mark, `holder` the person's part of their slate code, `pictures` (number on their proofs, picture)."""
    assert all(number < MOST_PICTURES for number, _ in pictures)
    css, script = _part("page.css"), _part("page.js")
    agreed, shoot = settings.agreed, shown(settings.name)
    most = min(agreed.picks, len(pictures))
    script_texts = _script_texts(words, most) | {"subject": words.text("page-answer-subject", shoot=shoot)}
    return (
        _template()
        .render(
            page=page,
            lang=words.tag,
            t=words.text,
            told=json.dumps(script_texts, ensure_ascii=False),
            shoot=shoot,
            day=words.day(settings.date),
            studio=shown(agreed.studio),
            reply_to=agreed.reply_to,
            by=words.day(agreed.picks_due),
            longest=LONGEST_MAILTO,
            mark=mark,
            holder=holder,
            name=shown(name),
            most=most,
            pictures=[_picture_data(number, picture) for number, picture in pictures],
            prefix=PICK_PREFIX,
            alphabet=ALPHABET,
            suggestions=SUGGESTIONS,
            note_length=NOTE_LENGTH,
            css=css,
            script=script,
            css_hash=_hash(css),
            script_hash=_hash(script),
        )
        .encode()
    )


def _picture_data(number: int, picture: ProofPicture) -> dict[str, str | int]:
    return {
        "number": number,
        "label": shown(picture.frame.label),
        "source": "data:image/jpeg;base64," + base64.b64encode(picture.jpeg).decode("ascii"),
        "width": picture.width,
        "height": picture.height,
    }


def _script_texts(words: Catalogue, most: int) -> dict[str, str | list[str]]:
    """The texts of the script. A text with a plural is there once for each number that can occur."""
    texts: dict[str, str | list[str]] = {
        key: words.text(message, **{name: f"{_ANY}{place}" for place, name in enumerate(variables)})
        for key, (message, variables) in _SCRIPT_TEXTS.items()
    }
    texts["chosenOf"] = [words.text("page-chosen-of", count=count, most=most) for count in range(most + 1)]
    texts["allChosen"] = words.text("page-all-chosen", most=most)
    return texts


def page_version() -> str:
    """A digest that changes whenever pages come out differently for the same person."""
    parts = "".join(_part(name) for name in ("page.html", "page.css", "page.js"))
    return hashlib.sha256(parts.encode()).hexdigest()


@lru_cache(maxsize=1)
def _template() -> Template:
    return template_environment("onsite.proofs").get_template("page.html")


@lru_cache(maxsize=4)
def _part(name: str) -> str:
    return template_text("onsite.proofs", name)


def _hash(text: str) -> str:
    """The hash of an inline script or style as a Content Security Policy writes it (CSP Level 3, 2.3.1)."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode("ascii")
