"""The report as a page: what an HTML parser and a browser make of it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import html5lib
import pytest
from sqlmodel import select

from onsite.report.write_report import write_report
from onsite.store.events import EventKind, add_event
from onsite.store.schema import Person
from onsite.store.shoot import Shoot

CHROMIUM = Path("/usr/bin/chromium")
SVG = "{http://www.w3.org/2000/svg}"


def written(shoot: Shoot, books: bool = False) -> Path:
    path = shoot.folder.parent / "report.html"
    write_report(shoot, path, lambda *_: None, books)
    return path


def parsed(path: Path) -> Element:
    """Read as the HTML standard (WHATWG) has it; html5lib raises at the first mistake."""
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    document: Element = parser.parse(path.read_text(encoding="utf-8"))
    return document


def text_of(element: Element) -> str:
    return " ".join(" ".join(element.itertext()).split())


def section(document: Element, name: str) -> str:
    (found,) = document.findall(f".//section[@aria-labelledby='{name}']")
    return text_of(found)


def test_it_is_valid_and_every_id_is_there_once(after: Shoot) -> None:
    document = parsed(written(after))
    ids = [element.get("id") for element in document.iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    for element in document.iter():
        for name in (element.get("aria-labelledby") or "").split():
            assert name in ids


def test_the_books_tell_how_the_shoot_stands(after: Shoot) -> None:
    document = parsed(written(after, books=True))
    assert "For The choir's office. Shot on 13 June 2026; as it stood on 20 June 2026 at 12:00." in text_of(
        document
    )
    assert "delivered 1" in section(document, "stages")
    assert "Bass 2 of 2" in section(document, "groups")
    assert "13 frames in = 10 named + 1 slate + 1 loose + 1 set aside." in section(document, "frames")
    assert "Loose: 1 frame in 1 run" in section(document, "frames")
    assert "1 person on the list" in section(document, "make-up")
    assert "Pia Vogel Alto" in section(document, "make-up")
    assert "proof out, no picks 3 14 June 2026" in section(document, "after")
    assert "2 pictures were picked; agreed: 1 picture each. Notes to the retoucher: 0." in section(
        document, "picks"
    )
    assert "B1 in house 2 1 1 18 June 2026, overdue 7.00 EUR" in section(document, "retouch")
    assert "Retouching: 7.00 EUR." in section(document, "costs")
    assert "1 18 June 2026 client 1 1" in section(document, "deliveries")
    assert "Tomas Brandl : at retouch" in section(document, "everybody")
    assert "Pia Vogel : absent" in section(document, "everybody")


def test_it_says_what_is_not_there_yet(shoot: Shoot) -> None:
    document = parsed(written(shoot, books=True))
    assert "Nobody has arrived." in section(document, "pace")
    assert "Nothing has been delivered yet." in section(document, "deliveries")
    assert "Nothing has been sent to be retouched." in section(document, "retouch")


def test_a_name_that_is_a_script_stays_text(after: Shoot) -> None:
    hostile = "<img src=x onerror=alert(2)>\"'&\x00\x1b[31m\u202e"
    with after.writing() as session:
        add_event(
            session, EventKind.BATCH, after.now(), batch=hostile, hand=hostile, due="", price="", currency=""
        )
    path = written(after, books=True)
    document = parsed(path)
    assert not list(document.iter("script"))
    assert not list(document.iter("img"))
    assert "Anna <script>alert(1)</script> : proofed" in section(document, "everybody")
    assert "<img src=x onerror=alert(2)>\"'&" in section(document, "retouch")
    assert not re.search("[\x00-\x08\x0b-\x1f\u202e]", path.read_text(encoding="utf-8"))


def test_nobodys_address_number_or_page_is_in_it(after: Shoot) -> None:
    html = written(after).read_text(encoding="utf-8")
    for private in ("example.org", "5550101", "page-1.html"):
        assert private not in html


def test_nothing_is_fetched_and_nothing_runs(after: Shoot) -> None:
    document = parsed(written(after))
    for element in document.iter():
        assert element.tag not in {"script", "link", "iframe", "object", "embed"}
        for name, value in element.attrib.items():
            assert not name.startswith("on")
            assert "//" not in value
            assert name not in {"src", "href"}


def test_each_chart_has_its_words_and_its_table(after: Shoot) -> None:
    document = parsed(written(after, books=True))
    charts = document.findall(f".//{SVG}svg[@class='chart']")
    assert len(charts) == 2  # the pace, and frames a person; no clock tells the waits here
    for chart in charts:
        assert chart.get("role") == "img"
        assert text_of(chart.find(f"{SVG}title"))  # type: ignore[arg-type]
        assert text_of(chart.find(f"{SVG}desc"))  # type: ignore[arg-type]
    told = [text_of(chart.find(f"{SVG}desc")) for chart in charts]  # type: ignore[arg-type]
    assert told[0].startswith("5 people arrived and 0 were first photographed between 09:00 and 10:00")
    assert told[1] == "From 1 to 3 frames; 2 are the most common, of 3 people."
    for bar in document.findall(f".//{SVG}svg[@class='bar']"):
        assert bar.get("aria-label")


@pytest.fixture
def browser() -> Any:
    sync_api = pytest.importorskip("playwright.sync_api")
    if not CHROMIUM.exists():
        pytest.skip("Chromium is not installed")
    with sync_api.sync_playwright() as started:
        yield started.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox"])


@pytest.mark.long
@pytest.mark.parametrize("width", [360, 1200])
def test_a_browser_shows_it_whole_fetches_nothing_and_prints_it(
    after: Shoot, browser: Any, width: int, tmp_path: Path
) -> None:
    with after.writing() as session:
        session.exec(select(Person).where(Person.id == 6)).one().group = "W" * 300
        session.exec(select(Person).where(Person.id == 6)).one().name = "Pia " + "O" * 300
    path = written(after)
    page = browser.new_page(viewport={"width": width, "height": 800})
    asked: list[str] = []
    said: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("dialog", lambda dialog: said.append(dialog.message))
    page.on("console", lambda message: said.append(message.text))
    page.goto(path.as_uri())
    assert (asked, said) == ([path.as_uri()], [])
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.locator("svg.chart").first.bounding_box()["width"] <= width
    assert page.get_by_role("img", name="Pace on 13 June 2026").count() == 1
    page.screenshot(path=tmp_path / "report.png")
    page.pdf(path=tmp_path / "report.pdf", format="A4")
    assert (tmp_path / "report.pdf").read_bytes().startswith(b"%PDF")
