"""What lies in a folder of proofs, so that only what changed is made again."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path

from onsite.files.saving import atomic_file

FILE = "made.json"


@dataclass(frozen=True, slots=True)
class MadeProof:
    """What was made for one person: `of` tells everything that went into it; `files` are paths in the folder
    with their sizes in bytes; `pictures` are on it, and it is `poor` where a frame could not be looked at or
    only its preview was left."""

    of: str
    files: Mapping[str, int]
    pictures: int
    poor: bool = False

    def is_whole(self, folder: Path) -> bool:
        """Whether all of it is still there."""
        return all(_size(folder / name) == size for name, size in self.files.items())


def _size(path: Path) -> int | None:
    try:
        return path.stat().st_size
    except OSError:
        return None


@dataclass(slots=True)
class ProofLedger:
    """By person's code, what was made for them in `folder`; kept in its private part."""

    folder: Path
    private: Path
    made: dict[str, MadeProof] = field(default_factory=dict)

    @classmethod
    def opened(cls, folder: Path, private: Path) -> ProofLedger:
        """A ledger that is missing or damaged is an empty one: then everything is made again."""
        try:
            rows = json.loads((private / FILE).read_text(encoding="utf-8"))
            made = {
                str(code): MadeProof(
                    str(row["of"]),
                    {str(name): int(size) for name, size in row["files"].items()},
                    int(row["pictures"]),
                    bool(row["poor"]),
                )
                for code, row in rows.items()
            }
        except (OSError, ValueError, TypeError, KeyError, AttributeError):
            made = {}
        return cls(folder, private, made)

    def save(self) -> None:
        """Raises Problem."""
        rows = {code: asdict(proof) for code, proof in sorted(self.made.items())}
        with atomic_file(self.private / FILE) as stream:
            stream.write(json.dumps(rows, ensure_ascii=False, indent=1).encode())

    def clear(self, code: str, keep: Iterable[str] = ()) -> list[str]:
        """Removes what was made for a person, but for the files to keep; returns what was removed. Raises
        OSError."""
        removed = self.made.pop(code, None)
        inside = self.folder.resolve()
        gone = []
        for name in removed.files if removed else ():
            path = self.folder / name
            if name not in set(keep) and path.resolve().is_relative_to(inside) and path.is_file():
                path.unlink()
                gone.append(name)
        return gone
