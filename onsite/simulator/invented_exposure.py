"""One exposure of the invented day: what its file says, and the truth about it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum


class ExposureKind(StrEnum):
    """The true kind of a frame."""

    PORTRAIT = "portrait"
    SLATE = "slate"
    CLOCK_SLATE = "clock slate"
    TEST = "test"


class SlateDamage(StrEnum):
    """Why a slate cannot be decoded. Most glared or covered slates can still be found, few shaken ones."""

    GLARE = "glare"
    COVERED = "covered"
    SHAKEN = "shaken"


class SlateForm(StrEnum):
    """What the code is printed or shown on. The door's screen stands by itself, before nobody."""

    TICKET = "ticket"
    CARD = "deck card"
    SCREEN = "screen"
    DOOR = "the door's screen"


@dataclass(frozen=True, slots=True)
class SimulatedCamera:
    """A camera body. Its clock is fast by `error` (negative: slow); some bodies write no offset tag."""

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
"""A is 41 seconds fast. B was never set to summer time and is another three minutes slow."""


@dataclass(frozen=True, slots=True)
class SimulatedSlate:
    """The slate in a frame: `code` is what the symbol encodes, `caption` is printed above it."""

    code: str
    caption: str
    shown: SlateForm = SlateForm.TICKET
    upside_down: bool = False
    spoilt: SlateDamage | None = None


class Prop(StrEnum):
    """What a musician holds in a portrait."""

    VIOLIN = "violin"
    FLUTE = "flute"
    TRUMPET = "trumpet"
    FOLDER = "folder"


@dataclass(frozen=True, slots=True)
class FrameConditions:
    """What differs from frame to frame on a real set. The defaults are those of a set where nothing does."""

    zoom: float = 1.0
    """Size of the figure over that at head-to-waist framing; 2 is head and shoulders."""
    stops: float = 0.0
    """Exposure above the metered one, in stops."""
    red: float = 0.0
    """White balance: red against green, in stops."""
    blue: float = 0.0
    """White balance: blue against green, in stops."""
    prop: Prop | None = None
    without_jacket: bool = False
    """Whoever wears a jacket has taken it off."""
    passer_by: str | None = None
    """The key of somebody who passes behind."""
    passes_at: float = 0.6
    """Where they are: figure units right of the middle."""


STILL = FrameConditions()
"""The conditions of a set on which nothing differs from frame to frame."""


@dataclass(frozen=True, slots=True)
class SimulatedExposure:
    """One exposure. `person` and `kind` are the truth; `person` is None for an empty backdrop.

    `folder` and `name` are as on the memory card, such as `DCIM/100FESTI` and `_FCA9998.JPG`. `at` is the
    true time in UTC, `camera_time` the local time by the camera's clock, without a zone; both in hundredths
    of a second. `offset` is the EXIF offset tag such as `+02:00`, or None. `orientation` is EXIF's: 1
    upright, 6 and 8 for a camera on its side. `outfit` counts from 0 and changes when a person comes back in
    other clothes. `badge` is the text of a QR code that the person wears and that is not a slate.
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
    dressed_as: str | None = None
    """The key of the person whose clothes these equal; None for clothes of their own."""
    conditions: FrameConditions = STILL

    @property
    def path(self) -> str:
        """The path on the memory card; unique for each camera."""
        return f"{self.folder}/{self.name}"

    @property
    def subsec(self) -> str:
        """Hundredths of a second as EXIF writes them, such as `07`."""
        return f"{self.camera_time.microsecond // 10_000:02}"

    @property
    def empty(self) -> bool:
        """Whether nobody is before the backdrop."""
        return self.person is None
