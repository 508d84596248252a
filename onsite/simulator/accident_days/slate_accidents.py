"""What goes wrong with slates and turns. Each accident changes a person's turn, or the queue around it.

`AT_THE_SET` holds these and those of `interruptions` by name. A rate is the share of people whom it
strikes. What follows from an accident has shares of its own, named beside it: how often a forgotten slate is
noticed, and so on. They are our own guesses from no source; they matter less than that both cases happen.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import replace

from onsite.core.codes import new_code
from onsite.simulator.accident_days.simulated_interruptions import (
    badge,
    badge_unread,
    cannot_look,
    deleted,
    flash_failed,
    helper,
    light_test,
    like_backdrop,
    long_pause,
    two_people,
)
from onsite.simulator.accident_days.simulated_queues import Draft
from onsite.simulator.accident_days.simulated_turns import (
    QUICK,
    UPSIDE_DOWN,
    Shot,
    Slip,
    Turn,
    slate,
    turn,
)

Strike = Callable[[Draft, Turn, random.Random], None]

NOTICED = 0.3
"""Of forgotten slates: the photographer makes up for it with a tail slate."""
SHOT_AGAIN = 0.2
"""Of slates that do not read: the photographer sees it and takes another."""
NEXT_FORGETS = 0.5
"""After a slate whose person left: the next one steps in without."""
COMES_BACK = 0.7
"""Of those who left: they get their turn later, with a slate."""
BACK_WITHOUT_SLATE = 0.15
"""Of second looks."""
SECOND_WITHOUT_SLATE = 0.25
"""Of those shot on both cameras: the second photographer has no slate of them."""
ONE_SIDED = 0.3
"""Of wrong cards: the other person's slate is right."""
OTHER_MARK = "KWRT"


def forgotten(_: Draft, struck: Turn, rng: random.Random) -> None:
    struck.remove(struck.slates)
    if rng.random() < NOTICED:
        struck.shots.append(_tail(struck, rng))


def unreadable(_: Draft, struck: Turn, rng: random.Random) -> None:
    """A slate is seen and does not read: glare, a thumb."""
    for shot in struck.slates:
        shot.slips = (Slip(None, None),)
    if rng.random() < SHOT_AGAIN and struck.slates:
        struck.insert(1, [_slate(struck, rng)], rng)


def unseen_slate(_: Draft, struck: Turn, __: random.Random) -> None:
    """A slate so shaken, or so far off, that no symbol is found in its frame."""
    for shot in struck.slates:
        shot.slips = ()


def tail(_: Draft, struck: Turn, rng: random.Random) -> None:
    """Held upside down after the portraits, and none before."""
    struck.remove(struck.slates)
    struck.shots.append(_tail(struck, rng))


def upside_down(_: Draft, struck: Turn, __: random.Random) -> None:
    """A head slate held upside down by mistake."""
    for shot in struck.slates:
        shot.slips = tuple(replace(slip, turned=(slip.turned + UPSIDE_DOWN) % 360) for slip in shot.slips)


def twice(_: Draft, struck: Turn, rng: random.Random) -> None:
    """The slate shot twice in a row."""
    if struck.slates:
        struck.insert(1, [_slate(struck, rng)], rng)


def abandoned(day: Draft, struck: Turn, rng: random.Random) -> None:
    """The slate is shot and its person leaves; they come back later, or never."""
    following = day.following(struck)
    if following is not None and rng.random() < NEXT_FORGETS:
        following.remove(following.slates)
        following.struck.append("abandoned (next one forgets)")
    only = Turn(struck.person, struck.outfit, [_slate(struck, rng)], list(struck.struck), struck.swapped_with)
    only.shots[0].after = struck.shots[0].after if struck.shots else 30.0
    day.put(only, struck, 0)
    if rng.random() < COMES_BACK:
        day.put(_again(struck), struck, rng.randint(2, 20))
    day.take_out(struck)


