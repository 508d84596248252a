"""One press of the shutter in the invented day: what the file says, and the truth about it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum


class ExposureKind(StrEnum):
    """What a frame truly is."""

    PORTRAIT = "portrait"
    SLATE = "slate"
    TEST = "test"


class SlateDamage(StrEnum):
    """Why a slate does not read. A reader can still find a glared or covered one, hardly a shaken one."""

    GLARE = "glare"
    COVERED = "covered"
    SHAKEN = "shaken"


class SlateForm(StrEnum):
    """What the code is on."""

    TICKET = "ticket"
    CARD = "deck card"
    SCREEN = "screen"


@dataclass(frozen=True, slots=True)
class SimulatedCamera:
    """A body. Its clock is `error` fast (negative: slow); some bodies do not write an offset tag."""

    label: str
    make: str
    model: str
    serial: str
    prefix: str
    folder: str
    error: timedelta
    writes_offset: bool
    first_counter: int | None = None
    """The first file's counter; None lets it roll over from 9999 to 0001 part-way through the day."""


CAMERAS = (
    SimulatedCamera("A", "Exemplar", "Exemplar 24", "7700124", "_FCA", "FESTI", timedelta(seconds=41), True),
    SimulatedCamera(
        "B", "Exemplar", "Exemplar 24", "7700981", "_FCB", "FESTI", -timedelta(hours=1, minutes=3), False, 412
    ),
)
"""A is 41 seconds fast. B was never set to summer time and is three minutes slow besides."""


@dataclass(frozen=True, slots=True)
class SimulatedSlate:
    """The slate in a frame. `caption` is printed above the symbol, `code` is what the symbol says."""

    code: str
    caption: str
    shown: SlateForm = SlateForm.TICKET
    upside_down: bool = False
    spoilt: SlateDamage | None = None


@dataclass(frozen=True, slots=True)
class SimulatedExposure:
    """One exposure. `person` and `kind` are the truth; `person` is None for an empty backdrop.

    `folder` and `name` are as on the card, such as `DCIM/100FESTI` and `_FCA9998.JPG`. `at` is the true time
    in UTC; `camera_time` is what the camera's clock said, without a zone; both go down to hundredths of a
    second. `offset` is the EXIF offset tag such as `+02:00`, or None. `orientation` is EXIF's: 1 upright,
    6 and 8 for a camera on its side. `outfit` counts from 0 and changes when somebody comes back in other
    clothes. `badge` is the text of a QR code that hangs on the person and is not a slate.
    """

    number: int
    camera: SimulatedCamera
    folder: str
    name: str
    counter: int
    at: datetime
    camera_time: datetime
    offset: str | None
    orientation: int
    kind: ExposureKind
    person: str | None
    outfit: int = 0
    slate: SimulatedSlate | None = None
    badge: str | None = None
    grey_card: bool = False

    @property
    def path(self) -> str:
        """Where it is on the camera's card: unique for one camera."""
        return f"{self.folder}/{self.name}"

    @property
    def subsec(self) -> str:
        """Hundredths of a second as EXIF writes them: `07`."""
        return f"{self.camera_time.microsecond // 10_000:02}"

    @property
    def empty(self) -> bool:
        """Nobody before the backdrop."""
        return self.person is None
