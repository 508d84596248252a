"""What the door answers, in one line each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from zoneinfo import ZoneInfo

from onsite.checkin.desk import Arrival
from onsite.progress.stage import Standing
from onsite.roster.find import Someone
from onsite.roster.publication import BEGINS, Reason, begins_asking, spoken_publication
from onsite.times import clock_time


def arrived(arrival: Arrival, zone: ZoneInfo, namesakes: Sequence[Someone] = ()) -> str:
    """Number, name, and what somebody at the door should know beside it: `namesakes` are those of the same
    name who are still expected."""
    when = clock_time(arrival.at, zone)
    where = f" at {arrival.station}" if arrival.station else ""
    came = f"was here already, since {when}{where}" if arrival.already else f"arrived {when}"
    told = [f"{arrival.sequence}: {arrival.person.name} {came}"]
    if arrival.person.publication.reason is Reason.WALK_IN:
        told.append("not published without a yes: Ctrl+O")
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


def corrected(person: Someone, before: Standing, values: Mapping[str, str], asked: bool) -> str:
    """What a correction changed for publishing, where it did. `asked`: the list had answers before it."""
    if values["consent"] == before.consent:
        return f"{person.name}: corrected"
    said = f"{person.name}: {spoken_publication(person.publication)}"
    begins = not asked and begins_asking(values["consent"], before.walk_in)
    return f"{said}. {BEGINS}" if begins else said


def known_already(known: Sequence[Standing]) -> tuple[str, dict[str, str]]:
    """A question about people who have the name of a walk-in already, and what may be done."""
    name = known[0].person.name
    here = ", ".join(_where(standing) for standing in known[:4])
    choices = {"a": f"another person: let in a second {name}"}
    if len(known) == 1 and known[0].arrived is None:
        choices["c"] = f"the same person: check in {name}"
    return f"{name} is known already: {here}. Is it the same person?", choices


def _where(standing: Standing) -> str:
    group = standing.person.group or standing.person.key
    return f"{group}, {'here' if standing.arrived else 'expected'}"
