"""The QR symbol of a slate code, as a matrix of modules.

Every symbol uses the same data mask pattern. ISO/IEC 18004, 7.8.3, asks an encoder to try all eight and take
the pattern with the lowest penalty; here it is always `MASK`, so that only the data differ from slate to
slate and the symbol of a code does not depend on a library's penalty scores. A decoder takes the mask from
the format information and reads these symbols like any other. The cost is small: over 1000 random codes of 40
shoots, the mean penalty of mask 0 is 369, the lowest of the eight (the others: 386 to 522); the best of eight
for each code has 324.

With mask and version fixed, every module is an affine function over GF(2) of the bits of the text: each pair
of characters is a number of 11 bits (alphanumeric mode, 7.4.4), Reed-Solomon codes are linear, and the mask
is added at the end. So the symbol of any code is the symbol of the all-zero text XORed with the change that
each set bit makes.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

MODULES = 21
"""Modules on a side of a version 1 symbol (ISO/IEC 18004, 5.3.1)."""

QUIET_ZONE = 4
"""Light modules that a symbol needs on every side (ISO/IEC 18004, 5.3.8)."""

CLOCK_VERSION = 2
"""Version of a clock slate's symbol: its 17 characters need 25 modules, so that it is never compared with
slates."""

MASK = 0
"""Data mask pattern of every symbol: modules with an even sum of row and column are inverted."""

CHARACTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
"""Characters of alphanumeric mode, in the order of their values (ISO/IEC 18004, table 5)."""

TEXT_LENGTH = 12
"""Characters of a slate code, the only length that `qr_modules_of` takes."""

PAIR_BITS = 11
"""Bits that encode a pair of characters (ISO/IEC 18004, 7.4.4)."""


def qr_modules(code: str, version: int = 1) -> NDArray[np.bool_]:
    """Return the symbol of a code at error correction Q without its quiet zone: (21, 21) in version 1 and
    (25, 25) in version 2, True is dark.

    Raises ValueError for a text that does not fit.
    """
    import qrcode
    from qrcode.exceptions import DataOverflowError
    from qrcode.util import MODE_ALPHA_NUM, QRData

    level = qrcode.constants.ERROR_CORRECT_Q
    drawing = qrcode.QRCode(version=version, error_correction=level, border=0, mask_pattern=MASK)
    drawing.add_data(QRData(code, mode=MODE_ALPHA_NUM))
    try:
        drawing.make(fit=False)
    except DataOverflowError as error:
        raise ValueError(f"{code!r} does not fit a version {version} symbol") from error
    return np.array(drawing.get_matrix(), dtype=bool)


def with_quiet_zone(modules: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return a symbol padded with its four light modules on every side."""
    return np.pad(modules, QUIET_ZONE)


def qr_modules_of(codes: Sequence[str]) -> NDArray[np.bool_]:
    """Return the symbols of many 12-character codes, as `qr_modules` draws them: (n, 21, 21), True is dark.

    Raises ValueError for a text of another length or with a character that alphanumeric mode lacks.
    """
    zeros, changes = affine_parts()
    each = changes.reshape(len(changes), -1).astype(np.float32)
    turned: NDArray[np.float32] = text_bits(codes).astype(np.float32) @ each
    odd: NDArray[np.bool_] = turned.astype(np.uint8) % 2 == 1
    return odd.reshape(-1, MODULES, MODULES) ^ zeros


def text_bits(codes: Sequence[str]) -> NDArray[np.bool_]:
    """Return the bits of each text in alphanumeric mode, pair by pair, most significant first: (n, 66)."""
    if any(len(code) != TEXT_LENGTH for code in codes):
        raise ValueError(f"not all of {TEXT_LENGTH} characters")
    written = np.frombuffer("".join(codes).encode("latin-1", "replace"), np.uint8)
    values = _values()[written].reshape(len(codes), TEXT_LENGTH // 2, 2)
    if (values < 0).any():
        raise ValueError("a character that alphanumeric mode does not have")
    numbers = values @ np.array([len(CHARACTERS), 1])
    places = np.arange(PAIR_BITS)[::-1]
    bits: NDArray[np.bool_] = (numbers[..., None] >> places & 1) == 1
    return bits.reshape(len(codes), TEXT_LENGTH // 2 * PAIR_BITS)


@cache
def affine_parts() -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Return the symbol of the all-zero text, (21, 21), and the modules that each bit flips, (66, 21, 21)."""
    zeros = qr_modules("0" * TEXT_LENGTH)
    changes = [
        qr_modules(head + _pair(1 << place) + "0" * (TEXT_LENGTH - 2 - len(head))) ^ zeros
        for head in ("0" * length for length in range(0, TEXT_LENGTH, 2))
        for place in reversed(range(PAIR_BITS))
    ]
    parts = zeros, np.array(changes)
    for part in parts:
        part.flags.writeable = False
    return parts


def _pair(number: int) -> str:
    """Return the two characters with this value in alphanumeric mode."""
    first, second = divmod(number, len(CHARACTERS))
    return CHARACTERS[first] + CHARACTERS[second]


def _values() -> NDArray[np.int64]:
    """Return the alphanumeric-mode value of every byte, -1 for bytes without one: (256,)."""
    values = np.full(256, -1)
    values[list(CHARACTERS.encode())] = np.arange(len(CHARACTERS))
    return values
