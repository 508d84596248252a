"""Packages: a plain folder, a ZIP file, or a BagIt bag, each with the SHA-256 of every file in it.

Files are made in a hidden folder beside the package, which gets its name only when it is complete.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import zipfile
from collections.abc import Iterator, Sequence
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import BinaryIO

from onsite.delivery.make_delivery_files import DeliveredFile, NotWritten
from onsite.files.atomic_write import sha256_of, sync_folders, write_atomic
from onsite.retouch.batch_folder import MANIFEST


class Packaging(StrEnum):
    """The form of a package."""

    FOLDER = "folder"
    ZIP = "zip"
    BAG = "bag"


def staging(folder: Path, name: str) -> Path:
    """The folder in which a package is made; its files are in `data` there."""
    return folder / f".{name}.part"


def existing_packages(kind: Packaging, folder: Path, name: str) -> Iterator[Path]:
    """Yields the complete packages of that name: the first, and those with a number."""
    number = 1
    while (place := _place(kind, folder, name, number)).exists():
        yield place
        if kind is Packaging.FOLDER:
            return
        number += 1


def files_in(kind: Packaging, package: Path) -> Iterator[tuple[str, BinaryIO]]:
    """Yields (name, stream) of the JPEGs in a complete package; none if it is damaged or of another form."""
    if kind is Packaging.ZIP:
        try:
            with zipfile.ZipFile(package) as archive:
                for name in archive.namelist():
                    if name.endswith(".jpg"):
                        with archive.open(name) as file:
                            yield name, file  # type: ignore[misc]
        except (zipfile.BadZipFile, OSError):
            return
        return
    top = package / "data" if kind is Packaging.BAG else package
    for path in sorted(top.rglob("*.jpg")):
        if path.is_file():
            with path.open("rb") as file:
                yield path.relative_to(top).as_posix(), file


def seal(
    kind: Packaging,
    folder: Path,
    name: str,
    files: Sequence[DeliveredFile],
    extras: dict[str, str],
    at: datetime,
) -> Path:
    """Makes and returns the package of the files in its staging folder. Raises OSError or NotWritten.

    In a plain folder, some of the files may already be in place, from an interrupted delivery.
    """
    made = staging(folder, name)
    data = made / "data"
    data.mkdir(parents=True, exist_ok=True)
    _leave_only(data, {kept.name for kept in files if kept.package is None})
    if kind is Packaging.FOLDER:
        package = _fill_folder(folder / name, data, files, extras)
    else:
        for file, text in extras.items():
            _write_text(data / file, text)
        number = 1 + sum(1 for _ in existing_packages(kind, folder, name))
        package = _place(kind, folder, name, number)
        hashes = _hashes(files, extras)
        if kind is Packaging.BAG:
            _write_bag(made, hashes, _oxum(files, extras), at)
            sync_folders([data, made])
            made.rename(package)
        else:
            _write_zip(package, data, hashes, at)
    clear(folder, name)
    sync_folders([folder])
    return package


def clear(folder: Path, name: str) -> None:
    """Deletes the staging folder of a complete package."""
    shutil.rmtree(staging(folder, name), ignore_errors=True)


def _place(kind: Packaging, folder: Path, name: str, number: int) -> Path:
    numbered = name if number == 1 else f"{name}_{number}"
    return folder / (f"{numbered}.zip" if kind is Packaging.ZIP else numbered)


def _leave_only(data: Path, names: set[str]) -> None:
    """Deletes the remains of an interrupted delivery that are no longer needed."""
    for path in sorted(data.rglob("*"), reverse=True):
        if path.is_dir():
            if not any(path.iterdir()):
                path.rmdir()
        elif path.relative_to(data).as_posix() not in names:
            path.unlink()


def _hashes(files: Sequence[DeliveredFile], extras: dict[str, str]) -> dict[str, str]:
    texts = {file: hashlib.sha256(text.encode()).hexdigest() for file, text in extras.items()}
    return {kept.name: kept.sha256 for kept in files} | texts


def _oxum(files: Sequence[DeliveredFile], extras: dict[str, str]) -> str:
    """The Payload-Oxum: bytes and number of payload files (RFC 8493, 2.2.2)."""
    size = sum(kept.size for kept in files) + sum(len(text.encode()) for text in extras.values())
    return f"{size}.{len(files) + len(extras)}"


def _lines(hashes: dict[str, str], before: str = "") -> str:
    """A manifest in the form that `sha256sum -c` reads (GNU coreutils)."""
    return "".join(f"{sha256}  {before}{name}\n" for name, sha256 in sorted(hashes.items()))


def _fill_folder(package: Path, data: Path, files: Sequence[DeliveredFile], extras: dict[str, str]) -> Path:
    """Moves files into a plain folder; files of earlier deliveries stay, and stay in its manifest."""
    package.mkdir(exist_ok=True)
    for kept in files:
        if kept.package is None:
            place = package / kept.name
            place.parent.mkdir(exist_ok=True)
            (data / kept.name).rename(place)
    for file, text in extras.items():
        _write_text(package / file, text)
    listed = package / MANIFEST
    hashes: dict[str, str] = {}
    if listed.is_file():
        for line in listed.read_text(encoding="utf-8", errors="replace").split("\n"):
            sha256, two_spaces, name = line.partition("  ")
            if two_spaces:
                hashes[name] = sha256
    _write_text(listed, _lines(hashes | _hashes(files, extras)))
    sync_folders([package, *{(package / kept.name).parent for kept in files}])
    return package


def _write_bag(bag: Path, hashes: dict[str, str], oxum: str, at: datetime) -> None:
    """Writes the tag files of a bag (RFC 8493, 2.1 and 2.2)."""
    tags = {
        "bagit.txt": "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
        "bag-info.txt": f"Bagging-Date: {at.date().isoformat()}\nPayload-Oxum: {oxum}\n",
        MANIFEST: _lines(hashes, "data/"),
    }
    for name, text in tags.items():
        _write_text(bag / name, text)
    sums = {name: hashlib.sha256(text.encode()).hexdigest() for name, text in tags.items()}
    _write_text(bag / "tagmanifest-sha256.txt", _lines(sums))


def _write_zip(package: Path, data: Path, hashes: dict[str, str], at: datetime) -> None:
    """Writes a ZIP of the files and their manifest, uncompressed, as JPEGs do not shrink; reads it back."""
    _write_text(data / MANIFEST, _lines(hashes))
    part = data.parent / "zip"
    when = at.timetuple()[:6]
    with part.open("wb") as stream:
        with zipfile.ZipFile(stream, "w") as archive:
            for name in [*sorted(hashes), MANIFEST]:
                entry = zipfile.ZipInfo(name, when)
                entry.file_size = (data / name).stat().st_size
                with (data / name).open("rb") as source, archive.open(entry, "w") as target:
                    shutil.copyfileobj(source, target, 1 << 20)
        stream.flush()
        os.fsync(stream.fileno())
    with zipfile.ZipFile(part) as archive:
        for name, sha256 in hashes.items():
            with archive.open(name) as file:
                if hashlib.file_digest(file, "sha256").hexdigest() != sha256:  # type: ignore[arg-type]
                    raise NotWritten(f"{name} does not read back from the ZIP as it was written")
    part.replace(package)


def _write_text(place: Path, text: str) -> None:
    write_atomic(place, text.encode())


def reads_back(kind: Packaging, package: Path, kept: DeliveredFile) -> bool:
    """Whether a file in its complete package reads back as written."""
    if kind is Packaging.ZIP:  # each entry was read back before the ZIP got its name
        return package.is_file()
    path = (package / "data" if kind is Packaging.BAG else package) / kept.name
    try:
        return sha256_of(path) == kept.sha256
    except OSError:
        return False
