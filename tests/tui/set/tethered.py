"""A camera whose frames land in a folder, one by one, as a tether program writes them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

from PIL import Image, ImageFilter

from onsite.simulator.draw_invented_exposure import picture, save
from onsite.simulator.invented_exposure import (
    CAMERAS,
    ExposureKind,
    SimulatedCamera,
    SimulatedExposure,
    SimulatedSlate,
    SlateDamage,
)


class Tethered:
    """Shoots upright portraits into `folder`; the clock goes on by two seconds a frame and is right."""

    def __init__(
        self, folder: Path, camera: SimulatedCamera = CAMERAS[0], at: datetime | None = None
    ) -> None:
        self.folder = folder
        self.camera = camera
        self.at = (at or datetime.now(UTC)).astimezone(UTC)
        self.counter = 0
        folder.mkdir(parents=True, exist_ok=True)

    def pause(self, seconds: float) -> None:
        """Nobody presses the shutter for so long."""
        self.at += timedelta(seconds=seconds)

    def slate(self, code: str, person: str, spoilt: SlateDamage | None = None) -> Path:
        """Somebody holds up a slate."""
        return self._expose(person, SimulatedSlate(code, "", spoilt=spoilt))

    def portrait(self, person: str, *, light: float = 1.0, sharp: bool = True, cast: float = 1.0) -> Path:
        """A portrait: with only so much `light`, out of focus, or with so much of its red."""
        return self._expose(person, None, light, sharp, cast)

    def half(self, person: str, share: float = 0.5) -> tuple[Path, bytes]:
        """A portrait of which only a share is written; the path, and what is missing of it."""
        path = self.portrait(person)
        content = path.read_bytes()
        cut = int(len(content) * share)
        path.write_bytes(content[:cut])
        return path, content[cut:]

    def _expose(
        self,
        person: str,
        slate: SimulatedSlate | None,
        light: float = 1.0,
        sharp: bool = True,
        cast: float = 1.0,
    ) -> Path:
        self.counter += 1
        self.at += timedelta(seconds=2)
        exposure = SimulatedExposure(
            number=self.counter,
            camera=self.camera,
            folder=".",
            name=f"{self.camera.prefix}{self.counter:04}.JPG",
            counter=self.counter,
            at=self.at,
            camera_time=(self.at + timedelta(hours=2)).replace(tzinfo=None),
            offset="+02:00",
            orientation=8,
            kind=ExposureKind.SLATE if slate else ExposureKind.PORTRAIT,
            person=person,
            slate=slate,
        )
        image = picture(exposure, seed=1)
        if not sharp:
            image = image.filter(ImageFilter.GaussianBlur(6))
        if light != 1.0 or cast != 1.0:
            image = _lit(image, light, cast)
        path = self.folder / exposure.name
        part = path.with_name(f".{path.name}.part")
        save(exposure, image, part)
        part.replace(path)
        return path


def _lit(image: Image.Image, light: float, cast: float) -> Image.Image:
    """The same with another exposure, and with its red made more or less; both on the coded values."""
    red, green, blue = image.split()
    bands = (
        red.point([min(255, round(v * light * cast)) for v in range(256)]),
        *(band.point([min(255, round(v * light)) for v in range(256)]) for band in (green, blue)),
    )
    return Image.merge("RGB", bands)