def other_shoot(day: Draft, struck: Turn, rng: random.Random) -> None:
    """The ticket of another shoot, still in the pocket."""
    code = new_code(OTHER_MARK, (), random.Random(f"other/{day.seed}/{rng.random()}"))
    for shot in struck.slates:
        shot.slips = (Slip(None, code),)


def wrong_card_at_once(day: Draft, struck: Turn, rng: random.Random) -> None:
    """Somebody else's slate, noticed at once: the right one follows."""
    other = day.partner(struck, rng)
    if other is not None:
        if not struck.slates:  # forgotten besides: it would never be put right
            struck.insert(0, [_slate(struck, rng)], rng)
        struck.insert(0, [slate(struck.person, struck.outfit, rng, (Slip(other),))], rng)


def wrong_card_never(day: Draft, struck: Turn, rng: random.Random) -> None:
    """Two people have each other's card all day; or one has that of somebody who shows their own as well."""
    other = day.partner(struck, rng)
    theirs = day.turns_of(other) if other is not None else []
    mine = day.turns_of(struck.person)
    if other is None or any(one.swapped_with is not None for one in (*mine, *theirs)):
        return
    for one in mine:
        one.hold_up(other)
        one.swapped_with = other
    for one in theirs if rng.random() > ONE_SIDED else ():
        one.hold_up(struck.person)
        one.swapped_with = struck.person
        one.struck.append("wrong_card_never")


def second_look(day: Draft, struck: Turn, rng: random.Random) -> None:
    """The person comes back in other clothes, some turns later."""
    again = turn(struck.person, rng, outfit=struck.outfit + 1)
    again.struck = list(struck.struck)
    if struck.swapped_with is not None:
        again.hold_up(struck.swapped_with)
        again.swapped_with = struck.swapped_with
    if rng.random() < BACK_WITHOUT_SLATE:
        again.remove(again.slates)
    day.put(again, struck, rng.choice((1, rng.randint(2, 10), rng.randint(10, 80))))


def quick_change(day: Draft, struck: Turn, rng: random.Random) -> None:
    """The next person is there at once, and has no slate."""
    following = day.following(struck)
    if following is not None and following.person != struck.person and following.portraits:
        following.remove(following.slates)
        following.shots[0].after = rng.uniform(*QUICK)
        following.struck.append("quick_change (this one forgets)")


def both_cameras(day: Draft, struck: Turn, rng: random.Random) -> None:
    """Shot on a second camera right after."""
    others = [number for number, queue in enumerate(day.queues) if queue is not day.queue_of(struck)]
    if not others:
        return
    again = turn(struck.person, rng, struck.outfit)
    again.struck = list(struck.struck)
    if struck.swapped_with is not None:
        again.hold_up(struck.swapped_with)
        again.swapped_with = struck.swapped_with
    if rng.random() < SECOND_WITHOUT_SLATE:
        again.remove(again.slates)
    day.put(again, struck, 1, rng.choice(others))


def _tail(struck: Turn, rng: random.Random) -> Shot:
    held = _slate(struck, rng, UPSIDE_DOWN)
    held.after += 3.0
    return held


def _slate(struck: Turn, rng: random.Random, turned: int = 0) -> Shot:
    """The slate that the person has in hand."""
    held = slate(struck.person, struck.outfit, rng, turned=turned)
    if struck.swapped_with is not None:
        held.slips = tuple(replace(slip, of=struck.swapped_with) for slip in held.slips)
    return held


def _again(struck: Turn) -> Turn:
    return Turn(struck.person, struck.outfit, struck.shots, struck.struck, struck.swapped_with)


AT_THE_SET: Mapping[str, Strike] = {
    act.__name__: act
    for act in (
        wrong_card_never,
        second_look,
        both_cameras,
        forgotten,
        unreadable,
        unseen_slate,
        tail,
        upside_down,
        twice,
        other_shoot,
        wrong_card_at_once,
        quick_change,
        abandoned,
        two_people,
        long_pause,
        light_test,
        helper,
        badge,
        badge_unread,
        deleted,
        cannot_look,
        flash_failed,
        like_backdrop,
    )
}
"""By name, in the order in which they strike: what adds turns, what changes slates, what comes on top."""
