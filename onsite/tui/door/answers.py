"""What the door answers, in one line each."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from onsite.checkin.desk import Arrival
from onsite.checkin.door import TakenBack
from onsite.times import clock_time


def arrived(arrival: Arrival, zone: ZoneInfo) -> str:
    """Number, name, and what somebody at the door should know beside it."""
    when = clock_time(arrival.at, zone)
    where = f" at {arrival.station}" if arrival.station else ""
    came = f"was here already, since {when}{where}" if arrival.already else f"arrived {when}"
    told = [f"{arrival.sequence}: {arrival.person.name} {came}"]
    if arrival.card:
        told.append(card_tied(arrival))
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
