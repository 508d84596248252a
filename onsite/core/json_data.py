"""Values as JSON data: one encoder for everything that is printed or written as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from enum import Enum
from typing import Any

NOT_JSON = {"json": False}
"""Metadata of a dataclass's field that is not part of its JSON object."""


def json_data(value: Any) -> Any:
    """A value as dicts, lists, texts and numbers.

    A dataclass or named tuple becomes an object of its fields, or of what its `data` method returns. Times
    and dates are ISO 8601; paths, decimal numbers and whatever else JSON does not have become text.

    >>> json_data({"day": date(2026, 6, 13), "pair": (1, None)})
    {'day': '2026-06-13', 'pair': [1, None]}
    """
    if isinstance(value, Enum):
        return value.value
    if value is None or isinstance(value, str | bool | int | float):
        return value
    if hasattr(value, "data"):
        return json_data(value.data())
    if is_dataclass(value):
        named = [field.name for field in fields(value) if field.metadata != NOT_JSON]
        return {name: json_data(getattr(value, name)) for name in named}
    if isinstance(value, Mapping):
        return {json_data(key): json_data(item) for key, item in value.items()}
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return json_data(value._asdict())
    if isinstance(value, list | tuple):
        return [json_data(item) for item in value]
    return value.isoformat() if isinstance(value, date | datetime) else str(value)
