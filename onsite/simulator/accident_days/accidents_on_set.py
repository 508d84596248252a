"""What goes wrong with slates and turns. Each accident changes a person's turn, or the queue around it.

First what comes between the frames of a turn, or into their pictures; then what happens to its slate. A rate
is the share of people whom it strikes. What follows from an accident has shares of its own, named beside it:
how often a forgotten slate is noticed, and so on. They are our own guesses from no source; they matter less
than that both cases happen.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import replace

from onsite.core.codes import new_code
from onsite.simulator.accident_days.simulated_queues import Draft
from onsite.simulator.accident_days.simulated_turns import (
    QUICK,
    UPSIDE_DOWN,
    Shot,
    Slip,
    Turn,
    What,
    Worn,
    slate,
    turn,
)

BETWEEN_TURNS = 0.6
"""Of light tests and of helpers standing in; the others are in the middle of somebody's run."""


def long_pause(_: Draft, struck: Turn, rng: random.Random) -> None:
    """One to five minutes in the middle of a run: a phone, a tie, a flat battery."""
    if len(struck.portraits) > 1:
        rng.choice(struck.portraits[1:]).after += rng.uniform(60, 300)


def light_test(_: Draft, struck: Turn, rng: random.Random) -> None:
    """One to three frames of the empty backdrop."""
    _step_in(struck, [Shot(rng.uniform(4, 15), What.TEST) for _ in range(rng.randint(1, 3))], rng)


def helper(_: Draft, struck: Turn, rng: random.Random) -> None:
    """A helper, who is on no list, stands in for one to three test shots."""
    who = Worn(-rng.randint(1, 3))
    _step_in(
        struck, [Shot(rng.uniform(4, 15), What.HELPER, worn=(who,)) for _ in range(rng.randint(1, 3))], rng
    )


def badge(_: Draft, struck: Turn, rng: random.Random) -> None:
    """A conference badge, or a poster on the wall, with a QR code of something else."""
    text = rng.choice((f"https://example.org/b/{rng.randrange(10_000)}", "WIFI:S:guests;;", "BEGIN:VCARD"))
    for shot in struck.shots:
        if rng.random() < 0.7:
            shot.slips = (*shot.slips, Slip(None, text, rng.choice((0, 3, 180))))


def badge_unread(_: Draft, struck: Turn, rng: random.Random) -> None:
    """A badge's code that is found in a portrait or two and does not read."""
    for shot in rng.sample(struck.portraits, min(len(struck.portraits), rng.randint(1, 2))):
        shot.slips = (*shot.slips, Slip(None, None))


def two_people(day: Draft, struck: Turn, rng: random.Random) -> None:
    """The next in the queue steps in for the last portraits, or somebody's friend."""
    following = day.following(struck)
    if following is None or following.person == struck.person:
        return
    other = Worn(following.person, following.outfit)
    for shot in struck.portraits[-rng.randint(1, 2) :]:
        shot.on, shot.worn = (*shot.on, other.person), (*shot.worn, other)


def deleted(_: Draft, struck: Turn, rng: random.Random) -> None:
    """One to three frames of a turn are deleted in the camera, the slate as likely as any other."""
    for shot in rng.sample(struck.shots, min(len(struck.shots), rng.randint(1, 3))):
        shot.deleted = True


def cannot_look(_: Draft, struck: Turn, rng: random.Random) -> None:
    """A frame's picture cannot be looked at."""
    rng.choice(struck.shots).looked_at = False


def flash_failed(_: Draft, struck: Turn, rng: random.Random) -> None:
    """The flash does not fire for a frame or two."""
    start = rng.randrange(len(struck.shots))
    for shot in struck.shots[start : start + rng.randint(1, 2)]:
        shot.lit = False


def like_backdrop(_: Draft, struck: Turn, rng: random.Random) -> None:
    """Clothes of the backdrop's colour: nobody seems to be there, in all frames or behind the slate only."""
    for shot in struck.slates if rng.random() < 0.5 else struck.shots:
        shot.like_backdrop = shot.what in (What.SLATE, What.PORTRAIT)


def _step_in(struck: Turn, shots: list[Shot], rng: random.Random) -> None:
    """Puts tests behind a turn, or into its middle."""
    shots[0].after = rng.uniform(10, 35)
    if rng.random() < BETWEEN_TURNS or len(struck.portraits) < 2:
        struck.shots += shots
    else:
        place = struck.shots.index(rng.choice(struck.portraits[1:]))
        struck.shots[place].after += rng.uniform(5, 20)
        struck.shots[place:place] = shots


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
    others = day.turns_of(other) if other is not None else []
    mine = day.turns_of(struck.person)
    if other is None or any(taken.swapped_with is not None for taken in (*mine, *others)):
        return
    for swapped in mine:
        swapped.hold_up(other)
        swapped.swapped_with = other
    for swapped in others if rng.random() > ONE_SIDED else ():
        swapped.hold_up(struck.person)
        swapped.swapped_with = struck.person
        swapped.struck.append("wrong_card_never")


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
