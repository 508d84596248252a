"""How a delivery is wanted."""

from __future__ import annotations

from dataclasses import dataclass

from onsite.delivery.package import As
from onsite.delivery.sets import Per


@dataclass(frozen=True, slots=True)
class Order:
    """For whom and how packed. `originals`: unretouched picks too; `creator`: who made the pictures, for
    their metadata; `again`: also what was delivered before."""

    per: Per = Per.CLIENT
    kind: As = As.FOLDER
    ascii_only: bool = False
    originals: bool = False
    sharpen: bool = False
    creator: str = ""
    again: bool = False
