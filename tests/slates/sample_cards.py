"""The invented singers whose cards the tests draw."""

from __future__ import annotations

import random

from onsite.core.codes import new_code
from onsite.slates.slate_layout import Ticket

NAMES = [
    "Anneliese Vandenberghe",
    "Zoë Ó Súilleabháin",
    "Δημήτρης Παπαδόπουλος",
    "Евгения Соколова",
    "فاطمة الزهراء",
    "שרה בן־דוד",
    "Bo Li",
    "Nguyễn Thị Ánh",
    "María del Carmen Rodríguez y Gonzales de la Vega",
    "Eve\x1b[31m\nred [bold] \u202etxet",
]


def cards_for(names: list[str]) -> list[Ticket]:
    rng = random.Random(18004)
    return [Ticket(new_code("3479", (), rng), name, "Alto 2", shoot="A festival of choirs") for name in names]
