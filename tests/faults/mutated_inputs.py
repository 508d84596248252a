"""Inputs that are spoilt at random, from a seed each, and given to the command line.

    python -m tests.faults.mutated_inputs [COUNT] [FIRST SEED] [KINDS]      (50,000 from 1 of all)

Every input must end with status 0, 2 or 3, in a second or three, within 2 GB, and leave a sound shoot. One
seed makes the same inputs again: `python -m tests.faults.mutated_inputs 1 SEED KIND`.
"""

from __future__ import annotations

import csv
import faulthandler
import io
import json
import os
import random
import resource
import shutil
import signal
import sys
import tempfile
import time
import zipfile
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any

import openpyxl
import pillow_heif
import xlwt
from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P
from PIL import Image

from onsite.cli.command_tree import root_command
from onsite.cli.help_text import commands_of
from tests.cli.command_line import LIST, Outcome
from tests.faults.small_day import copied, done, make_small_day, onsite, reuse_engines
from tests.frames.pictures import exif, jpeg, multi_picture, raw
from tests.metadata.foreign import DEVELOPED

MOST_SECONDS, MOST_MEMORY = 120, 2 << 30
"""For the inputs of one seed, of processor time and bytes: more is a hang, or a file that costs more than any
photograph does."""

LONGEST_WAIT = 1_200
"""Seconds by the clock: more is a hang even on a busy machine."""

_TOKENS = r"""
\0 \xff\xfe \xef\xbb\xbf \r \n\n " ' ; , \t =1+1 { } [ ] < > &#0; ]]> <!-- %s \x1b[31m \xe2\x80\xae A:1 C-1 --
\xed\xa0\x80 \xf0\x9f\x98\x80 -1 0 99999999999999999999 1e309 nan 2026-02-30 25:61 9999-12-31T23:59:59+14:00
\x7f\xff\xff\xff \xff\xff\xff\xff \0\0\0\0 \x80\0\0\0
"""
TOKENS = [token.encode().decode("unicode_escape").encode("latin-1") for token in _TOKENS.split()]


def spoilt(content: bytes, rng: random.Random, other: bytes = b"") -> bytes:
    """The content after one to five random changes; `other` is a second sample, to cross it with."""
    for _ in range(rng.randint(1, 5)):
        at = int(len(content) * rng.random() ** rng.choice((1, 3)))  # headers are at the beginning
        to = min(len(content), at + int(2 ** (rng.random() * 10)))
        before, part, after = content[:at], content[at:to], content[to:]
        token, crossed = rng.choice(TOKENS), other[rng.randrange(len(other)) if other else 0 :]
        flipped = bytes(byte ^ 1 << rng.randrange(8) for byte in part[:1]) + part[1:]
        content = rng.choice(
            (
                before + flipped + after,
                before + rng.randbytes(len(part)) + after,
                before + token + part + after,
                before + token + after,
                before + after,
                before + part * rng.choice((2, 3, 50)) + after,
                before,
                before + crossed,
            )
        )
    return content


