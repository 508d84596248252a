"""Who waits for what, and since when: what is left to do between the shoot and the last delivery."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from onsite.progress.stage import Stage, Standing, stage_of_pick


class Wait(StrEnum):
    """What somebody waits for, or is waited for, in the order in which it comes."""

    PROOF = "proof"
    PICKS = "picks"
    SENDING = "sending"
    RETOUCH = "retouch"
    DELIVERY = "delivery"


TOLD = {
    Wait.PROOF: "no proof yet",
    Wait.PICKS: "proof out, no picks",
    Wait.SENDING: "picks not sent",
    Wait.RETOUCH: "sent, not back",
    Wait.DELIVERY: "back, not delivered",
}
"""The same in words."""

_AT = {
    Stage.PHOTOGRAPHED: Wait.PROOF,
    Stage.PROOFED: Wait.PICKS,
    Stage.PICKED: Wait.SENDING,
    Stage.AT_RETOUCH: Wait.RETOUCH,
    Stage.RETOUCHED: Wait.DELIVERY,
}


@dataclass(frozen=True, slots=True)
class Waits:
    """Somebody who waits. `since` is aware, None where no time is known; for a proof it is that of the
    arrival, else that of the first frame."""

    standing: Standing
    what: Wait
    since: datetime | None


def wait_of(standing: Standing) -> Waits | None:
    """What somebody waits for now; None for whoever is not photographed yet, or has everything."""
    what = _AT.get(standing.stage)
    return None if what is None else Waits(standing, what, _since(standing, what))


def _since(standing: Standing, what: Wait) -> datetime | None:
    after = standing.after
    if what is Wait.PROOF:
        return standing.arrived or standing.first_frame
    if what is Wait.PICKS:
        return after.proofed
    if what is Wait.SENDING:
        return after.picked
    here = [pick for pick in after.picks if stage_of_pick(pick) is standing.stage]
    moments = (pick.sent if what is Wait.RETOUCH else pick.received for pick in here)
    return min((moment for moment in moments if moment is not None), default=None)


def who_waits(everybody: Iterable[Standing], now: datetime) -> dict[Wait, list[Waits]]:
    """Everybody who waits, by what for, longest first; times that lie ahead, or that nobody knows, last."""
    groups: dict[Wait, list[Waits]] = {what: [] for what in Wait}
    for standing in everybody:
        if (waits := wait_of(standing)) is not None:
            groups[waits.what].append(waits)
    for those in groups.values():
        those.sort(key=lambda one: one.since or now)
    return groups


def spoken_waits(groups: Mapping[Wait, Sequence[Waits]]) -> str:
    """What is waited for in one line: "proof out, no picks: 12 · at retouch: 3"."""
    return " · ".join(f"{TOLD[what]}: {len(those)}" for what, those in groups.items() if those)
