"""Picks chosen with pictures: what may be chosen."""

from __future__ import annotations

from collections.abc import Sequence

from onsite.proofs.picks import too_many

FROM = "the desk"
"""Where such picks come from, in the record."""


def toggled(chosen: Sequence[int], frame: int, most: int) -> tuple[int, ...]:
    """The choice with this frame put in at the end, or taken out. Raises Problem where it would be more than
    `most`, which was agreed."""
    if frame in chosen:
        return tuple(other for other in chosen if other != frame)
    if len(chosen) >= most:
        raise too_many(len(chosen) + 1, most, "Take one out first.")
    return (*chosen, frame)
