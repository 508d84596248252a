"""Picks chosen with pictures: what may be chosen, and how it is kept."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

from onsite.problems import Problem
from onsite.progress.after import NOTHING_YET, After, read_after
from onsite.progress.theirs import frames_of_person
from onsite.store.record import Kind, add
from onsite.store.shoot import Shoot

FROM = "the desk"
"""Where such picks come from, in the record."""


def turned(chosen: Sequence[int], frame: int, most: int) -> tuple[int, ...]:
    """The choice with this frame put in at the end, or taken out. Raises Problem where it would be more than
    `most`, which was agreed."""
    if frame in chosen:
        return tuple(other for other in chosen if other != frame)
    if len(chosen) >= most:
        agreed = "One picture was" if most == 1 else f"{most} pictures were"
        raise Problem(f"{agreed} agreed.", "Take one out first.")
    return (*chosen, frame)


def picks(chosen: Sequence[int], before: After) -> dict[str, Any]:
    """The choice as the record keeps it. Notes on frames that stay chosen stay, and the general one too."""
    notes = {str(pick.frame): pick.note for pick in before.picks if pick.note and pick.frame in chosen}
    return {"frames": list(chosen), "notes": notes, "note": before.note if chosen else "", "from": FROM}


def refuse_strangers(chosen: Collection[int], theirs: Collection[int]) -> None:
    """Raises Problem where a frame is not, or no longer, under the person's name."""
    strange = sorted(set(chosen) - set(theirs))
    if strange:
        raise Problem(f"f{strange[0]} is not under their name any more: nothing was kept.", "Choose again.")


def keep_picks(shoot: Shoot, person_id: int, chosen: Sequence[int], before: After, station: str) -> None:
    """Records the choice made over `before`. Raises Problem where a frame is not the person's, or where their
    picks came from elsewhere meanwhile: the newer word is not lost under the older one."""
    with shoot.writing() as session:
        refuse_strangers(chosen, [theirs.frame for theirs in frames_of_person(session, person_id)])
        now = read_after(session, [person_id]).get(person_id, NOTHING_YET)
        if (now.picked, now.note, _noted(now)) != (before.picked, before.note, _noted(before)):
            raise Problem("Their picks have just come from elsewhere: nothing was kept.", "Look again.")
        details = picks(chosen, now)
        add(session, Kind.PICKED, shoot.now(), station=station, person_id=person_id, **details)


def _noted(after: After) -> list[tuple[int, str]]:
    return [(pick.frame, pick.note) for pick in after.picks]
