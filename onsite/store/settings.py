"""`shoot.toml`: the settings of a shoot, for people to read and edit."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from onsite.core.errors import Problem
from onsite.core.times import parse_date

# TODO What was agreed with the client about the finished pictures: the table `agreed` of `shoot.toml`.


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


SETTINGS_FILE = "shoot.toml"
SQLITE_FILE = "onsite.db"


@dataclass(frozen=True, slots=True)
class Settings:
    """What somebody decided about a shoot. `timezone` is an IANA name; `date` ISO 8601 or empty;
    `store` an SQLAlchemy URL, or empty for the SQLite file in the shoot's folder; `ends` the time of day by
    which the last person should be done, such as 17:00, or empty; `agreed` the terms of the pictures;
    `languages` the language in which a group is written to, by the group's name."""

    name: str
    client: str = ""
    date: str = ""
    timezone: str = "UTC"
    store: str = ""
    ends: str = ""
    agreed: Agreement = field(default_factory=Agreement)
    languages: Mapping[str, str] = field(default_factory=dict)

    @property
    def zone(self) -> ZoneInfo:
        return zone_from_name(self.timezone)


def zone_from_name(name: str) -> ZoneInfo:
    """The time zone of that IANA name, or a Problem."""
    try:
        return ZoneInfo(name)
    except (ValueError, OSError, KeyError) as error:
        raise Problem(
            f"There is no time zone named {name!r}.", "Use an IANA name such as Europe/Vienna."
        ) from error


def local_zone_name() -> str:
    """The IANA name of this machine's time zone; UTC where the machine does not tell."""
    import tzlocal

    try:
        return str(tzlocal.get_localzone_name() or "UTC")
    except (KeyError, ValueError, LookupError):
        return "UTC"


def read_settings(folder: Path) -> Settings:
    path = folder / SETTINGS_FILE
    try:
        values = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError as error:
        raise Problem(
            f"{folder} is not a shoot: it has no {SETTINGS_FILE}.", "Make one with: onsite new"
        ) from error
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise Problem(f"{path} cannot be read: {error}", "Mend that line, or put back a copy.") from error
    terms, languages = values.pop("agreed", {}), values.pop("languages", {})
    known = {name: values[name] for name in Settings.__dataclass_fields__ if name in values}
    wrong = [name for name, value in known.items() if not isinstance(value, str)]
    if wrong or not known.get("name"):
        raise Problem(
            f"{path}: {wrong[0] if wrong else 'name'} must be a text in quotes.",
            "Mend that line in the file.",
        )
    if known.get("date"):
        try:
            known["date"] = parse_date(known["date"]).isoformat()
        except Problem as error:
            raise Problem(f"{path}: date: {error.what}", error.remedy) from error
    if not isinstance(terms, dict):
        raise Problem(f"{path}: agreed must be a table, [agreed].", "Mend that line in the file.")
    if not isinstance(languages, dict) or not all(isinstance(text, str) for text in languages.values()):
        raise Problem(
            f"{path}: languages must be a table, [languages], of groups and their languages in quotes.",
            "Mend that line in the file.",
        )
    return Settings(**known, agreed=agreement_from(terms, str(path)), languages=languages)


def write_settings(folder: Path, settings: Settings) -> None:
    import tomli_w

    part = folder / f".{SETTINGS_FILE}.part"  # a full disk must not leave half a file
    try:
        part.write_text(tomli_w.dumps(asdict(settings)), encoding="utf-8")
        part.replace(folder / SETTINGS_FILE)
    finally:
        part.unlink(missing_ok=True)
