"""The invented people of the festival: nobody real."""

from __future__ import annotations

import csv
import random
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from onsite.demo.names import GROUPS, LANGUAGES
from onsite.shipped import shipped_folder

ROSTER = "choirs.csv"
"""The shipped list, in the folder `demo_roster`."""


@dataclass(frozen=True, slots=True)
class InventedPerson:
    """One invented person as a client's list has them. `slot` is a local time such as `09:15` or empty."""

    key: str
    given: str
    family: str
    group: str
    role: str
    email: str
    slot: str
    consent: str
    note: str

    @property
    def name(self) -> str:
        """Given name first, then family name; one of them alone when the other is empty."""
        return f"{self.given} {self.family}".strip()


def invent_people(number: int, seed: int) -> list[InventedPerson]:
    """`number` people with unique keys: first those of the shipped list, then made-up ones.

    The same number and seed give the same people, and a larger number begins with the smaller one's.
    """
    listed = shipped_guests()[:number]
    return listed + list(islice(_more(listed, seed), number - len(listed)))


def invent_walk_in(number: int, rng: random.Random, taken: set[tuple[str, str]]) -> InventedPerson:
    """Somebody whom no list has. The key `walk-in-1` is the story's own: the program gives another."""
    return _fresh(f"walk-in-{number}", "", rng, taken)


def shipped_guests() -> list[InventedPerson]:
    """The shipped list as it stands."""
    with (shipped_folder("demo_roster") / ROSTER).open(encoding="utf-8", newline="") as lines:
        return [InventedPerson(**row) for row in csv.DictReader(lines, delimiter=";")]


def _more(listed: list[InventedPerson], seed: int) -> Iterator[InventedPerson]:
    rng = random.Random(f"people/{seed}")
    taken = {(guest.name, guest.group) for guest in listed}
    number = len(listed)
    while True:
        number += 1
        yield _fresh(f"CH-{number:03}", _slot(number), rng, taken)


def _fresh(key: str, slot: str, rng: random.Random, taken: set[tuple[str, str]]) -> InventedPerson:
    """A person whose name and group are not in `taken`, and are from now on."""
    while True:
        language = rng.choice(LANGUAGES)
        given = rng.choice(language.given)
        if rng.random() < 0.25:
            second = rng.choice(language.given)
            given = given if second == given else f"{given} {second}"
        family = rng.choice(language.family)
        group = rng.choice(list(GROUPS))
        if (f"{given} {family}", group) not in taken:
            break
    taken.add((f"{given} {family}", group))
    role = rng.choice(GROUPS[group])
    consent = "yes" if rng.random() < 0.95 else "no"
    note = "" if consent == "yes" else "not to be published"
    return InventedPerson(key, given, family, group, role, f"{key.lower()}@example.org", slot, consent, note)


def _slot(number: int) -> str:
    """Ten people in every ten minutes from nine o'clock, eight hours long; then the day is full."""
    minutes = 9 * 60 + (number - 1) // 10 * 10
    return f"{minutes // 60:02}:{minutes % 60:02}" if minutes < 17 * 60 else ""