def spoilt_archive(content: bytes, rng: random.Random) -> bytes:
    """The same inside one part of a ZIP file, such as a workbook."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(made, "w") as new:
        chosen = rng.choice(old.namelist())
        for name in old.namelist():
            part = old.read(name)
            new.writestr(name, spoilt(part, rng) if name == chosen else part)
    return made.getvalue()


@cache
def lists() -> dict[str, bytes]:
    """Lists of people in every format that is read, by the name of the file."""
    rows = list(csv.reader(io.StringIO(LIST)))
    rows = [[*rows[0], "phone", "consent", "language"]] + [
        [*row, "+43 1 5550100", answer, "de"]
        for row, answer in zip(rows[1:], ("yes", "no", "", "Ja"), strict=True)
    ]
    text = "".join(",".join(row) + "\n" for row in rows)
    xlsx, xls, ods = io.BytesIO(), io.BytesIO(), io.BytesIO()
    book = openpyxl.Workbook()
    old_book = xlwt.Workbook()
    old_sheet, document, table = old_book.add_sheet("People"), OpenDocumentSpreadsheet(), Table(name="People")
    for number, row in enumerate(rows):
        book.worksheets[0].append(row)
        table_row = TableRow()
        for column, cell in enumerate(row):
            old_sheet.write(number, column, cell)
            table_cell = TableCell(valuetype="string")
            table_cell.addElement(P(text=cell))
            table_row.addElement(table_cell)
        table.addElement(table_row)
    document.spreadsheet.addElement(table)
    book.save(xlsx)
    old_book.save(xls)
    document.save(ods)
    return {
        "a.csv": text.encode(),
        "b.csv": text.replace(",", ";").encode("cp1252"),
        "c.tsv": text.replace(",", "\t").encode("utf-16"),
        "d.xlsx": xlsx.getvalue(),
        "e.xls": xls.getvalue(),
        "f.ods": ods.getvalue(),
    }


@cache
def pictures() -> dict[str, bytes]:
    """Pictures of every kind that is read, by the name of the file."""
    with tempfile.TemporaryDirectory() as kept:
        folder = Path(kept)
        drawn = Image.radial_gradient("L").resize((160, 120)).convert("RGB")
        facts = exif(
            taken="2026:06:13 09:00:00",
            sub_seconds="12",
            offset="+02:00",
            serial="S1",
            model="One",
            orientation=6,
        )
        jpeg(folder / "a.jpg", 7, taken="2026:06:13 09:00:00", serial="123", model="Model One")
        drawn.save(folder / "b.jpg", progressive=True, exif=facts)
        drawn.convert("CMYK").save(folder / "c.jpg")
        multi_picture(folder / "d.jpg", drawn, drawn.resize((80, 60)))
        for number, compression in enumerate(("raw", "tiff_lzw", "jpeg", "tiff_adobe_deflate")):
            drawn.save(folder / f"e{number}.tif", compression=compression, exif=facts)
        Image.radial_gradient("L").resize((64, 48)).convert("I;16").save(folder / "f.tif")
        pillow_heif.from_pillow(drawn).save(folder / "g.heic", exif=facts.tobytes())
        raw(folder / "h.dng", drawn, taken="2026:06:13 09:00:00", serial="S1")
        made = {path.name: path.read_bytes() for path in sorted(folder.iterdir())}
    real = Path(__file__).parents[3] / "shared" / "data"
    found = [path for path in (*real.glob("exif/*"), *real.glob("raw/*")) if path.stat().st_size < 500_000]
    return made | {path.name: path.read_bytes() for path in sorted(found)}


MAIL = b"""\
From: "Asa Lindqvarn" <asa@example.org>
To: studio@example.org
Subject: =?utf-8?B?TXkgY2hvaWNl?=
Date: Mon, 15 Jun 2026 10:00:00 +0200
Message-ID: <1@example.org>
MIME-Version: 1.0
Content-Type: multipart/alternative; boundary="b1"

--b1
Content-Type: text/plain; charset=utf-8
Content-Transfer-Encoding: quoted-printable

My pick: A:2, the second one =C3=A5 please
> On Sunday you wrote: A:1
Note A:0001: stray hair
--b1
Content-Type: text/html; charset=iso-8859-1

