"""`shoot.toml`: the settings of a shoot, for people to read and edit."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from zoneinfo import ZoneInfo

from onsite.problems import Problem
from onsite.store.agreed import Agreement, agreement_from
from onsite.times import parse_date

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
