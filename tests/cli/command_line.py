"""What a command line did, and the list that the tests load."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

LIST = """\
key,given,family,group,email
C-1,Åsa,Lindqvarn,Harbour Choir,asa@example.org
C-2,Maria,Keller,Harbour Choir,maria@example.org
C-3,Maria,Keller,Valley Orchestra,keller@example.org
C-4,Joris,van den Eikhof,Valley Orchestra,joris@example.org
"""
"""Two people of one name are on it."""

HOSTILE = "Eve [bold]Red[/bold]\x1b[31m\nC-9  Somebody Else"
"""A name with markup, an escape code, and a line break that would forge a line."""


@dataclass(frozen=True)
class Outcome:
    status: int
    out: str
    err: str

    @property
    def data(self) -> dict[str, Any]:
        """Standard output as the one JSON object that it must be."""
        told = json.loads(self.out)
        assert isinstance(told, dict)
        return told


Onsite = Callable[..., Outcome]


def refused(outcome: Outcome) -> str:
    """What a refused command said: one or two lines on standard error, and nothing anywhere else."""
    assert outcome.status == 2, outcome
    assert outcome.out == ""
    assert 1 <= len(outcome.err.splitlines()) <= 2
    assert "Traceback" not in outcome.err
    return outcome.err
