"""Frames that have just landed, as a list of them says it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, select

from onsite.core.codes import SlateKind, parse_slate_code, slate_kind
from onsite.slates.reader.seen_symbol import ReadBy
from onsite.slates.slate_verdict import SlateVerdict, how_read, slate_verdict
from onsite.store.schema import Camera, Frame, SymbolReading
from onsite.store.shoot import Shoot


@dataclass(frozen=True, slots=True)
class LandedFrame:
    """A frame that has just landed, as the watch command prints it.

    `taken` is the time by the camera's clock. `slate` says how each slate in the frame was read, without
    other symbols; `verdict` is the result for all its slates together.
    """

    id: int
    camera: str
    name: str
    taken: datetime | None
    counter: int | None
    slate: str
    verdict: SlateVerdict
    trouble: str

    @property
    def is_slate(self) -> bool:
        return bool(self.slate)


def landed_frames(shoot: Shoot, frame_ids: Collection[int]) -> list[LandedFrame]:
    """The frames with these ids, in the order in which they were ingested."""
    with shoot.reading() as session:
        rows = session.exec(
            select(Frame, Camera.label)
            .where(Frame.camera_id == Camera.id, col(Frame.id).in_(frame_ids))
            .order_by(col(Frame.id))
        ).all()
        symbols: dict[int, list[SymbolReading]] = {}
        for reading in session.exec(
            select(SymbolReading)
            .where(col(SymbolReading.frame_id).in_(frame_ids))
            .order_by(col(SymbolReading.id))
        ):
            symbols.setdefault(reading.frame_id, []).append(reading)
    return [
        LandedFrame(
            frame.id or 0,
            label,
            frame.name,
            frame.taken,
            frame.counter,
            ", ".join(filter(None, (_slate(seen, shoot.mark) for seen in symbols.get(frame.id or 0, [])))),
            slate_verdict(symbols.get(frame.id or 0, []), shoot.mark),
            frame.trouble,
        )
        for frame, label in rows
    ]


def _slate(seen: SymbolReading, mark: str) -> str:
    kind = slate_kind(seen.text, mark)
    if kind is SlateKind.UNREAD:
        return f"slate {kind}"
    if kind is SlateKind.CLOCK:
        return str(kind)
    code = parse_slate_code(seen.text or "")
    if code is None:
        return ""
    if kind is SlateKind.OTHER_SHOOT:
        return f"slate {code.spaced} of another shoot"
    by = ReadBy(seen.by or ReadBy.DECODER)
    return f"slate {code.spaced}" + ("" if by is ReadBy.DECODER else f", read {how_read(by)}")
