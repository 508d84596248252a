"""What is cut off a picture to have the agreed ratio, and how large it is then."""

from __future__ import annotations

import re

from onsite.problems import Problem

FROM_ABOVE = 0.25
"""Of the rows that go, the part that goes from above. Heads are in the upper part of a portrait: most is cut
below. Our own choice."""

Box = tuple[int, int, int, int]
"""Left, top, right, bottom in pixels, right and bottom outside."""


def ratio_of(text: str) -> float | None:
    """Width to height of `4:5`, `4x5` or `4/5`; None of an empty text. Raises Problem."""
    if not text.strip():
        return None
    match = re.fullmatch(r"\s*(\d{1,5}(?:\.\d{1,3})?)\s*[:x×/]\s*(\d{1,5}(?:\.\d{1,3})?)\s*", text)
    width, height = (float(match[1]), float(match[2])) if match else (0.0, 0.0)
    if not width or not height or not 0.1 <= width / height <= 10:
        raise Problem(f"{text!r} is not a ratio.", "Write width to height, such as 4:5, or leave it empty.")
    return width / height


def crop_box(width: int, height: int, ratio: float | None) -> Box:
    """The largest part of a picture with that ratio: in the middle of its width, and keeping the head."""
    if ratio is None:
        return 0, 0, width, height
    if width / height > ratio:
        kept = max(min(round(height * ratio), width), 1)
        left = (width - kept) // 2
        return left, 0, left + kept, height
    kept = max(min(round(width / ratio), height), 1)
    top = round((height - kept) * FROM_ABOVE)
    return 0, top, width, top + kept


def size_of(box: Box, long_side: int) -> tuple[int, int]:
    """Width and height of the finished picture: `long_side` at most, 0 for as it is. Never enlarged."""
    width, height = box[2] - box[0], box[3] - box[1]
    if not long_side or max(width, height) <= long_side:
        return width, height
    scale = long_side / max(width, height)
    return max(round(width * scale), 1), max(round(height * scale), 1)
