"""What the door and the stations know of the day: arrivals, deck cards and whose, slates shown."""

from __future__ import annotations

import heapq
import math
import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from onsite.core.codes import new_code
from onsite.matching.evidence import CardAssignment, SlateShown
from onsite.simulator.accident_days.simulated_queues import Draft, Staged

TYPED_LATE, NEVER_TYPED = "typed_late", "never_typed"
"""Check-ins that are typed in after the frames, with the time of typing, or not at all."""
CARDS_AGAIN = "cards_again"
"""Nearly half of the people get a deck card, and as soon as a card comes back it goes to the next one."""
TIED_LATE = "card_tied_late"
"""A deck card is handed over and only tied to its person after their frames. Its day uses cards again."""
LET_THROUGH = "let_through"
"""Somebody who has just arrived is photographed at once, before all who wait."""
AT_THE_DOOR = (CARDS_AGAIN, TYPED_LATE, NEVER_TYPED, TIED_LATE, LET_THROUGH)

CARD_SHARE = 0.1
"""Of people: they have a deck card instead of a ticket. The rates here are our own choice."""
CARD_SHARE_AGAIN = 0.45
"""The same on days on which deck cards are handed round again."""
SHOWN_SHARE = 0.85
"""Of turns on days that keep a log of slates shown."""
SHOWN_AND_FORGOTTEN = 0.6
"""Of turns without a slate, on such days: it was shown and not photographed."""
LOG_DAYS = 0.4
LET_OTHERS_GO = 0.07
"""Of groups and single people: they came early and let others go first."""


@dataclass
class Door:
    """`arrived` as it is known; `cards` by code; `held` is the card of those who have one."""

    codes: dict[int, str]
    arrived: dict[int, float] = field(default_factory=dict)
    cards: dict[str, list[CardAssignment]] = field(default_factory=dict)
    held: dict[int, str] = field(default_factory=dict)

    def slate_of(self, person: int) -> str:
        return self.held.get(person) or self.codes[person]


def door(
    day: Draft,
    shoot: str,
    first: Mapping[int, float],
    last: Mapping[int, float],
    rates: Mapping[str, float],
    again: bool,
) -> Door:
    """`first` and `last` are the true times of everybody's first and last exposures. `again`: deck cards are
    used again on this day."""
    rng = random.Random(f"door/{day.seed}")
    drawn: set[str] = set()

    def code() -> str:
        drawn.add(new := new_code(shoot, drawn, rng))
        return new

    found = Door({person: code() for person in range(1, day.people + 1)})
    came = arrivals(day, first, rng)
    _let_through(came, first, rates.get(LET_THROUGH, 0.0), day)
    came = dict(sorted(came.items(), key=lambda pair: (pair[1], pair[0])))
    _hand_out(found, came, last, again, code, rng)
    late = {
        name: struck(day.people, rates.get(name, 0.0), rng) for name in (TYPED_LATE, NEVER_TYPED, TIED_LATE)
    }
    for person, at in came.items():
        known = at + rng.uniform(0, 20)
        after = max(last.get(person, at), at) + rng.uniform(600, 9000)
        if person not in late[NEVER_TYPED]:
            found.arrived[person] = after if person in late[TYPED_LATE] else known
        if person in late[TIED_LATE] and person in found.held:
            ties = found.cards[found.held[person]]
            ties[:] = sorted(
                (CardAssignment(after, person) if tie.person == person else tie for tie in ties),
                key=lambda tie: tie.at,
            )
    return found


def _let_through(came: dict[int, float], first: Mapping[int, float], rate: float, day: Draft) -> None:
    rng = random.Random(f"{LET_THROUGH}/{day.seed}")
    for person in sorted(struck(day.people, rate, rng)):
        if person in first:
            came[person] = first[person] - rng.uniform(40, 150)


def struck(people: int, rate: float, rng: random.Random) -> set[int]:
    """Whom an accident strikes: at least one person where its rate is not 0."""
    number = min(max(round(rate * people), 1), people) if rate else 0
    return set(rng.sample(range(1, people + 1), number))


def arrivals(day: Draft, first: Mapping[int, float], rng: random.Random) -> dict[int, float]:
    """When people came, in order: first come, first served, but for `LET_OTHERS_GO`. The queue grows and
    shrinks over the day, so that one waits from 4 to 20 minutes; groups come within two minutes."""
    came: dict[int, float] = {}
    wave = rng.uniform(0, 2 * math.pi)
    for group in day.groups:
        turns = [first[person] for person in group if person in first]
        if not turns:
            continue
        waited = 720.0 + 420.0 * math.sin(wave + min(turns) / 2000.0) + rng.gauss(0, 45.0)
        if rng.random() < LET_OTHERS_GO:
            waited += rng.uniform(300, 3000)
        came |= {person: min(turns) - waited + rng.uniform(0, 120) for person in group if person in first}
    times = list(first.values())
    came |= {person: rng.choice(times) - 600.0 for person in day.never_shot if times}
    return dict(sorted(came.items(), key=lambda pair: (pair[1], pair[0])))


def _hand_out(
    found: Door,
    came: Mapping[int, float],
    last: Mapping[int, float],
    again: bool,
    code: Callable[[], str],
    rng: random.Random,
) -> None:
    """Deck cards in order of arrival; a card that is used again comes back after its person's last frame."""
    free: list[tuple[float, str]] = [(0.0, code()) for _ in range(25)] if again else []
    heapq.heapify(free)
    found.cards |= {text: [] for _, text in free}
    for person, at in came.items():
        if rng.random() > (CARD_SHARE_AGAIN if again else CARD_SHARE):
            continue
        if not again:
            text = code()
        elif free and free[0][0] <= at:
            _, text = heapq.heappop(free)
        else:
            continue
        found.held[person] = text
        found.cards.setdefault(text, []).append(CardAssignment(at + rng.uniform(5, 40), person))
        if again:
            heapq.heappush(free, (last.get(person, at + 3600.0) + rng.uniform(30, 240), text))


def showings(staged: Sequence[Sequence[Staged]], rng: random.Random) -> list[SlateShown]:
    """The log of slates shown at the set, on days that keep one."""
    if rng.random() > LOG_DAYS:
        return []
    shown: list[SlateShown] = []
    for camera, lane in enumerate(staged, 1):
        for first in {shot.number: shot for shot in reversed(lane)}.values():  # the first shot of each turn
            held = [slip.of for shot in first.turn.slates for slip in shot.slips if slip.of is not None]
            if rng.random() < (SHOWN_SHARE if held else SHOWN_AND_FORGOTTEN):
                person = held[0] if held else first.turn.person
                shown.append(SlateShown(first.at - rng.uniform(3, 25), person, f"set-{camera}"))
    return sorted(shown, key=lambda showing: (showing.at, showing.person))
