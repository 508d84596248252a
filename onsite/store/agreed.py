"""What was agreed with the client about the finished pictures: the table `agreed` of `shoot.toml`."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from onsite.problems import Problem
from onsite.times import parse_date


@dataclass(frozen=True, slots=True)
class Agreement:
    """The terms of a shoot's pictures, for people to read and edit. Their defaults are our own choice.

    `picks` is how many pictures each person may choose; `names` the pattern of finished files' names;
    `ratio` width to height, such as 4:5, or empty for the frame's own; `long_side` in pixels, 0 for as large
    as it is; `quality` of the JPEG, 1 to 95; `most_kb` the most kilobytes (1,000 bytes) a file may have, 0
    for any; `due` when everything is to be delivered, ISO 8601 or empty; `price` what the client pays for
    each finished picture, a decimal number or empty, in `currency` (ISO 4217); `pages` the address at which
    the folder with the proof pages lies on its host, or empty. What people outside read names the `studio`,
    the mail address `reply_to` that they answer to, and the day `picks_due` by which they choose, ISO 8601;
    it is in `language`, where neither they nor their group has another. All of these may be empty.
    """

    picks: int = 1
    names: str = "{family}_{given}_{group}_{sequence:04}"
    ratio: str = "4:5"
    long_side: int = 3000
    quality: int = 92
    most_kb: int = 0
    due: str = ""
    price: str = ""
    currency: str = "EUR"
    pages: str = ""
    studio: str = ""
    reply_to: str = ""
    picks_due: str = ""
    language: str = ""


def agreement_from(values: Mapping[str, Any], where: str) -> Agreement:
    """The terms out of a table of `shoot.toml`; what is not given has its default. Raises Problem."""
    known = {name: values[name] for name in Agreement.__dataclass_fields__ if name in values}
    for name, value in known.items():
        wanted = type(getattr(Agreement(), name))
        if type(value) is not wanted or (wanted is int and value < 0):
            kind = "a whole number" if wanted is int else "a text in quotes"
            raise Problem(f"{where}: {name} under [agreed] must be {kind}.", "Mend that line in the file.")
    try:
        if known.get("picks_due"):
            known["picks_due"] = parse_date(known["picks_due"]).isoformat()
        if known.get("reply_to"):
            known["reply_to"] = mail_address(known["reply_to"])
    except Problem as error:
        raise Problem(f"{where}: under [agreed]: {error.what}", error.remedy) from error
    return Agreement(**known)


_PLAIN_ADDRESS = re.compile(r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~.-]+@[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)+")
"""RFC 5321's dot-string before an ordinary domain."""


def is_mail_address(text: str) -> bool:
    """Whether a text is one plain mail address."""
    return _PLAIN_ADDRESS.fullmatch(text) is not None


def mail_address(text: str) -> str:
    """The mail address that somebody typed. Raises Problem for anything else."""
    if not is_mail_address(text.strip()):
        raise Problem(f"{text!r} is not a mail address.", "Write it like studio@example.org.")
    return text.strip()
