"""How a delivery is wanted."""

from __future__ import annotations

from dataclasses import dataclass

from onsite.delivery.package import Packaging
from onsite.delivery.sets import SetPer


@dataclass(frozen=True, slots=True)
class DeliveryOrder:
    """For whom and how packed. `originals`: unretouched picks too; `creator`: who made the pictures, for
    their metadata; `again`: also what was delivered before."""

    per: SetPer = SetPer.CLIENT
    kind: Packaging = Packaging.FOLDER
    ascii_only: bool = False
    originals: bool = False
    sharpen: bool = False
    creator: str = ""
    again: bool = False
