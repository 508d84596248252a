"""The verdict on the slates in a frame, its counts over many frames, and the words for both."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

from onsite.core.codes import SlateKind, parse_slate_code, slate_kind, spaced_code
from onsite.core.text import plural
from onsite.slates.reader.seen_symbol import ReadBy

_BY = {
    ReadBy.DECODER: "by its own error correction",
    ReadBy.KNOWN: "by comparing with this shoot's codes",
    ReadBy.COPIES: "by taking the copies on its card together",
}


class ReadSymbol(Protocol):
    """A symbol as the reader returns it (`SymbolSeen`) or as the store keeps it (`SymbolReading`)."""

    @property
    def text(self) -> str | None: ...
    @property
    def by(self) -> str | None: ...
    @property
    def margin(self) -> float | None: ...


@dataclass(frozen=True, slots=True)
class SlateVerdict:
    """The verdict on a frame.

    `code`, `by` and `margin` belong to the slate that was read. `by` is None for readings of versions that
    did not record it; `margin` is in standard deviations, None where no codes were compared.
    """

    kind: SlateKind
    code: str = ""
    by: ReadBy | None = None
    margin: float | None = None

    @property
    def text(self) -> str:
        """The verdict in words, for the middle of a sentence."""
        if self.kind is not SlateKind.READ:
            return str(self.kind)
        ahead = (
            f", {self.margin:.1f} standard deviations ahead of the next" if self.margin is not None else ""
        )
        by = f" {how_read(self.by)}" if self.by else ""
        return f"{self.kind}{by}: {spaced_code(self.code)}{ahead}"

    def data(self) -> dict[str, object]:
        """Return the verdict as a JSON object."""
        return {"verdict": self.kind, "code": self.code, "by": self.by or "", "margin": self.margin}


def slate_verdict(symbols: Iterable[ReadSymbol], shoot: str) -> SlateVerdict:
    """Return the verdict on a frame with these symbols: the kind that comes first in `SlateKind`.

    Of several slates of this shoot, the most reliable reading counts.
    """
    order = list(SlateKind)
    ways = [None, *ReadBy]
    by_kind = [(slate_kind(symbol.text, shoot), symbol) for symbol in symbols]
    if not by_kind:
        return SlateVerdict(SlateKind.NOTHING)
    kind, symbol = min(by_kind, key=lambda pair: (order.index(pair[0]), ways.index(_way(pair[1]))))
    code = parse_slate_code(symbol.text or "")
    if kind is not SlateKind.READ or code is None:
        return SlateVerdict(kind)
    return SlateVerdict(kind, code.text, _way(symbol), symbol.margin)


def _way(symbol: ReadSymbol) -> ReadBy | None:
    return ReadBy(symbol.by) if symbol.by is not None else None


def how_read(by: ReadBy) -> str:
    """Return the way of reading in words, to follow "read"."""
    return _BY[by]


@dataclass(slots=True)
class SlateCounts:
    """Numbers of frames by kind of slate, and of read slates by way of reading."""

    kinds: dict[SlateKind, int]
    ways: dict[ReadBy, int]

    @classmethod
    def none(cls) -> SlateCounts:
        """Return counts of zero."""
        return cls(dict.fromkeys(SlateKind, 0), dict.fromkeys(ReadBy, 0))

    def add(self, slate: SlateVerdict) -> None:
        """Count the verdict on a frame."""
        self.kinds[slate.kind] += 1
        if slate.by is not None:
            self.ways[slate.by] += 1

    @property
    def text(self) -> str:
        """`212 read, 5 of them by comparing with this shoot's codes; 3 seen but not read`; empty for none."""
        said = []
        for kind, count in self.kinds.items():
            if not count or kind is SlateKind.NOTHING:
                continue
            ways = [
                f", {number} of them {how_read(by)}"
                for by, number in self.ways.items()
                if kind is SlateKind.READ and number and by is not ReadBy.DECODER
            ]
            kinds = f"{kind}s" if kind in (SlateKind.CLOCK, SlateKind.FOREIGN) else str(kind)
            said.append(f"{plural(count, kind, kinds)}{''.join(ways)}")
        return "; ".join(said)

    def data(self) -> dict[str, object]:
        """Return the counts as a JSON object."""
        return {
            "read": self.kinds[SlateKind.READ],
            "clock_slates": self.kinds[SlateKind.CLOCK],
            "read_by": {str(by): count for by, count in self.ways.items()},
            "another_shoots": self.kinds[SlateKind.OTHER_SHOOT],
            "not_read": self.kinds[SlateKind.UNREAD],
            "foreign": self.kinds[SlateKind.FOREIGN],
            "nothing": self.kinds[SlateKind.NOTHING],
        }
