"""Where in a run somebody else most likely begins: what the screens propose before a person splits it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from sqlmodel import select

from onsite.core.colour_signature import SignatureArrays, unpack_signatures
from onsite.store.schema import Frame
from onsite.store.shoot import Shoot


def likeliest_split(shoot: Shoot, frames: Sequence[int]) -> int | None:
    """The frame of a run, given in shooting order, at which clothes and hair change most; without colours the
    one after the longest pause. None where there is nothing to split."""
    if len(frames) < 2:
        return None
    with shoot.reading() as session:
        rows = session.exec(select(Frame.id, Frame.taken, Frame.look).where(Frame.id.in_(frames))).all()
    read = {frame: (taken, look) for frame, taken, look in rows}
    known = [read[frame] for frame in frames]
    change = colour_changes(unpack_signatures([look for _, look in known]))
    if not change.any():
        times = [taken.timestamp() if taken is not None else np.nan for taken, _ in known]
        change = np.nan_to_num(np.diff(np.array(times)))
    return frames[int(np.argmax(change)) + 1]


def colour_changes(signatures: SignatureArrays) -> NDArray[np.float64]:
    """For each cut between two frames, the squared Hellinger distance of the mean colours before it from
    those after it; between somebody and an empty backdrop 1; 0 where either side has no colours."""
    shown = np.where(signatures.empty[:, None], np.float32(0), signatures.roots())
    cuts = []
    for cut in range(1, len(shown)):
        before, after = (part.sum(axis=0) for part in (shown[:cut], shown[cut:]))
        lengths = float(np.linalg.norm(before) * np.linalg.norm(after))
        parted = bool(signatures.empty[cut - 1] ^ signatures.empty[cut])
        cuts.append(1.0 if parted else 1.0 - float(before @ after) / lengths if lengths else 0.0)
    return np.array(cuts)
