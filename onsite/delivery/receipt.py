"""The receipt of a delivery: what went to whom and when, with the SHA-256 of every file. One HTML file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from html import escape
from pathlib import Path

from onsite.delivery.made import Kept
from onsite.slate.lettering import shown
from onsite.store.settings import Settings

_STYLE = """
body { font: 11pt/1.4 system-ui, sans-serif; max-width: 60em; margin: 2em auto; padding: 0 1em; color: #111; }
h1 { font-size: 1.5em; } h2 { font-size: 1.1em; margin-top: 2em; }
table { border-collapse: collapse; width: 100%; font-size: 0.85em; }
th, td { text-align: left; padding: 0.2em 0.6em 0.2em 0; border-bottom: 1px solid #ccc; vertical-align: top; }
.number { text-align: right; } code { word-break: break-all; font-size: 0.85em; }
@media print { body { margin: 0; max-width: none; } thead { display: table-header-group; } }
"""


@dataclass(frozen=True, slots=True)
class Packed:
    """A set as delivered. `sha256` is that of a ZIP, empty for folders and bags, whose manifests tell."""

    name: str
    recipient: str
    package: Path
    files: tuple[Kept, ...]
    sha256: str = ""

    @property
    def size(self) -> int:
        return sum(kept.size for kept in self.files)


def receipt_of(settings: Settings, number: int, at: datetime, sets: Sequence[Packed]) -> str:
    """The receipt, to be read in a browser and printed."""
    count = sum(len(packed.files) for packed in sets)
    size = sum(packed.size for packed in sets)
    parts = [
        "<!doctype html>",
        '<html lang="en"><head><meta charset="utf-8"><meta name="robots" content="noindex">',
        f"<title>{_text(settings.name)}: delivery {number}</title><style>{_STYLE}</style></head><body>",
        f"<h1>{_text(settings.name)}: receipt of delivery {number}</h1>",
        f"<p>{_text(settings.client) or 'Client not named'} · {at:%d %B %Y, %H:%M} {_text(at.tzname() or '')}"
        f" · {count} pictures, {_megabytes(size)}</p>",
    ]
    for packed in sets:
        parts.append(
            f"<h2>{_text(packed.recipient)}</h2><p>{len(packed.files)} pictures,"
            f" {_megabytes(packed.size)}, in {_text(packed.package.name)}</p>"
        )
        if packed.sha256:
            parts.append(f"<p>SHA-256 of the ZIP: <code>{packed.sha256}</code></p>")
        parts.append(
            "<table><thead><tr><th>File</th><th>Who</th><th class=number>Bytes</th><th>SHA-256</th></tr>"
            "</thead><tbody>"
        )
        parts += [
            f"<tr><td>{_text(kept.name)}</td><td>{_text(kept.job.wanted.person.name)}</td>"
            f"<td class=number>{kept.size:,}</td><td><code>{kept.sha256}</code></td></tr>"
            for kept in packed.files
        ]
        parts.append("</tbody></table>")
    return "\n".join([*parts, "</body></html>", ""])


def _text(text: str) -> str:
    return escape(shown(text))


def _megabytes(size: int) -> str:
    return f"{size / 1e6:,.1f} MB"
