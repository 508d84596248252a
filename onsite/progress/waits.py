"""Who waits for what, and since when: what is left to do between the shoot and the last delivery."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from onsite.progress.stage import PersonStatus, Stage, stage_of_pick


class WaitingFor(StrEnum):
    """What somebody waits for, or is waited for, in the order in which it comes."""

    PROOF = "proof"
    PICKS = "picks"
    SENDING = "sending"
    RETOUCH = "retouch"
    DELIVERY = "delivery"


WAITING_TEXTS = {
    WaitingFor.PROOF: "no proof yet",
    WaitingFor.PICKS: "proof out, no picks",
    WaitingFor.SENDING: "picks not sent",
    WaitingFor.RETOUCH: "sent, not back",
    WaitingFor.DELIVERY: "back, not delivered",
}
"""The same in words."""

_AT = {
    Stage.PHOTOGRAPHED: WaitingFor.PROOF,
    Stage.PROOFED: WaitingFor.PICKS,
    Stage.PICKED: WaitingFor.SENDING,
    Stage.AT_RETOUCH: WaitingFor.RETOUCH,
    Stage.RETOUCHED: WaitingFor.DELIVERY,
}


@dataclass(frozen=True, slots=True)
class OpenWork:
    """Somebody who waits. `since` is aware, None where no time is known; for a proof it is that of the
    arrival, else that of the first frame."""

    status: PersonStatus
    what: WaitingFor
    since: datetime | None


def open_work_of(status: PersonStatus) -> OpenWork | None:
    """What somebody waits for now; None for whoever is not photographed yet, or has everything."""
    what = _AT.get(status.stage)
    return None if what is None else OpenWork(status, what, _since(status, what))


def _since(status: PersonStatus, what: WaitingFor) -> datetime | None:
    after = status.pictures
    if what is WaitingFor.PROOF:
        return status.arrived or status.first_frame
    if what is WaitingFor.PICKS:
        return after.proofed
    if what is WaitingFor.SENDING:
        return after.picked
    here = [pick for pick in after.picks if stage_of_pick(pick) is status.stage]
    moments = (pick.sent if what is WaitingFor.RETOUCH else pick.received for pick in here)
    return min((moment for moment in moments if moment is not None), default=None)


def open_work(everybody: Iterable[PersonStatus], now: datetime) -> dict[WaitingFor, list[OpenWork]]:
    """Everybody who waits, by what for, longest first; times that lie ahead, or that nobody knows, last."""
    groups: dict[WaitingFor, list[OpenWork]] = {what: [] for what in WaitingFor}
    for person in everybody:
        if (waits := open_work_of(person)) is not None:
            groups[waits.what].append(waits)
    for group in groups.values():
        group.sort(key=lambda work: work.since or now)
    return groups


def open_work_text(groups: Mapping[WaitingFor, Sequence[OpenWork]]) -> str:
    """What is waited for in one line: "proof out, no picks: 12 · at retouch: 3"."""
    return " · ".join(
        f"{WAITING_TEXTS[what]}: {len(people_waiting)}"
        for what, people_waiting in groups.items()
        if people_waiting
    )
