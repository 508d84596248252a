"""Who is on the list of the festival that the reports are about, and when things happened."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

ROSTER = """\
key,given,family,group,email,phone,consent
S-1,Mira,Okafor,Soprano,mira@example.org,+43 1 5550101,yes
S-2,Tomas,Brandl,Bass,tomas@example.org,,yes
S-3,Anna,<script>alert(1)</script>,Alto,anna@example.org,,yes
S-4,=1+1,Lindqvist,Tenor,"x@example.org
Bcc: all@example.org",,yes
S-5,Jo,Quell,Bass,,,no
S-6,Pia,Vogel,Alto,pia@example.org,,yes
"""
VIENNA = ZoneInfo("Europe/Vienna")
MORNING = datetime(2026, 6, 13, 9, tzinfo=VIENNA)
NOW = datetime(2026, 6, 20, 12, tzinfo=VIENNA)

FRAMES = {1: (1, 2, 3), 2: (4, 5), 3: (6, 7), 4: (8,), 5: (9, 10)}
"""Frame ids by person; 11 is loose, 12 a slate, 13 set aside. Person 6 never came."""
