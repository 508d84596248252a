"""Real sets are not still: framing, light, white balance, clothes and what people hold change from frame to
frame, somebody passes behind, friends dress alike, and the next person may be there in six seconds.

All shares are our own guesses from no source.
"""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import pairwise

from onsite.simulator.accident_days.simulated_queues import Draft
from onsite.simulator.accident_days.simulated_turns import Turn, What
from onsite.simulator.invented_exposure import FrameConditions, Prop

ZOOMS = 1.0, 1.0, 1.2, 1.45, 1.8
"""From head to waist to head and shoulders."""
STOPS = 1 / 3
"""Most that light is off, in stops."""
WHITE_BALANCE = 0.08
"""Standard deviation of red and of blue against green, in stops."""
WITH_PROP = 0.4
"""Of people: they hold an instrument or a folder from some frame on."""
TAKES_JACKET_OFF = 0.3
"""Of people, if they wear one."""
PASSES_BEHIND = 0.06
"""Of frames."""
DRESSED_ALIKE = 0.25
"""Of people: they wear what the person before them wears."""
AT_ONCE = 0.15
"""Of turns: the next person is there after six seconds."""
SIX_SECONDS = 5.0, 7.0  # least and most of these pauses


def vary_conditions(day: Draft) -> None:
    """Give every shot of the day its conditions."""
    rng = random.Random(f"set/{day.seed}")
    alike = _dressed_alike(day, rng)
    for queue in day.queues:
        for turn in queue:
            _vary_turn(turn, day, rng)
            for shot in turn.shots:
                shot.worn = tuple(replace(worn, dressed_as=alike.get(worn.person)) for worn in shot.worn)


def _dressed_alike(day: Draft, rng: random.Random) -> dict[int, int]:
    """By person whose clothes theirs equal: those of somebody who stands before them."""
    alike: dict[int, int] = {}
    for queue in day.queues:
        people = [turn.person for turn in queue]
        for before, person in pairwise(people):
            if before != person and person not in alike and rng.random() < DRESSED_ALIKE:
                worn = alike.get(before, before)
                if worn != person:
                    alike[person] = worn
    return alike


def _vary_turn(turn: Turn, day: Draft, rng: random.Random) -> None:
    many = max(len(turn.shots), 1)
    prop_from = rng.randrange(many) if rng.random() < WITH_PROP else many
    jacket_until = rng.randrange(1, many + 1) if rng.random() < TAKES_JACKET_OFF else many
    prop = rng.choice(list(Prop))
    if turn.shots and rng.random() < AT_ONCE:
        turn.shots[0].after = rng.uniform(*SIX_SECONDS)
    for place, shot in enumerate(turn.shots):
        shot.conditions = FrameConditions(
            zoom=1.0 if shot.what is What.SLATE else rng.choice(ZOOMS),
            stops=rng.uniform(-STOPS, STOPS),
            red=rng.gauss(0, WHITE_BALANCE),
            blue=rng.gauss(0, WHITE_BALANCE),
            prop=prop if place >= prop_from and shot.what is What.PORTRAIT else None,
            without_jacket=place >= jacket_until,
            passer_by=str(rng.randint(1, day.people)) if rng.random() < PASSES_BEHIND else None,
            passes_at=rng.choice((-1, 1)) * rng.uniform(0.4, 0.75),
        )
