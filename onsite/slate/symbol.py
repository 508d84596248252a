"""The QR symbol of a code, as modules."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

MODULES = 21
"""Modules on a side of a version 1 symbol (ISO/IEC 18004, 5.3.1)."""

QUIET_ZONE = 4
"""Light modules that a symbol needs on every side (ISO/IEC 18004, 5.3.8)."""


def symbol(code: str) -> NDArray[np.bool_]:
    """The version 1-Q symbol of a slate code without its quiet zone: (21, 21), True is dark.

    Raises ValueError for a text that does not fit version 1 at error correction Q.
    """
    import qrcode
    from qrcode.exceptions import DataOverflowError
    from qrcode.util import MODE_ALPHA_NUM, QRData

    drawing = qrcode.QRCode(version=1, error_correction=qrcode.constants.ERROR_CORRECT_Q, border=0)
    drawing.add_data(QRData(code, mode=MODE_ALPHA_NUM))
    try:
        drawing.make(fit=False)
    except DataOverflowError as error:
        raise ValueError(f"{code!r} does not fit a version 1 symbol") from error
    return np.array(drawing.get_matrix(), dtype=bool)


def with_quiet_zone(modules: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The same symbol with its four light modules on every side."""
    return np.pad(modules, QUIET_ZONE)
