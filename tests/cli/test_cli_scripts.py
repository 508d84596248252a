"""Names in the scripts of the world on tickets, pictures and contact sheets, through the commands."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from onsite.slates import printable_slate_names, slate_fonts
from onsite.slates.slate_fonts import typeface_for
from tests.cli.command_line import Onsite

SCRIPTS = {
    "Chinese": "李小龙",
    "Japanese": "山田花子",
    "Korean": "김민준",
    "Devanagari": "अमृता",
    "Thai": "สมชาย",
}


@pytest.fixture
def no_fonts(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A machine on which no font is installed."""
    for forget in (slate_fonts.typeface_for.cache_clear, printable_slate_names.letter_text.cache_clear):
        forget()
    monkeypatch.setattr(slate_fonts, "installed_fonts", lambda: ())
    yield
    for forget in (slate_fonts.typeface_for.cache_clear, printable_slate_names.letter_text.cache_clear):
        forget()


@pytest.fixture
def choir(onsite: Onsite, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Onsite:
    names = [*SCRIPTS.values(), "Kim 민준", "Ana 🎻", "Zoë"]
    rows = "".join(f"S-{number},{name},yes\n" for number, name in enumerate(names))
    (tmp_path / "list.csv").write_text(f"key,name,consent\n{rows}", encoding="utf-8")
    assert onsite("new", "day", "--name", "Day", "--timezone", "Europe/Vienna").status == 0
    monkeypatch.chdir(tmp_path / "day")
    assert onsite("roster", "load", "../list.csv").status == 0
    return onsite


def printed(path: Path) -> str:
    """The text of a PDF, as pdftotext of the Poppler project reads it."""
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext is not installed here")
    return subprocess.run(["pdftotext", path, "-"], capture_output=True, check=True, text=True).stdout


@pytest.mark.long
def test_names_are_set_in_their_script_by_fonts_of_the_system(choir: Onsite) -> None:
    for script, name in SCRIPTS.items():
        if typeface_for(name) is None:
            pytest.skip(f"no font for {script} is installed here")
    done = choir("slates", "sheet", "tickets.pdf", "--up", 8)
    assert done.status == 0
    text = printed(Path("tickets.pdf"))
    for name in ("李小龙", "山田花子", "김민준", "สมชาย", "Kim 민준"):
        assert name in text
    assert "अ" in text  # readers give the marks of its syllables in an order of their own
    assert choir("slates", "sheet", "again.pdf", "--json").data["in_latin"] == ["Ana 🎻"]


@pytest.mark.long
@pytest.mark.usefixtures("no_fonts")
def test_what_is_not_in_its_own_letters_is_said_on_paper_and_by_the_command(choir: Onsite) -> None:
    done = choir("slates", "sheet", "tickets.pdf", "--up", 8)
    assert done.status == 0
    assert "7 names in Latin letters, as no font here has all of theirs: 李小龙, 山田花子" in done.out
    assert "Chinese, Japanese and Korean, Devanagari, Thai, emoji and symbols" in done.out
    assert "fonts-noto-cjk" in done.out
    assert printed(Path("tickets.pdf")).count("in Latin letters here") == 7
    told = choir("slates", "images", "pictures", "--json").data["in_latin"]
    assert told == [*SCRIPTS.values(), "Kim 민준", "Ana 🎻"]


@pytest.mark.long
@pytest.mark.usefixtures("no_fonts")
def test_proofs_say_it_as_well(choir: Onsite, tmp_path: Path) -> None:
    from PIL import Image

    (tmp_path / "card").mkdir()
    Image.new("RGB", (300, 450), "grey").save(tmp_path / "card" / "IMG_0001.JPG")
    assert choir("ingest", tmp_path / "card", "--camera", "A").status == 0
    assert choir("frames", "give", "IMG_0001.JPG", "S-0").status == 0
    done = choir("proofs", "build", tmp_path / "proofs")
    assert "1 name in Latin letters, as no font here has all of theirs: 李小龙" in done.out
    (sheet,) = (tmp_path / "proofs" / "private").rglob("*.pdf")
    assert "in Latin letters here" in printed(sheet)


def test_a_long_name_goes_on_two_lines_before_it_is_cut() -> None:
    from onsite.proofs.contact_sheet import SheetHeading, plan_sheets

    name = "Maximiliana Theodora von und zu Hohenfels-Wallersee auf Kirchberg am Walde"
    (plan,) = plan_sheets(SheetHeading(name, "Alto", "proofs"), ["A:0001"], [(300, 400)])
    first, second = plan.lines[:2]
    assert f"{first.text} {second.text}" == name
    assert second.baseline > first.baseline


def test_a_long_name_without_spaces_is_broken_between_its_letters() -> None:
    from onsite.slates.fit_slate_text import compose_ticket
    from onsite.slates.slate_layout import Ticket, ticket_layout

    name = "李小龍陳大文" * 5
    if typeface_for(name) is None:
        pytest.skip("no font for Chinese is installed here")
    lines = compose_ticket(Ticket("NX34ACDEFHJK", name), ticket_layout(150, 100))
    assert lines[0].text + lines[1].text == name
