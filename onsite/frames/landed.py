"""What is said of frames that have just landed."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, select

from onsite.slate.code import SlateKind, parse_slate_code, slate_kind
from onsite.slate.seen import ReadBy
from onsite.slate.verdict import SlateVerdict, how_read, slate_verdict
from onsite.store.shoot import Shoot
from onsite.store.tables import Camera, Frame, SymbolReading


@dataclass(frozen=True, slots=True)
class LandedFrame:
    """A frame in the words of a list: `taken` is the camera's own time. `slate` says of each slate in it what
    it reads, `verdict` what was seen of slates in all; symbols that are no slates are left out."""

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
    """These frames, in the order in which they came."""
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
    code = parse_slate_code(seen.text or "")
    if code is None:
        return ""
    if kind is SlateKind.OTHER_SHOOT:
        return f"slate {code.spaced} of another shoot"
    by = ReadBy(seen.by or ReadBy.DECODER)
    return f"slate {code.spaced}" + ("" if by is ReadBy.DECODER else f", read {how_read(by)}")
