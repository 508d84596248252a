"""The stored form of a colour signature: what ingest writes and matching reads.

Version 2 has 434 bytes: the number 2; how much is in front of the backdrop (255 for all of the picture's
middle, 0 for a thing of one hue, such as a grey card); then the square roots of the shares of `BINS` colours
(255 for 1). Version 1 has 192 bytes, which are such roots of other colours and no header; all are 0 where
nobody was seen. Versions do not compare.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

VERSION = 2
"""Of the way a signature is stored; signatures of one version are compared with each other only."""

BANDS = 2
"""Above: hair and face; below: clothes."""
COLOURS = 9, 8, 3
"""Number of colours in lightness, from cool to warm, and from magenta to green."""
BAND_BINS = COLOURS[0] * COLOURS[1] * COLOURS[2]
BINS = BANDS * BAND_BINS

NOBODY = 0.06
"""Share of the picture's middle in front of the backdrop, below which nobody is there. Of 200 drawn frames
each, an empty backdrop showed 0.035 at most, and clothes of the backdrop's very colour 0.08 at least."""

_HEADER = 2
_SIZES = {1: 192, VERSION: _HEADER + BINS}
_FULL = 255  # the byte that stands for 1


def pack_signature(roots: NDArray[np.float64], presence: float) -> bytes:
    """The stored form of the square roots of shares, (`BINS`,), and of the share in front of the backdrop."""
    scaled = np.clip(np.round([presence * _FULL, *(roots * _FULL)]), 0, _FULL).astype(np.uint8)
    return bytes([VERSION]) + scaled.tobytes()


def version_of(signature: bytes) -> int | None:
    """The version of a stored signature; None where it is of none."""
    if len(signature) == _SIZES[VERSION] and signature[0] == VERSION:
        return VERSION
    return 1 if len(signature) == _SIZES[1] else None


@dataclass(frozen=True, slots=True)
class SignatureArrays:
    """Colour signatures as arrays, a row for each frame."""

    stored: NDArray[np.uint8]
    """Square roots of shares as they are stored, (frames, bins): rows of zeros where there is no
    signature."""
    presence: NDArray[np.float32]
    """Share in front of the backdrop, 0 to 1, (frames,); NaN where there is no signature. Of version 1 only
    whether somebody was seen, 0 or 1."""

    @property
    def empty(self) -> NDArray[np.bool_]:
        """Where nobody is in front of the backdrop."""
        return np.asarray(self.presence < NOBODY)  # NaN is not

    def roots(self, places: slice | NDArray[np.integer[Any]] = slice(None)) -> NDArray[np.float32]:
        """Square roots of shares at these places, (places, bins): rows of length 1, or of zeros."""
        found = self.stored[places].astype(np.float32)
        lengths = np.sqrt(np.einsum("ij,ij->i", found, found))[:, None]
        found /= np.where(lengths > 0, lengths, np.float32(1))
        return found


def unpack_signatures(signatures: Sequence[bytes | None]) -> SignatureArrays:
    """Stored signatures as arrays. Where versions are mixed, only the most frequent one is read; of two that
    are equally frequent the later. The others count as missing."""
    versions = [None if signature is None else version_of(signature) for signature in signatures]
    counted = Counter(version for version in versions if version is not None)
    presence = np.full(len(signatures), np.nan, np.float32)
    if not counted:
        return SignatureArrays(np.zeros((len(signatures), 1), np.uint8), presence)
    chosen = max(counted, key=lambda version: (counted[version], version))
    size, header = _SIZES[chosen], 0 if chosen == 1 else _HEADER
    places = [place for place, version in enumerate(versions) if version == chosen]
    packed = b"".join(signatures[place] or b"" for place in places)
    table = np.frombuffer(packed, np.uint8).reshape(-1, size)
    stored = np.zeros((len(signatures), size - header), np.uint8)
    stored[places] = table[:, header:]
    presence[places] = table.any(axis=1) if header == 0 else table[:, 1] / np.float32(_FULL)
    return SignatureArrays(stored, presence)
