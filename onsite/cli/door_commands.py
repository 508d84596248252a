"""The commands `onsite checkin`, `onsite walkin` and `onsite consent`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from typer import Argument, Option

from onsite.cli.common_options import open_chosen_shoot, station
from onsite.cli.output import print_answer, print_answer_with_names, print_text
from onsite.core.errors import Problem

if TYPE_CHECKING:
    from onsite.checkin.check_in import Arrival
    from onsite.store.shoot import Shoot


_Card = Annotated[str | None, Option(metavar="CARD", help="The number of the deck card that they get.")]
_Time = Annotated[str | None, Option(metavar="TIME", help="When, such as 2027-06-12T14:05; else now.")]
_Station = Annotated[str | None, Option("--station", metavar="STATION", help="The station, such as door-1.")]


def checkin(
    who: Annotated[
        list[str] | None,
        Argument(metavar="WHO | undo WHO", help="A name that fits one person, a number, a code or a key."),
    ] = None,
    card: _Card = None,
    at: _Time = None,
    at_station: _Station = None,
    list_: Annotated[
        Path | None, Option("--from", metavar="FILE.csv", help="A paper list, typed in: who,at,card,station.")
    ] = None,
) -> None:
    """Check somebody in, and give them a number; `undo` takes it back."""
    from onsite.checkin.check_in import check_in, undo_arrival, undone_arrival_text
    from onsite.core.times import parse_time

    shoot, words, here = open_chosen_shoot(), who or [], station(at_station)
    if list_ is not None:
        if words:
            raise Problem("--from takes the people from the file.", "Leave WHO away.")
        return _from_list(shoot, list_, here)
    if not words:
        raise Problem("Who has arrived?", "onsite checkin WHO: a key, a code, a number or a name.")
    if words[0] == "undo" and len(words) > 1:
        back = undo_arrival(shoot, " ".join(words[1:]), station=here)
        data = {"undone": True, "key": back.person.key, "name": back.person.name, "sequence": back.sequence}
        if back.removed:
            data |= {"removed": True, "frames": back.frames}
        return print_answer_with_names(shoot, data, undone_arrival_text(back))
    moment = parse_time(at, shoot.zone, shoot.day) if at else None
    _tell(shoot, check_in(shoot, " ".join(words), at=moment, station=here, card=card))


def walkin(
    given: Annotated[str, Option(metavar="NAME", help="Given name.")] = "",
    family: Annotated[str, Option(metavar="NAME", help="Family name.")] = "",
    group: Annotated[str, Option(metavar="GROUP", help="Group.")] = "",
    email: Annotated[str, Option(metavar="ADDRESS", help="Mail address.")] = "",
    consent: Annotated[
        str, Option(metavar="yes|no", help="Whether they may be published; without a yes they are not.")
    ] = "",
    card: _Card = None,
    at: _Time = None,
    at_station: _Station = None,
    another: Annotated[
        bool, Option("--another", help="Another person than the one who has this name already.")
    ] = False,
    new_group: Annotated[bool, Option("--new-group", help="A group that is not there yet.")] = False,
) -> None:
    """Check in somebody who is not on the list."""
    from onsite.checkin.walk_ins_and_corrections import add_walk_in
    from onsite.core.times import parse_time
    from onsite.roster.roster_groups import UnknownGroup

    shoot, here = open_chosen_shoot(), station(at_station)
    moment = parse_time(at, shoot.zone, shoot.day) if at else None
    try:
        arrival = add_walk_in(
            shoot, given, family, group, email, card, moment, here, another, consent, new_group
        )
    except UnknownGroup as problem:
        raise Problem(problem.what, f"{problem.remedy} For a new one: --new-group") from problem
    _tell(shoot, arrival)


def consent(
    who: Annotated[str, Argument(metavar="WHO", help="Whose answer it is.")],
    given: Annotated[str, Argument(metavar="yes|no", help="Whether they may be published.")],
    at_station: _Station = None,
) -> None:
    """Write down what somebody says about being published."""
    from onsite.checkin.check_in import resolve_roster_person
    from onsite.checkin.walk_ins_and_corrections import correct_person
    from onsite.roster.parse_consent import Consent, parse_consent
    from onsite.roster.publication_consent import FIRST_YES_NOTE, publication_text
    from onsite.roster.read_people import asks_consent
    from onsite.status.picture_status import NO_PICTURES, already_out_text, read_picture_statuses

    if parse_consent(given) not in (Consent.YES, Consent.NO):
        raise Problem(f"{given} is neither a yes nor a no.", "onsite consent WHO yes, or no.")
    shoot = open_chosen_shoot()
    with shoot.reading() as session:
        asked = asks_consent(session)
    person = correct_person(
        shoot, resolve_roster_person(shoot, who).id, {"consent": given}, station(at_station)
    )
    with shoot.reading() as session:
        begins = not asked and asks_consent(session)
        pictures = read_picture_statuses(session).get(person.id, NO_PICTURES)
    out = "" if person.publication.allowed else already_out_text(pictures)

    def text() -> None:
        print_text(f"{person.name}: {publication_text(person.publication)}. {out}".rstrip())
        if begins:
            print_text(f"  {FIRST_YES_NOTE}")

    print_answer({"key": person.key, "name": person.name, **person.publication.data()}, text)


def arrival_data(shoot: Shoot, arrival: Arrival) -> dict[str, Any]:
    """The JSON object of an arrival."""
    return {
        "key": arrival.person.key,
        "name": arrival.person.name,
        "group": arrival.person.group,
        "code": arrival.person.code,
        "sequence": arrival.sequence,
        "at": arrival.at.astimezone(shoot.zone).isoformat(),
        "station": arrival.station,
        "card": arrival.card,
        "card_before": arrival.card_before,
        "already": arrival.is_repeated,
        "withdrawn": arrival.withdrawn,
        "same_name": list(arrival.same_name),
        **arrival.person.publication.data(),
    }


def _tell(shoot: Shoot, arrival: Arrival) -> None:
    from onsite.core.times import format_clock_time

    def text() -> None:
        when = format_clock_time(arrival.at, shoot.zone)
        where = f" at {arrival.station}" if arrival.station else ""
        came = f"was here already, since {when}{where}" if arrival.is_repeated else f"arrived {when}"
        card = f", card {arrival.card}" if arrival.card else ""
        print_text(f"{arrival.sequence}: {arrival.person.name}, {came}{card}")
        for notice in _notices(arrival):
            print_text(f"  {notice}")

    if arrival.card is None:
        print_answer(arrival_data(shoot, arrival), text)
    else:
        print_answer_with_names(shoot, arrival_data(shoot, arrival), text)


def _notices(arrival: Arrival) -> list[str]:
    """What the person at the door should know about an arrival, beside the number."""
    notices = []
    if arrival.withdrawn:
        notices.append("no longer on the client's list")
    if arrival.card_before:
        notices.append(f"the card was {arrival.card_before}'s until then")
    if arrival.same_name:
        notices.append(f"the same name is on the list: {', '.join(arrival.same_name)}")
    if (reason := arrival.person.publication.reason) is not None:
        notices.append(f"not published: {reason}")
    return notices


def _from_list(shoot: Shoot, path: Path, here: str) -> None:
    from onsite.checkin.paper_check_in_list import check_in_list

    paper = check_in_list(shoot, path, station=here)
    data = {
        "arrived": [arrival_data(shoot, arrival) for arrival in paper.done],
        "already": len(paper.already),
        "refused": [{"row": row, "reason": reason} for row, reason in paper.refused],
        "ignored": list(paper.ignored),
    }

    def text() -> None:
        done, already, refused = len(paper.done), len(paper.already), len(paper.refused)
        print_text(f"{done} arrived, {already} were here already, {refused} refused.")
        for arrival in (*paper.done, *paper.already):
            for notice in _notices(arrival):
                print_text(f"  {arrival.person.name}: {notice}")
        for row, reason in paper.refused:
            print_text(f"  refused: row {row}: {reason}")
        if paper.ignored:
            print_text(f"  Columns that mean nothing here: {', '.join(paper.ignored)}")

    print_answer_with_names(shoot, data, text, in_part=bool(paper.refused))