<html><body><p>My pick: A:2</p><blockquote>A:1</blockquote><hr><table><td>x</td></table></body></html>
--b1--
"""
PAPER = b"who,at,card,station\nC-1,9:41,,door-1\nC-2,2026-06-13T09:42:00+02:00,,door-2\nMaria Keller,,3,\n"
SETTINGS = """\
name = "Day"
client = "Festival"
date = "2026-06-13"
timezone = "Europe/Vienna"
ends = "17:00"
[agreed]
picks = 2
names = "{family}_{given}_{group}_{sequence:04}"
ratio = "4:5"
long_side = 300
quality = 92
most_kb = 50
due = "2026-07-01"
price = "12.50"
currency = "EUR"
pages = "https://example.org/proofs"
studio = "Studio"
reply_to = "studio@example.org"
picks_due = "2026-06-20"
language = "de"
keep_until = "2027-01-01"
[languages]
"Harbour Choir" = "sv"
"""
_PATTERNS = """
{family} {given} {name} {key} {original} {sequence:04} {pick} {frame:9} {date} {shoot} {:} { }
{family:99} _ .. . / \\\\ CON \\u0000 \\t % -
"""
PATTERNS = (*_PATTERNS.split(), " ", "ä" * 90)


def spoil_list(rng: random.Random, folder: Path) -> list[list[str]]:
    name = rng.choice(list(lists()))
    content = lists()[name]
    if name[-4:] in ("xlsx", ".ods") and rng.random() < 0.7:
        content = spoilt_archive(content, rng)
    else:
        content = spoilt(content, rng, rng.choice(list(lists().values())))
    (folder / name).write_bytes(content)
    options = rng.choice(
        ([], ["--dry-run"], ["--withdraw"], ["--capitals", "keep"], ["--map", "given=given"])
    )
    return [["roster", "load", str(folder / name), *options]]


def spoil_pictures(rng: random.Random, folder: Path) -> list[list[str]]:
    card = folder / f"card{rng.random()}"
    card.mkdir()
    for number in range(HOLDS["pictures"]):
        name = rng.choice(list(pictures()))
        content = spoilt(pictures()[name], rng, rng.choice(list(pictures().values())))
        (card / f"IMG_{number}{Path(name).suffix}").write_bytes(content)
    return [["ingest", str(card), *rng.choice(([], ["--copy-to", str(folder / "copies")]))]]


def spoil_mail(rng: random.Random, folder: Path) -> list[list[str]]:
    name = rng.choice(("a.eml", "b.mbox", "c.html", "d.txt", "e.csv"))
    parts = {
        "b.mbox": b"From asa@example.org Mon Jun 15 10:00:00 2026\n" + MAIL + b"\n",
        "c.html": MAIL[MAIL.index(b"<html") :],
    }
    parts["e.csv"] = b"name,picks\nAsa Lindqvarn,A:1\nC-2,IMG_0002\n"
    (folder / name).write_bytes(spoilt(parts.get(name, MAIL), rng, MAIL))
    return [["picks", "load", str(folder / name)]]


def spoil_paper(rng: random.Random, folder: Path) -> list[list[str]]:
    (folder / "paper.csv").write_bytes(spoilt(PAPER, rng, LIST.encode()))
    return [["checkin", "--from", str(folder / "paper.csv")]]


def spoil_sidecar(rng: random.Random, folder: Path) -> list[list[str]]:
    name = rng.choice(("IMG_0001.xmp", "IMG_0001.JPG.xmp"))
    (folder / "card" / name).write_bytes(spoilt(DEVELOPED.encode(), rng, MAIL))
    return [["marks", "--beside"] if rng.random() < 0.7 else ["marks", "--to", str(folder / "marks")]]


def spoil_settings(rng: random.Random, folder: Path) -> list[list[str]]:
    if rng.random() < 0.5:
        text = "".join(rng.choice(PATTERNS) for _ in range(rng.randint(1, 6)))
        content = SETTINGS.replace("{family}_{given}_{group}_{sequence:04}", text).encode()
    else:
        content = spoilt(SETTINGS.encode(), rng, MAIL)
    (folder / "day" / "shoot.toml").write_bytes(content)
    return [
        ["deliver", str(folder / f"out{rng.random()}"), "--originals", "--again"],
        [rng.choice(("status", "remind", "retain"))],
    ]


def spoil_returned(rng: random.Random, folder: Path) -> list[list[str]]:
    shutil.copytree(folder / "batch", batch := folder / f"batch{rng.random()}")
    for path in [path for path in batch.rglob("*") if path.is_file()]:
        path.write_bytes(spoilt(path.read_bytes(), rng, rng.choice(list(pictures().values()))))
        if rng.random() < 0.1:
            path.rename(path.with_name(rng.choice(("x.jpg", "IMG_0009.tif", path.name.upper()))))
    return [["retouch", "receive", str(batch)], ["deliver", str(folder / f"out{rng.random()}"), "--again"]]


LEFT_OUT = ("demo", "watch", "slates clock", "serve")
"""Commands that go on until they are stopped, or take minutes."""

_WORDS = """
C-1 C-2 1 2 0 -1 A:1 A:1-2 A:2-1 IMG_0001.JPG f1 f99 A: : A:1-999999 Åsa maria yes no undo door-1
given=given given= 2026-06-13 2026-06-13T09:00 9:41 25:00 0001-01-01 9999-12-31T23:59:59+14:00 1e309 nan
inf 1.5 = a4 letter 8 de xx 99999999999999999999 EUR card day list.csv out.csv out.pdf out.json out.html
out nowhere/out photographed --json -- onsite.db shoot.toml . .. sqlite:///x.db
postgresql+psycopg://nobody@127.0.0.1:1/x mysql://x - harbour أمينة %s {} ~
"""
WORDS = (
    *_WORDS.split(),
    "Maria Keller",
    "Harbour Choir",
    "",
    " ",
    "\0",
    "\ud800",
    "\x1b[31m",
    "\n",
    "x" * 5000,
)


def spoil_words(rng: random.Random, _: Path) -> list[list[str]]:
    commands = [(words, command) for words, command in commands_of(root_command) if words not in LEFT_OUT]
    words, command = rng.choice(commands)
    line: list[str] = []
    for parameter in command.params:
        if parameter.name in ("shoot", "json"):
            continue
        is_option = parameter.opts[0].startswith("-")
        if is_option and rng.random() < 0.7:
            continue
        if is_option:
            line.append(rng.choice((*parameter.opts, *parameter.secondary_opts)))
        if not getattr(parameter, "is_flag", False):
            times = 1 if is_option else rng.choice((1, 1, 1, 2, 3, 0))
            line += [rng.choice(WORDS) for _ in range(times)]
    if rng.random() < 0.1:
        line.insert(rng.randrange(len(line) + 1), rng.choice(WORDS))
    return [[*words.split(), *line]]


KINDS = {
    "list": (spoil_list, 24),
    "pictures": (spoil_pictures, 6),
    "mail": (spoil_mail, 14),
    "paper": (spoil_paper, 6),
    "sidecar": (spoil_sidecar, 10),
    "settings": (spoil_settings, 8),
    "returned": (spoil_returned, 2),
    "words": (spoil_words, 24),
}
"""How inputs of a kind are made, and how many of a hundred seeds."""

AT_ONCE = 20
"""Commands that one seed gives, one after another, to one shoot."""

HOLDS = {"pictures": 5}
"""Inputs in one command, where they are not one."""


def faults_of(outcome: Outcome, words: Sequence[str]) -> str:
    """What is wrong with how a command ended; empty where nothing is."""
    if outcome.status not in (0, 2, 3):
        return f"status {outcome.status}: {outcome.err[-300:]}"
    if "Traceback" in outcome.err + outcome.out:
        return "a traceback"
    if outcome.status == 2 and not 1 <= len(outcome.err.splitlines()) <= 2:
        return f"{len(outcome.err.splitlines())} lines of refusal"
    if words[0] == "--json":
        try:
            json.loads(outcome.out)
        except ValueError:
            return f"no JSON: {outcome.out[:200]!r}"
    return ""


def prepare(folder: Path) -> None:
    """A shoot for all inputs: the small day with a batch at the retoucher, in `folder`/day."""
    make_small_day(folder)
    shoot = folder / "day"
    (shoot / "shoot.toml").write_text(SETTINGS, encoding="utf-8")
    done(shoot, "retouch", "send", str(folder / "batch"), "--hand", "Lab")


def try_inputs(made: Path, folder: Path, kind: str, seed: int) -> list[str]:
    """What is wrong with how the inputs of that seed were taken. `folder` is made for them."""
    rng = random.Random(f"{kind} {seed}")
    faults = []
    try:
        copied(made, folder)
        os.chdir(folder)
        for _ in range(AT_ONCE):
            for line in KINDS[kind][0](rng, folder):
                words = [*rng.choice(([], ["--json"])), *line]
                if fault := faults_of(onsite(folder / "day", *words), words):
                    faults.append(f"{words!r}: {fault}")
        if kind == "settings":  # what other inputs changed stays, such as the store after a move
            shutil.copy(made / "day" / "shoot.toml", folder / "day")
        checked = onsite(folder / "day", "check", "--json")
        if checked.status != 0:
            faults.append(f"then check: {checked.err}{checked.out}")
        return faults
    finally:
        os.chdir(made)
        shutil.rmtree(folder, ignore_errors=True)


def inputs_of(kind: str) -> int:
    """The inputs that a seed makes."""
    return AT_ONCE * HOLDS.get(kind, 1)


def tasks(count: int, first: int, kinds: Sequence[str]) -> list[tuple[str, int]]:
    """The kinds and seeds that make that many inputs."""
    made, todo, shares = 0, [], [KINDS[kind][1] for kind in kinds]
    while made < count:
        seed = first + len(todo)
        kind = random.Random(seed).choices(kinds, shares)[0]
        made += inputs_of(kind)
        todo.append((kind, seed))
    return todo


def work(made: Path, todo: Sequence[tuple[str, int]], report: int) -> None:
    """A process that tries inputs one after another; dies where one hangs."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    faulthandler.register(signal.SIGPROF, chain=True)
    reuse_engines()
    folder = made.parent / f"work-{os.getpid()}"
    with os.fdopen(report, "w", buffering=1) as out:
        for kind, seed in todo:
            faulthandler.dump_traceback_later(LONGEST_WAIT, exit=True)
            signal.setitimer(signal.ITIMER_PROF, MOST_SECONDS)  # of processor time; ends the process
            began = time.process_time()
            try:
                faults = try_inputs(made, folder, kind, seed)
            except BaseException as error:
                faults = [f"raised {type(error).__name__}: {error}"]
            peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss >> 10
            print(json.dumps([faults, round(time.process_time() - began, 3), peak]), file=out)


