"""Writing a file whole or not at all."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from onsite.problems import Problem


def must_end_in(path: Path, ending: str) -> None:
    """Raises Problem for a file name of another kind: what is written must not take the place of a frame, a
    database or a client's workbook by a slip of the hand."""
    if path.suffix.lower() != ending:
        raise Problem(f"{path} does not end in {ending}", f"Name a file that ends in {ending}.")


@contextmanager
def whole_file(path: Path) -> Iterator[BinaryIO]:
    """A file to write to that takes the place of `path` at the end, and leaves it alone if anything fails.

    Raises Problem when the folder is missing, cannot be written, or the disk is full.
    """
    if not path.parent.is_dir():
        raise Problem(f"There is no folder {path.parent}", "Make it first, or name another one.")
    if path.is_dir():
        raise Problem(f"{path} is a folder", "Name a file in it.")
    draft = path.with_name(f".{secrets.token_hex(8)}.part")
    try:
        with draft.open("xb") as stream:
            yield stream
            stream.flush()
            os.fsync(stream.fileno())
        draft.replace(path)
    except OSError as error:
        reason = error.strerror or str(error)
        raise Problem(
            f"{path} cannot be written: {reason}", "Free the disk or choose another folder."
        ) from error
    finally:
        draft.unlink(missing_ok=True)
