"""Messages of the Door, in one line each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from zoneinfo import ZoneInfo

from onsite.checkin.waiting_people import Arrival
from onsite.core.times import format_clock_time
from onsite.roster.find_people import RosterPerson
from onsite.roster.publication_consent import (
    FIRST_YES_NOTE,
    WithholdingReason,
    is_first_yes,
    publication_text,
)
from onsite.status.person_status import PersonStatus
from onsite.status.picture_status import already_out_text


def arrival_message(arrival: Arrival, zone: ZoneInfo, namesakes: Sequence[RosterPerson] = ()) -> str:
    """Number, name, and what the person at the door should know besides.

    `namesakes` are people of the same name who are still expected.
    """
    when = format_clock_time(arrival.at, zone)
    where = f" at {arrival.station}" if arrival.station else ""
    came = f"was here already, since {when}{where}" if arrival.is_repeated else f"arrived {when}"
    sentences = [f"{arrival.sequence}: {arrival.person.name} {came}"]
    if arrival.person.publication.reason is WithholdingReason.WALK_IN:
        sentences.append("not published without a yes: Ctrl+O")
    if arrival.is_offline:
        sentences.append("kept on this machine until the server is back")
    if arrival.card:
        sentences.append(card_assigned_message(arrival))
    if arrival.is_repeated and namesakes:
        groups = ", ".join(namesake.group or namesake.key for namesake in namesakes)
        sentences.append(f"another {arrival.person.name} is expected ({groups})")
    if arrival.withdrawn:
        sentences.append("no longer on the client's list")
    if arrival.same_name:
        sentences.append(f"the same name is on the list: {', '.join(arrival.same_name)}. Another person?")
    return "; ".join(sentences)


def card_assigned_message(arrival: Arrival) -> str:
    """That a deck card is assigned, and whose it was before."""
    before = f", {arrival.card_before}'s until now" if arrival.card_before else ""
    return f"deck card {arrival.card} is {arrival.person.name}'s{before}"


def card_question(card: str | int, person: RosterPerson, holder: PersonStatus | None) -> str:
    """The question before a deck card is assigned to a person; `holder` waits with it."""
    if holder is not None:
        return f"{holder.person.name} waits with deck card {card}. Is it {person.name}'s now?"
    number = f", number {person.sequence}" if person.sequence else ""
    return f"Deck card {card} for {person.name}{number}?"


def corrected_message(
    person: RosterPerson, before: PersonStatus, values: Mapping[str, str], asked: bool
) -> str:
    """What a correction changed about publication, if anything.

    `asked` says whether the list had answers about consent before.
    """
    out = already_out_text(before.pictures)
    if values["consent"] == before.consent:
        known = replace(person, publication=before.person.publication) == before.person
        same = known and (values["spoken"], values["note"]) == (before.spoken, before.note)
        said = f"{person.name}: nothing was changed" if same else f"{person.name}: corrected"
        return f"{said}. {out}" if out and person.name != before.person.name else said
    said = f"{person.name}: {publication_text(person.publication)}"
    if out and not person.publication.allowed:
        return f"{said}. {out}"
    begins = not asked and is_first_yes(values["consent"], before.walk_in)
    return f"{said}. {FIRST_YES_NOTE}" if begins else said


def known_person_message(known: Sequence[PersonStatus]) -> tuple[str, dict[str, str]]:
    """The question about people who have a walk-in's name already, and the possible answers."""
    name = known[0].person.name
    here = ", ".join(_whereabouts(status) for status in known[:4])
    choices = {"a": f"another person: let in a second {name}"}
    if len(known) == 1 and known[0].arrived is None:
        choices["c"] = f"the same person: check in {name}"
    return f"{name} is known already: {here}. Is it the same person?", choices


def _whereabouts(status: PersonStatus) -> str:
    group = status.person.group or status.person.key
    return f"{group}, {'here' if status.arrived else 'expected'}"


def here_already_answer(arrival: Arrival, zone: ZoneInfo) -> str:
    """The loud answer where somebody has arrived before; empty for a new arrival."""
    if not arrival.is_repeated:
        return ""
    where = f" at {arrival.station}" if arrival.station else ""
    return f"! ALREADY HERE: number {arrival.sequence}\n  since {format_clock_time(arrival.at, zone)}{where}"
