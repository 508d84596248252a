"""`shoot.toml`: the settings of a shoot and the terms agreed with the client, for people to read and edit."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from secrets import token_hex
from typing import Any
from zoneinfo import ZoneInfo

from onsite.core.errors import Problem
from onsite.core.times import parse_date


@dataclass(frozen=True, slots=True)
class Agreement:
    """The terms agreed with the client about the finished pictures: the table `agreed` of `shoot.toml`.

    Defaults are our own choice. Dates are ISO 8601. A text may be empty where its term is not settled.
    """

    picks: int = 1
    """How many pictures each person may choose."""
    names: str = "{family}_{given}_{group}_{sequence:04}"
    """Pattern of finished files' names (`onsite.files.file_name_pattern`)."""
    ratio: str = "4:5"
    """Width to height, such as 4:5; empty for the frame's own."""
    long_side: int = 3000
    """Pixels; 0 for the largest possible."""
    quality: int = 92
    """JPEG quality, 1 to 95."""
    most_kb: int = 0
    """The most kilobytes (1,000 bytes) that a file may have; 0 for no limit."""
    due: str = ""
    """The day by which everything is to be delivered."""
    price: str = ""
    """What the client pays for each finished picture, a decimal number, in `currency`."""
    currency: str = "EUR"
    """ISO 4217."""
    pages: str = ""
    """The web address of the folder with the proof pages."""
    studio: str = ""
    """The studio's name in pages and mails."""
    reply_to: str = ""
    """The mail address for answers."""
    picks_due: str = ""
    """The day by which people choose their pictures."""
    language: str = ""
    """The language of messages to people for whom neither they nor their group have another."""
    keep_until: str = ""
    """The day up to which people's data may be kept."""


def agreement_from(values: Mapping[str, Any], where: str) -> Agreement:
    """The terms from a table of `shoot.toml`, with defaults for missing keys. Raises Problem."""
    known = {name: values[name] for name in Agreement.__dataclass_fields__ if name in values}
    for name, value in known.items():
        wanted = type(getattr(Agreement(), name))
        if type(value) is not wanted or (wanted is int and value < 0):
            kind = "a whole number" if wanted is int else "a text in quotes"
            raise Problem(f"{where}: {name} under [agreed] must be {kind}.", "Mend that line in the file.")
    try:
        for day in ("picks_due", "keep_until"):
            if known.get(day):
                known[day] = parse_date(known[day]).isoformat()
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
    """The mail address in a typed text. Raises Problem for anything else."""
    if not is_mail_address(text.strip()):
        raise Problem(f"{text!r} is not a mail address.", "Write it like studio@example.org.")
    return text.strip()


SETTINGS_FILE = "shoot.toml"
SQLITE_FILE = "onsite.db"


@dataclass(frozen=True, slots=True)
class Settings:
    """The settings of a shoot."""

    name: str
    """The shoot's name; required."""
    client: str = ""
    date: str = ""
    """ISO 8601, or empty."""
    timezone: str = "UTC"
    """IANA name."""
    store: str = ""
    """An SQLAlchemy URL, or empty for the SQLite file in the shoot's folder."""
    ends: str = ""
    """The time of day by which the last person should be done, such as 17:00, or empty."""
    agreed: Agreement = field(default_factory=Agreement)
    """The terms agreed with the client."""
    languages: Mapping[str, str] = field(default_factory=dict)
    """Name of a group -> the language of messages to it."""
    backups: str = ""
    """A folder, best on another disk, for backups besides those in the shoot's folder; or empty."""

    @property
    def zone(self) -> ZoneInfo:
        return zone_from_name(self.timezone)


def zone_from_name(name: str) -> ZoneInfo:
    """The time zone with this IANA name. Raises Problem."""
    try:
        return ZoneInfo(name)
    except (ValueError, OSError, KeyError) as error:
        raise Problem(
            f"There is no time zone named {name!r}.", "Use an IANA name such as Europe/Vienna."
        ) from error


def local_zone_name() -> str:
    """The IANA name of this machine's time zone; UTC if it cannot be determined."""
    import tzlocal

    try:
        return str(tzlocal.get_localzone_name() or "UTC")
    except (KeyError, ValueError, LookupError):
        return "UTC"


def read_settings(folder: Path) -> Settings:
    """The settings in a shoot's folder. Raises Problem if they are missing, unreadable or wrong."""
    path = folder / SETTINGS_FILE
    try:
        values = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except FileNotFoundError as error:
        raise Problem(
            f"{folder} is not a shoot: it has no {SETTINGS_FILE}.", "Make one with: onsite new"
        ) from error
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise Problem(f"{path} cannot be read: {error}", "Mend that line, or put back a copy.") from error
    return settings_from(values, str(path))


def settings_from(values: dict[str, Any], where: str) -> Settings:
    """The settings from the values of a `shoot.toml`. Raises Problem if they are wrong."""
    terms, languages = values.pop("agreed", {}), values.pop("languages", {})
    known = {name: values[name] for name in Settings.__dataclass_fields__ if name in values}
    wrong = [name for name, value in known.items() if not isinstance(value, str)]
    if wrong or not known.get("name"):
        raise Problem(
            f"{where}: {wrong[0] if wrong else 'name'} must be a text in quotes.",
            "Mend that line in the file.",
        )
    if known.get("date"):
        try:
            known["date"] = parse_date(known["date"]).isoformat()
        except Problem as error:
            raise Problem(f"{where}: date: {error.what}", error.remedy) from error
    if not isinstance(terms, dict):
        raise Problem(f"{where}: agreed must be a table, [agreed].", "Mend that line in the file.")
    if not isinstance(languages, dict) or not all(isinstance(text, str) for text in languages.values()):
        raise Problem(
            f"{where}: languages must be a table, [languages], of groups and their languages in quotes.",
            "Mend that line in the file.",
        )
    return Settings(**known, agreed=agreement_from(terms, where), languages=languages)


def write_settings(folder: Path, settings: Settings, is_new: bool = False) -> bool:
    """Writes `shoot.toml` atomically, readable by its user alone: the store's password may stand in it. With
    `is_new` False is returned where one is there already, which stays. Raises OSError."""
    import tomli_w

    part = folder / f".{token_hex(8)}.part"  # a full disk must not leave half a file
    try:
        part.touch(mode=0o600)
        part.write_text(tomli_w.dumps(asdict(settings)), encoding="utf-8")
        if is_new:
            return link_new(part, folder / SETTINGS_FILE)
        part.replace(folder / SETTINGS_FILE)
        return True
    finally:
        part.unlink(missing_ok=True)


def make_private_folder(folder: Path) -> None:
    """Makes a folder that its user alone can read; one that is there stays as it is. Raises OSError."""
    if not folder.is_dir():
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)  # another station may be making it too
        folder.chmod(0o700)  # a umask takes away more


def link_new(draft: Path, path: Path) -> bool:
    """Gives a finished draft its name; returns False where the name is taken, by then too. Raises OSError."""
    try:
        path.hardlink_to(draft)
    except FileExistsError:
        return False
    except OSError:  # memory cards and many drives have no hard links
        if path.exists():
            return False
        draft.rename(path)
    return True
