"""What each command is called in everyday words: one description of each, for the screens and for `--help`.

A command without one is called by the first sentence of its help.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Everyday:
    """A command in everyday words."""

    title: str
    """What it does, as a person says it; the screens find it by this."""
    example: str
    """A command line that may be typed as it is written, without `onsite`."""
    words: str = ""
    """Other words by which it is found."""
    then: str = ""
    """What to do next, once it is done."""
    short: tuple[str, ...] = ()
    """Options that its form shows at once; what must be given is always shown."""
    values: Mapping[str, str] = field(default_factory=dict)
    """Field -> what its form proposes; a path is in the shoot's folder, and one with a star gets a number."""
    labels: Mapping[str, str] = field(default_factory=dict)
    """Field -> its label, where its name is not enough."""
    about: str = ""
    """What it does, where that is not the first sentence of the command's help."""
    asks: str = ""
    """What is asked before it is done, after a dry run that shows what would be; empty where nothing is."""
    by: tuple[str, str] | None = None
    """(mode, action) of the screens that do the same in their own way; without a mode, of the app."""


EVERYDAY = {
    "new": Everyday(
        "Make a shoot",
        "new autumn --name 'Autumn concert' --client 'The choir' --ends 17:00",
        "new job, begin, create, commission",
        "Load the client's list.",
        ("name", "client", "date", "ends"),
    ),
    "join": Everyday(
        "Join a shoot from another computer",
        "join postgresql+psycopg://onsite@server/autumn autumn-door",
        "second machine, share, connect",
        then="Its screens open here.",
    ),
    "store move": Everyday(
        "Move the shoot's database",
        "store move postgresql+psycopg://onsite@server/autumn",
        "PostgreSQL, SQLite, several machines",
        then="Join the shoot from the other computers.",
    ),
    "roster load": Everyday(
        "Load the client's list",
        "roster load ../choir.xlsx --dry-run",
        "import names, roster, spreadsheet, Excel, CSV, newer version",
        "Print tickets for everybody on it.",
        by=("", "load_list"),
    ),
    "roster find": Everyday(
        "Find a person", "roster find marja", "search name, look up", then="Press F1 to check somebody in."
    ),
    "roster list": Everyday(
        "List everybody",
        "roster list --stage expected",
        "roster, names, people, missing, absent",
        then="Press F4: the same on one screen, by group and stage.",
    ),
    "plan": Everyday(
        "The day's plan",
        "plan",
        "who comes when, slots, times, schedule, timetable",
        then="Print tickets for everybody, where that is not done.",
    ),
    "slates images": Everyday(
        "Slates as pictures",
        "slates images ../slates",
        "PNG, codes for a badge, tickets as images",
        values={"folder": "slates"},
        then="Give each person theirs. The first frame of everybody shows it.",
    ),
    "slates sheet": Everyday(
        "Print tickets",
        "slates sheet tickets.pdf --up 4",
        "tickets, cards with names, slates, PDF, QR codes, lost ticket, one ticket, new people",
        "Print it at full size on matte paper, and shoot one as a test.",
        ("paper", "up", "group", "who", "new"),
        {"file": "tickets.pdf"},
        {"who": "only this person", "new": "only new people", "group": "only this group"},
    ),
    "slates deck": Everyday(
        "Print deck cards",
        "slates deck cards.pdf --cards 20",
        "reusable cards, numbered, walk-ins",
        "Print it at full size on matte paper. Hand one to whoever has no ticket.",
        ("cards",),
        {"file": "deck-cards.pdf", "cards": "20"},
    ),
    "slates show": Everyday(
        "Show a slate on this screen", "slates show 'Ana Horvat'", "slate, code", by=("set", "person")
    ),
    "slates clock": Everyday(
        "Show the clock slate", "slates clock", "camera clock, time, set the clock", by=("set", "clock")
    ),
    "checkin": Everyday(
        "Check somebody in",
        "checkin 'Ana Horvat'",
        "arrive, arrived, door, deck card, paper list",
        "They are in the queue of the set.",
        ("card",),
        about="Check somebody in, and give them the next number.",
    ),
    "checkin undo": Everyday(
        "Undo a check-in",
        "checkin undo 'Ana Horvat'",
        "not here, take back, arrived by mistake",
        about="Take an arrival back; of a walk-in, the person too.",
        then="They are expected again. Press F1 when they come.",
    ),
    "walkin": Everyday(
        "Walk-in",
        "walkin --given Cleo --family Marin --group Altos --consent yes",
        "not on the list, add a person, new person, late",
        "They are in the queue of the set.",
        ("given", "family", "group", "email", "consent", "card"),
    ),
    "consent": Everyday(
        "Write down consent",
        "consent 'Bo Lind' no",
        "may be published, permission, refuse, withdraw, take back, yes, no",
        labels={"given": "may be published"},
        then="From now on proofs and deliveries go by it.",
    ),
    "ingest": Everyday(
        "Read memory cards",
        "ingest /media/card-1 --copy-to /media/backup",
        "import frames, card reader, SD card, copy pictures, ingest, back up cards",
        "Press F3 to settle what is loose.",
        ("copy_to",),
    ),
    "watch": Everyday(
        "Watch a folder",
        "watch ../tether --camera A",
        "tether, live, frames as they land",
        by=("set", "watch"),
    ),
    "match": Everyday(
        "Match frames to people",
        "match",
        "names, who is who, loose frames",
        "Press F3 to settle what is loose.",
    ),
    "frames export": Everyday(
        "Export the list of frames",
        "frames export frames.csv",
        "CSV, spreadsheet, names of files",
        values={"file": "frames.csv"},
        then="Open it in a spreadsheet.",
    ),
    "frames give": Everyday(
        "Give frames to a person",
        "frames give A:1043-1046 'Ana Horvat'",
        "name frames by hand, assign",
        then="Press F3 to settle what else is loose.",
    ),
    "frames aside": Everyday(
        "Set frames aside",
        "frames aside A:0998-1002",
        "test shots, light check, nobody's, reject",
        then="Press F3 to settle what else is loose.",
    ),
    "frames free": Everyday(
        "Back to automatic",
        "frames free A:0998",
        "take back a decision by hand, clear override",
        then="Press F3 to see what is loose now.",
    ),
    "frames split": Everyday(
        "Split a run",
        "frames split A:1050",
        "somebody else begins here",
        then="Press F3 to settle both parts.",
    ),
    "frames join": Everyday(
        "Join two runs",
        "frames join A:1050 A:1049",
        "same person, merge runs",
        then="Press F3 to settle what else is loose.",
    ),
    "frames undo": Everyday(
        "Undo the last decision",
        "frames undo",
        "undo, take back, mistake",
        then="Press F3 to see what is loose now.",
    ),
    "frames why": Everyday(
        "Why a frame has its name",
        "frames why A:1043",
        "explain, evidence, reason, wrong name",
        then="Press F3 to decide it by hand, where it is wrong.",
    ),
    "proofs build": Everyday(
        "Make proofs",
        "proofs build ../proofs",
        "proof pages, contact sheets, gallery, web pages",
        "Write the mails that tell people their proofs are ready.",
        ("group",),
        {"folder": "proofs"},
    ),
    "proofs mails": Everyday(
        "Write mails that proofs are ready",
        "proofs mails ../proofs --at https://proofs.example.org/festival",
        "e-mail, tell people, invitation",
        "Send them from your own mail program. When answers come: load the picks.",
        ("at", "by"),
        {"folder": "proofs"},
    ),
    "picks load": Everyday(
        "Load picks",
        "picks load answers.txt",
        "answers, choices, orders, mails back, selection",
        "Send the picks to a retoucher.",
    ),
    "picks add": Everyday(
        "Add a pick",
        "picks add 'Ana Horvat' A:1043",
        "choose a picture, choice, note",
        then="Send the picks to a retoucher.",
    ),
    "picks list": Everyday(
        "List picks",
        "picks list",
        "who has picked, choices",
        then="Write reminders to those who have not picked.",
    ),
    "retouch send": Everyday(
        "Send to retoucher",
        "retouch send ../batch-1 --hand 'A service' --due 2027-07-01 --price 5",
        "retouching, batch out, hand over, edit",
        "Hand the folder over. When files come back: take retouched files back.",
        ("hand", "due", "price", "developed"),
        {"folder": "batch-*"},
    ),
    "retouch receive": Everyday(
        "Take retouched files back",
        "retouch receive ../back",
        "batch back, returned files, receive",
        "Deliver, or look at what is held.",
    ),
    "retouch accept": Everyday(
        "Accept a returned file",
        "retouch accept A:1043 --reason 'small, but for a badge it will do'",
        "held file, approve",
        then="Deliver, once nothing else is held.",
    ),
    "retouch again": Everyday(
        "Have a frame retouched again",
        "retouch again A:1044 --reason 'too smooth'",
        "reject retouching, send back, redo",
        then="Send to retoucher: it goes out again with the next batch.",
    ),
    "retouch list": Everyday(
        "List retouch batches",
        "retouch list",
        "what is out, overdue, retoucher",
        then="Take retouched files back, when they come.",
    ),
    "retouch cost": Everyday(
        "What retouching costs",
        "retouch cost --images 90 --price 4.50",
        "price, budget",
        short=("images", "price"),
        then="Send to retoucher.",
    ),
    "marks": Everyday(
        "Mark picks for the raw developer",
        "marks --beside",
        "ratings, stars, XMP sidecars, labels",
        short=("beside", "to"),
        then="Open the pictures in your raw developer.",
    ),
    "deliver": Everyday(
        "Deliver",
        "deliver ../finished",
        "finished files, hand over, final pictures, ZIP, yearbook",
        "Look through the folder, and send it with its receipt.",
        ("per", "as_", "yearbook"),
        {"folder": "delivery"},
    ),
    "undo": Everyday(
        "Undo",
        "undo",
        "undo, take back, mistake, picks, batch, check-in",
        then="Press F4 to see where everybody is.",
    ),
    "status": Everyday(
        "How far everything is",
        "status",
        "status, counts, progress, forecast, summary",
        then="Press F4: the same for each person.",
    ),
    "remind": Everyday(
        "Write reminders",
        "remind --by 2027-10-31",
        "who has not picked, mails, chase",
        "Send them from your own mail program.",
        ("group", "by"),
    ),
    "report": Everyday(
        "Write a report",
        "report report.html",
        "client report, books, bill, invoice, summary",
        "Open it in a browser to read or print it.",
        ("books",),
        {"file": "report.html"},
    ),
    "demo": Everyday("Demo", "demo", "try, example, invented shoot"),
    "serve": Everyday("Screens in a browser", "serve --host 0.0.0.0", "tablet, phone, web, browser"),
    "check": Everyday(
        "Check this computer and shoot",
        "check",
        "ready, sound, health, disk space, fonts",
        then="Mend what it names, if anything, and check again.",
    ),
    "verify": Everyday(
        "Read every file again",
        "verify",
        "check copies, hashes, damaged files, backup",
        then="Format a memory card only where it says that this is safe.",
    ),
    "backup": Everyday(
        "Make a backup now", "backup", "back up, copy, save, safe", then="Copy it to another disk too."
    ),
    "restore": Everyday(
        "Go back to a backup", "restore", "backups, restore, undo everything, damaged", by=("", "go_back")
    ),
    "forget": Everyday(
        "Forget a person",
        "forget 'Ana Horvat' --dry-run",
        "delete, remove data, privacy, right to erasure",
        about="Remove a person's data. First you see where it is; then you are asked.",
        asks="yes, forget them. It cannot be taken back: earlier backups go too",
        then="Tell hosts and the client: what they have is not removed.",
    ),
    "retain": Everyday(
        "What is past its date",
        "retain",
        "delete old, retention, keep until",
        then="Forget a person whose date is past.",
    ),
}
"""The everyday words of each command, by its words."""

OFTEN = (
    "roster load",
    "slates sheet",
    "checkin",
    "walkin",
    "undo",
    "roster find",
    "slates show",
    "watch",
    "ingest",
    "proofs build",
    "proofs mails",
    "picks load",
    "retouch send",
    "retouch receive",
    "remind",
    "deliver",
    "report",
    "backup",
)
"""What is done on every job, in the order of its days: found first, where a word fits several commands."""
