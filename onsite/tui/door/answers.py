"""What the door answers, in one line each."""

from __future__ import annotations

from collections.abc import Sequence
from zoneinfo import ZoneInfo

from onsite.checkin.desk import Arrival
from onsite.checkin.door import TakenBack
from onsite.roster.find import Someone
from onsite.times import clock_time


def arrived(arrival: Arrival, zone: ZoneInfo, namesakes: Sequence[Someone] = ()) -> str:
    """Number, name, and what somebody at the door should know beside it: `namesakes` are those of the same
    name who are still expected."""
    when = clock_time(arrival.at, zone)
    where = f" at {arrival.station}" if arrival.station else ""
    came = f"was here already, since {when}{where}" if arrival.already else f"arrived {when}"
    told = [f"{arrival.sequence}: {arrival.person.name} {came}"]
    if arrival.card:
        told.append(card_tied(arrival))
    if arrival.already and namesakes:
        groups = ", ".join(someone.group or someone.key for someone in namesakes)
        told.append(f"another {arrival.person.name} is expected ({groups})")
    if arrival.withdrawn:
        told.append("no longer on the client's list")
    if arrival.same_name:
        told.append(f"the same name is on the list: {', '.join(arrival.same_name)}. Another person?")
    return "; ".join(told)


def card_tied(arrival: Arrival) -> str:
    before = f", {arrival.card_before}'s until now" if arrival.card_before else ""
    return f"card {arrival.card} is {arrival.person.name}'s{before}"


def taken_back(back: TakenBack) -> str:
    cards = f"; card {', '.join(map(str, back.cards))} is free" if back.cards else ""
    return f"{back.person.name} is expected again; number {back.sequence} stays theirs{cards}"
