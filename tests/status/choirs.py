"""The list of a festival of choirs, with a few invented people."""

from collections.abc import Callable

from onsite.roster.load_roster import load_list
from onsite.store.shoot import Shoot

ROSTER = """key,given,family,group,slot,consent,note,pronunciation,role
S-1,Mira,Okafor,Soprano,10:30,yes,,MEE-ra,soloist
S-2,Tomas,Brandl,Bass,10:40,no,wheelchair,,
S-3,Anna,Lindqvist,Alto,,,,,
S-4,Anna,Lindqvist,Tenor,,,,,
"""

Shot = Callable[[dict[int, int]], None]
"""Keeps a match in which people have so many frames."""


def listed(shoot: Shoot, text: str) -> None:
    """Loads a list given as text."""
    path = shoot.folder / "list.csv"
    path.write_text(text, encoding="utf-8")
    load_list(shoot, path)
