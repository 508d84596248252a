"""The words by which a client's list is read: `list_words.toml`, beside this module."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path


@cache
def word_tables() -> dict[str, dict[str, str]]:
    """All lists of words, as written, by table and name."""
    return tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))


def listed_words(table: str, name: str) -> frozenset[str]:
    """A list of single words."""
    return frozenset(word_tables()[table][name].split())


def listed_phrases(table: str, name: str) -> list[str]:
    """A list of phrases."""
    return word_tables()[table][name].split(";")
