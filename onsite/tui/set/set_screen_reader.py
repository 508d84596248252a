"""Reads the state of the set, the cameras and who waits, in a worker thread."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from onsite.checkin.waiting_people import WaitingPerson, waiting_people
from onsite.reconcile.camera_on_set import CameraNow, SetCamera, cameras_now, read_camera_now
from onsite.reconcile.measured_clocks import MeasuredClock, measured_clocks
from onsite.status.person_status import PersonStatus
from onsite.store.shoot import Shoot


@dataclass(frozen=True, slots=True)
class SetNow:
    """The state of the set.

    `on` maps each camera's id to its state; `camera` is the camera shown, None without frames. `clocks` are
    those that a clock slate measured, by camera id.
    """

    cameras: tuple[SetCamera, ...] = ()
    camera: int | None = None
    on: Mapping[int, CameraNow] = field(default_factory=dict)
    waiting: tuple[WaitingPerson[PersonStatus], ...] = ()
    clocks: Mapping[int, MeasuredClock] = field(default_factory=dict)

    @property
    def clock(self) -> str:
        """The clock of the camera shown, or that no clock slate measured it; empty without frames."""
        if self.camera is None:
            return ""
        clock = self.clocks.get(self.camera)
        if clock is None:
            return "No clock slate yet. Press C."
        return f"clock: {clock.text}{'. Set since: press C.' if clock.set_since else ''}"

    @property
    def shown(self) -> CameraNow | None:
        return self.on.get(self.camera or 0)


class SetReader:
    """Reads only what may have changed; of the cameras not shown, those with new frames."""

    def __init__(self, shoot: Shoot) -> None:
        self._shoot = shoot
        self._kept: dict[int, tuple[int, CameraNow]] = {}

    def read(
        self, wanted: int | None, landed: int | None, statuses: Mapping[int, PersonStatus], fresh: bool
    ) -> Iterator[SetNow]:
        """Yield the state with the camera shown up to date, then again with the others.

        The camera shown is `wanted`, else the camera of the frame `landed`, else the camera with the newest
        frame. With `fresh` it is read in any case. Raises Problem.
        """
        cameras = cameras_now(self._shoot)
        shown = _choose(cameras, wanted, landed)
        stale = [camera for camera in cameras if self._kept.get(camera.id, (0,))[0] != camera.newest]
        for camera in cameras:
            if camera.id == shown and (fresh or camera in stale):
                self._read(camera, statuses)
        yield self._now(cameras, shown, statuses)
        others = [camera for camera in stale if camera.id != shown]
        for camera in others:
            self._read(camera, statuses)
        if others:
            yield self._now(cameras, shown, statuses)

    def _read(self, camera: SetCamera, statuses: Mapping[int, PersonStatus]) -> None:
        self._kept[camera.id] = camera.newest, read_camera_now(self._shoot, camera.id, statuses)

    def _now(
        self, cameras: Sequence[SetCamera], shown: int | None, statuses: Mapping[int, PersonStatus]
    ) -> SetNow:
        on = {camera.id: self._kept[camera.id][1] for camera in cameras if camera.id in self._kept}
        waiting = _queue(on, statuses, self._shoot.now())
        with self._shoot.reading() as session:
            clocks = measured_clocks(session, self._shoot)
        return SetNow(tuple(cameras), shown, on, waiting, clocks)


def _choose(cameras: list[SetCamera], wanted: int | None, landed: int | None) -> int | None:
    if wanted in {camera.id for camera in cameras}:
        return wanted
    newest = max(cameras, key=lambda camera: camera.newest, default=None)
    for camera in cameras:
        if landed is not None and camera.newest == landed:
            return camera.id
    return newest.id if newest is not None else None


def _queue(
    on: Mapping[int, CameraNow], statuses: Mapping[int, PersonStatus], now: datetime
) -> tuple[WaitingPerson[PersonStatus], ...]:
    """Who waits. People on frames that are not matched yet, and whoever is at a camera, wait no more."""
    here: set[int] = set()
    for camera in on.values():
        here |= camera.people
    return tuple(waiting_people(statuses.values(), now, here))
