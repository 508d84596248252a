"""The columns of a list of picks, recognised by their headings."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache

from onsite.picks.read_pick_file import PickRow
from onsite.roster.column_headings import recognise
from onsite.roster.person_names import fold_name

_FRAMES = """
    frame; frames; file; files; file name; filename; file names; filenames; picture; pictures; image;
    images; photo; photos; pick; picks; picked; pick code; choice; choices; chosen; selection; selected;
    counter; counters; shot; shots; bild; bilder; datei; dateien; dateiname; auswahl; foto; fotos; fichier;
    fichiers; choix; archivo; archivos; imagen; imágenes; elección; scelta; scelte; immagine; immagini;
    bestand; keuze; keuzes; fil; filnamn; plik; pliki; zdjęcie; zdjęcia; wybór"""
"""Headings of a column of frames. Common practice, no source."""

_NOT_FRAMES = frozenset(("note", "email", "phone", "slot", "group", "role", "consent", "spoken", "language"))
_LONGEST = 40  # characters of a heading; longer cells are sentences


@dataclass(frozen=True, slots=True)
class Columns:
    """Column indexes. All are empty where a list has no headings, or none that is recognised."""

    frames: frozenset[int] = frozenset()
    people: tuple[int, ...] = ()
    given: int = -1
    family: int = -1
    notes: tuple[int, ...] = ()
    others: frozenset[int] = frozenset()

    @property
    def names_people(self) -> bool:
        """Whether a column names people."""
        return bool(self.people) or self.given >= 0

    @property
    def known(self) -> bool:
        """Whether a column of frames or people was recognised."""
        return bool(self.frames) or self.names_people

    def may_hold_frames(self, place: int) -> bool:
        """Whether the cells at this index may name frames."""
        if self.frames:
            return place in self.frames
        return place not in self.others and place not in (*self.people, self.given, self.family)


NO_HEADINGS = Columns()


def columns_of(row: PickRow) -> Columns:
    """The columns, if a row is a row of headings; else `NO_HEADINGS`."""
    if max(map(len, row.cells)) > _LONGEST:
        return NO_HEADINGS
    kinds = [_kind(cell) for cell in row.cells]

    def where(*wanted: str) -> tuple[int, ...]:
        return tuple(place for place, kind in enumerate(kinds) if kind in wanted)

    given, family = where("given"), where("family")
    both = bool(given and family)
    found = Columns(
        frozenset(where("frames")),
        where("key", "name", "bare", "family first"),
        given[0] if both else -1,
        family[0] if both else -1,
        where("note"),
        frozenset(where(*_NOT_FRAMES)),
    )
    if row.is_text and not found.frames:  # "Name:" may be the beginning of a mail
        return NO_HEADINGS
    return found if found.known else NO_HEADINGS


@lru_cache(maxsize=256)
def _kind(heading: str) -> str | None:
    return "frames" if fold_name(heading.replace("_", " ")) in _frame_headings() else recognise(heading)


@cache
def _frame_headings() -> frozenset[str]:
    return frozenset(fold_name(heading) for heading in _FRAMES.split(";"))