def fuzz(
    made: Path, todo: Sequence[tuple[str, int]], say: Callable[[str], Any] = print
) -> list[tuple[str, int, str]]:
    """All inputs in a process that is begun again where it dies; returns kind, seed and fault of those."""
    found: list[tuple[str, int, str]] = []
    tried, inputs, slowest, memory = 0, 0, (0.0, "", 0), 0
    while tried < len(todo):
        read, write = os.pipe()
        child = os.fork()
        if child == 0:
            with suppress(BaseException):
                os.close(read)
                work(made, todo[tried:], write)
                os._exit(0)
            os._exit(1)
        os.close(write)
        with os.fdopen(read) as lines:
            for line in lines:
                faults, seconds, peak = json.loads(line)
                kind, seed = todo[tried]
                slowest, memory = max(slowest, (seconds, kind, seed)), max(memory, peak)
                for fault in faults:
                    found.append((kind, seed, fault))
                    say(f"{kind} {seed}: {fault}")
                tried, inputs = tried + 1, inputs + inputs_of(kind)
                if tried % 50 == 0:
                    say(f"{inputs:,} inputs, {len(found)} faults, {memory} MB")
        _, status = os.waitpid(child, 0)
        if tried < len(todo):
            found.append((*todo[tried], f"the process died with {status}"))
            say(f"{todo[tried]}: the process died with {status}")
            tried += 1
    say(f"{inputs:,} inputs, {len(found)} faults, {memory} MB at most; longest {slowest}")
    return found


def main(count: int = 50_000, first: int = 1, kinds: Sequence[str] = tuple(KINDS)) -> int:
    os.environ |= {"ONSITE_STATION": "door-1", "COLUMNS": "120", "LINES": "60"}
    with tempfile.TemporaryDirectory() as kept:
        made = Path(kept) / "made"
        made.mkdir()
        prepare(made)
        pictures(), lists()
        return len(fuzz(made, tasks(count, first, kinds), lambda text: print(text, flush=True)))


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:3]), *(text.split(",") for text in sys.argv[3:])))
