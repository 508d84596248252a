"""A shoot after the wrap: a few people with frames under their names, and picks."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from choices import Choir, made_choir


@pytest.fixture
def choir(tmp_path: Path) -> Iterator[Choir]:
    made = made_choir(tmp_path / "choir")
    yield made
    made.shoot.engine.dispose()


@pytest.fixture(scope="session")
def cmyk_profile() -> bytes:
    """A profile for CMYK from those that are installed; the test is skipped where there is none."""
    for folder in ("/usr/share/color/icc", "/usr/share/ghostscript", "/usr/share/texlive"):
        for path in sorted(Path(folder).rglob("*.ic[cm]")):
            content = path.read_bytes()
            if content[16:20] == b"CMYK":
                return content
    pytest.skip("no CMYK profile is installed")
