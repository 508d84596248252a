"""What comes between the frames of a turn, or into their pictures. See `accidents`."""

from __future__ import annotations

import random

from onsite.simulator.accident_days.simulated_queues import Draft
from onsite.simulator.accident_days.simulated_turns import Shot, Slip, Turn, What, Worn

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
