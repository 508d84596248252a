"""The EXIF tags of an invented exposure (CIPA DC-008, the tags' names as there)."""

from __future__ import annotations

from PIL import ExifTags, Image
from PIL.TiffImagePlugin import IFDRational

from onsite.demo.exposure import SimulatedExposure

DATE_TIME = "%Y:%m:%d %H:%M:%S"


def tags(exposure: SimulatedExposure) -> Image.Exif:
    """Body, clock, orientation and a studio flash setting (common practice, no source)."""
    taken = exposure.camera_time.strftime(DATE_TIME)
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = exposure.camera.make
    exif[ExifTags.Base.Model] = exposure.camera.model
    exif[ExifTags.Base.Orientation] = exposure.orientation
    exif[ExifTags.Base.DateTime] = taken
    photo = exif.get_ifd(ExifTags.IFD.Exif)
    photo[ExifTags.Base.DateTimeOriginal] = taken
    photo[ExifTags.Base.DateTimeDigitized] = taken
    photo[ExifTags.Base.SubsecTimeOriginal] = exposure.subsec
    if exposure.offset is not None:
        photo[ExifTags.Base.OffsetTimeOriginal] = exposure.offset
    photo[ExifTags.Base.BodySerialNumber] = exposure.camera.serial
    photo[ExifTags.Base.ExposureTime] = IFDRational(1, 160)
    photo[ExifTags.Base.FNumber] = IFDRational(8, 1)
    photo[ExifTags.Base.ISOSpeedRatings] = 100
    photo[ExifTags.Base.FocalLength] = IFDRational(85, 1)
    return exif
