"""A person's page: one file that holds everything, for any static host or a folder.

The pictures are in the page itself, as `data:` URIs. So there is nothing beside the page that could be
found, listed or linked to, it can be sent on as one file and opened without a network, and the policy in its
head can forbid every request there is. The price is a third more bytes: some 100 KB for each picture.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from onsite.files.page import part, templates
from onsite.proofs.code import MOST_PICTURES, PREFIX
from onsite.proofs.picture import ProofPicture
from onsite.slate.code import ALPHABET
from onsite.slate.lettering import shown

if TYPE_CHECKING:
    from jinja2 import Template

SUGGESTIONS = ("Stray hair", "Glasses glare", "Lint", "Keep a scar")
"""What is asked for most. Common practice, no source."""

NOTE_LENGTH = 300
"""Characters of a note: a mail's address line must hold all of them."""


def page_html(
    *,
    page: str,
    shoot: str,
    day: str,
    mark: str,
    holder: str,
    name: str,
    most: int,
    pictures: Sequence[tuple[int, ProofPicture]],
) -> bytes:
    """The page as UTF-8. `page` is its own file name, `mark` the shoot's mark, `holder` the person's part of
    their code, `most` how many they may choose, `pictures` are (number on their proofs, picture)."""
    assert all(number < MOST_PICTURES for number, _ in pictures)
    css, script = _part("page.css"), _part("page.js")
    return (
        _template()
        .render(
            page=page,
            shoot=shown(shoot),
            day=day,
            mark=mark,
            holder=holder,
            name=shown(name),
            most=min(most, len(pictures)),
            pictures=[
                {
                    "number": number,
                    "label": shown(picture.frame.label),
                    "source": "data:image/jpeg;base64," + base64.b64encode(picture.jpeg).decode("ascii"),
                    "width": picture.width,
                    "height": picture.height,
                }
                for number, picture in pictures
            ],
            prefix=PREFIX,
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


def page_version() -> str:
    """Changes whenever pages would come out differently for the same person."""
    parts = "".join(_part(name) for name in ("page.html", "page.css", "page.js"))
    return hashlib.sha256(parts.encode()).hexdigest()


@lru_cache(maxsize=1)
def _template() -> Template:
    return templates("onsite.proofs").get_template("page.html")


@lru_cache(maxsize=4)
def _part(name: str) -> str:
    return part("onsite.proofs", name)


def _hash(text: str) -> str:
    """As a Content Security Policy names an inline script or style (CSP Level 3, 2.3.1)."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode("ascii")
