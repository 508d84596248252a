"""The page in a real browser, from a folder, at the size of a phone and of a desk."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from onsite.core.codes import pick_code
from onsite.messages.languages import CATALOGUES
from onsite.messages.message_catalogue import catalogue
from onsite.picks.load_picks import load_picks
from onsite.picks.record_picks import read_picks
from onsite.proofs.build_proofs import build_proofs
from onsite.proofs.proof_page import LONGEST_MAILTO
from onsite.proofs.proof_record import read_proof_records
from onsite.reconcile.frame_ownership import people_with_frames
from onsite.store.settings import Agreement, Settings
from onsite.store.shoot import Shoot, create_shoot
from tests.proofs.studio import HOSTILE, NAMES, agreed, photographed

sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
Page = sync_api.Page

pytestmark = pytest.mark.long  # a browser takes seconds to open
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
SIZES = {
    "phone": {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True},
    "desk": {"viewport": {"width": 1280, "height": 800}},
}


@pytest.fixture(scope="module")
def browser() -> Iterator[object]:
    if CHROMIUM is None:
        pytest.skip("no chromium is installed")
    with sync_api.sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def proofs(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Shoot, Path]]:
    """A shoot of which two pictures each are agreed, and its proofs."""
    folder = tmp_path_factory.mktemp("proofs")
    shoot = create_shoot(folder / "shoot", Settings(name="Festival <b>", timezone="UTC"), "AAAA")
    photographed(shoot, folder, NAMES)
    shoot = agreed(shoot, 2)
    build_proofs(shoot, folder / "out")
    yield shoot, folder / "out"
    shoot.engine.dispose()


def page_of(shoot: Shoot, out: Path, key: str) -> Path:
    with shoot.reading() as session:
        pages = read_proof_records(session)
    person = next(sitter.person for sitter in people_with_frames(shoot) if sitter.person.key == key)
    return out / "pages" / pages[person.id].page


@pytest.fixture(params=SIZES)
def page(request: pytest.FixtureRequest, browser: object, proofs: tuple[Shoot, Path]) -> Iterator[object]:
    """Mira's page. Whatever it asks the network for, or complains of, fails the test."""
    context = browser.new_context(**SIZES[request.param])  # type: ignore[attr-defined]
    opened = context.new_page()
    asked: list[str] = []
    opened.on("request", lambda request: asked.append(request.url))
    opened.on("console", lambda message: asked.append(message.text))
    opened.on("pageerror", lambda error: asked.append(str(error)))
    opened.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    address = page_of(*proofs, "S-1").as_uri()
    opened.goto(address)
    yield opened
    context.close()
    assert [one for one in asked if one != address and not one.startswith("data:image/jpeg")] == []


def code_on(page: Page) -> str:
    return str(page.locator("#code").inner_text())


def mail_on(page: Page) -> dict[str, str]:
    address = urlsplit(page.locator("#mail").get_attribute("href"))
    assert (address.scheme, address.path) == ("mailto", "")
    return {name: values[0] for name, values in parse_qs(address.query).items()}


def write_note(page: Page, text: str) -> None:
    page.locator(".note:visible").click()
    page.locator("#words").fill(text)
    page.locator("#noting .shut").click()


def expected(proofs: tuple[Shoot, Path], pictures: list[int]) -> str:
    shoot, _ = proofs
    mira = next(sitter for sitter in people_with_frames(shoot) if sitter.person.key == "S-1")
    return pick_code(shoot.mark, mira.holder, pictures)


def test_pictures_chosen_come_back_as_their_code(page: Page, proofs: tuple[Shoot, Path]) -> None:
    assert page.locator("#done").is_disabled()
    page.locator(".choose").nth(2).click()
    page.locator(".choose").nth(0).click()
    assert page.locator("#count").inner_text() == "2 of 2 chosen"
    page.locator("#done").click()
    assert code_on(page) == expected(proofs, [2, 0])


def test_the_limit_holds_and_says_so(page: Page) -> None:
    for number in (0, 1, 2):
        page.locator(".choose").nth(number).click()
    assert "You have chosen 2 pictures already" in page.locator("#count").inner_text()
    assert page.locator(".choose[aria-pressed=true]").count() == 2
    page.locator(".choose").nth(0).click()
    page.locator(".choose").nth(2).click()
    assert page.locator("#count").inner_text() == "2 of 2 chosen"


def test_code_and_notes_in_the_mail_are_read_back(
    page: Page, proofs: tuple[Shoot, Path], tmp_path: Path
) -> None:
    page.locator(".choose").nth(1).click()
    page.locator(".note:visible").click()
    page.get_by_role("button", name="Stray hair").click()
    page.locator("#words").fill("& the collar?\nplease")
    page.locator("#noting .shut").click()
    page.locator("#done").click()
    mail = mail_on(page)
    assert mail["subject"] == "My choice, Festival <b>"
    (tmp_path / "mail.txt").write_text(mail["body"], encoding="utf-8")
    shoot, _ = proofs
    done = load_picks(shoot, tmp_path / "mail.txt")
    assert done.refused.count == 0
    (mira,) = [one for one in read_picks(shoot) if one.person.key == "S-1"]
    assert mira.picks == (("A:0002", "Stray hair; & the collar? please"),)


def test_what_was_chosen_survives_a_reload(page: Page) -> None:
    page.locator(".choose").nth(3).click()
    page.locator(".note:visible").click()
    page.locator("#words").fill("keep the mole")
    page.reload()
    assert page.locator(".choose").nth(3).get_attribute("aria-pressed") == "true"
    assert page.locator(".note:visible").inner_text() == "keep the mole"


@pytest.mark.parametrize("kept", ["nonsense", "null", "[]", '{"chosen":["A:9999"],"notes":{"A:0001":7}}'])
def test_what_somebody_else_left_in_its_place_does_no_harm(page: Page, kept: str) -> None:
    name = "picks " + page.evaluate("document.documentElement.dataset.page")
    page.evaluate(f"localStorage.setItem({json.dumps(name)}, {json.dumps(kept)})")
    page.reload()
    page.locator(".choose").nth(0).click()
    assert page.locator("#count").inner_text() == "1 of 2 chosen"


def test_it_works_where_nothing_may_be_kept(browser: object, proofs: tuple[Shoot, Path]) -> None:
    opened = browser.new_page()  # type: ignore[attr-defined]
    opened.add_init_script(
        "Object.defineProperty(window, 'localStorage', {get() { throw new DOMException('refused') }})"
    )
    opened.goto(page_of(*proofs, "S-1").as_uri())
    opened.locator(".choose").nth(0).click()
    opened.locator("#done").click()
    assert code_on(opened) == expected(proofs, [0])
    opened.close()


def test_the_keyboard_does_all_of_it(page: Page, proofs: tuple[Shoot, Path]) -> None:
    page.keyboard.press("Tab")
    page.keyboard.press("Space")  # the first picture
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")  # larger
    assert page.locator("#large").is_visible()
    page.keyboard.press("ArrowRight")
    assert page.locator("#large .label").inner_text() == "A:0002"
    page.keyboard.press("Escape")
    assert not page.locator("#large").is_visible()
    page.locator("#done").focus()
    page.keyboard.press("Enter")
    assert code_on(page) == expected(proofs, [0])


def test_holding_a_picture_shows_it_larger_and_does_not_choose_it(page: Page) -> None:
    box = page.locator(".choose").nth(1).bounding_box()
    page.mouse.move(box["x"] + 20, box["y"] + 20)
    page.mouse.down()
    page.locator("#large").wait_for(state="visible", timeout=5000)
    page.mouse.up()
    assert page.locator("#large .label").inner_text() == "A:0002"
    page.locator("#large .shut").click()
    assert page.locator(".choose[aria-pressed=true]").count() == 0


def test_code_and_notes_are_copied(page: Page, proofs: tuple[Shoot, Path]) -> None:
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.locator(".choose").nth(0).click()
    write_note(page, "keep the mole")
    page.locator("#done").click()
    page.locator("#copy").click()
    page.get_by_text("Copied").wait_for(timeout=5000)
    copied = str(page.evaluate("navigator.clipboard.readText()"))
    assert expected(proofs, [0]) in copied
    assert "\nNote A:0001: keep the mole\n" in copied


def test_nothing_is_wider_than_the_screen(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.locator(".choose").nth(0).click()
    page.locator("#done").click()
    assert page.locator("#sending").bounding_box()["width"] <= page.viewport_size["width"]


def test_its_pictures_are_there(page: Page) -> None:
    widths = page.evaluate("[...document.querySelectorAll('.pictures img')].map(i => i.naturalWidth)")
    assert widths == [240] * 4


def test_a_script_in_a_name_stays_text(browser: object, proofs: tuple[Shoot, Path]) -> None:
    opened = browser.new_page()  # type: ignore[attr-defined]
    said: list[str] = []
    opened.on("dialog", lambda dialog: (said.append(dialog.message), dialog.dismiss()))
    opened.goto(page_of(*proofs, "S-3").as_uri())
    assert opened.locator(".whose bdi").inner_text() == f"{HOSTILE} Larkfield"
    opened.locator(".choose").nth(0).click()
    opened.locator("#done").click()
    assert HOSTILE in mail_on(opened)["body"]
    assert opened.locator("script").count() == 1
    assert said == []
    opened.close()


def test_its_policy_stops_a_script_that_got_in_all_the_same(
    browser: object, proofs: tuple[Shoot, Path], tmp_path: Path
) -> None:
    text = page_of(*proofs, "S-1").read_text(encoding="utf-8")
    ran = "document.title = 'ran'"
    bad = f"""<script>{ran}</script><img src="https://example.org/x.png" onerror="{ran}">"""
    (tmp_path / "page.html").write_text(text.replace("</main>", bad + "</main>"), encoding="utf-8")
    opened = browser.new_page()  # type: ignore[attr-defined]
    asked: list[str] = []
    opened.on("requestfinished", lambda request: asked.append(request.url))
    opened.goto((tmp_path / "page.html").as_uri())
    assert opened.title() == "Proofs: Mira Okafor"
    assert not [url for url in asked if url.startswith("http")]
    opened.close()


def test_without_scripts_it_says_what_to_do(browser: object, proofs: tuple[Shoot, Path]) -> None:
    context = browser.new_context(java_script_enabled=False)  # type: ignore[attr-defined]
    opened = context.new_page()
    opened.goto(page_of(*proofs, "S-1").as_uri())
    assert re.search(r"Reply with the number under the picture", opened.locator("noscript").inner_text())
    assert not opened.locator("footer").is_visible()
    context.close()


def test_with_one_agreed_another_tap_changes_the_choice(browser: object, tmp_path: Path) -> None:
    shoot = create_shoot(tmp_path / "shoot", Settings(name="Festival", timezone="UTC"), "AAAA")
    photographed(shoot, tmp_path, {"S-1": NAMES["S-1"]})
    build_proofs(shoot, tmp_path / "out")
    opened = browser.new_page()  # type: ignore[attr-defined]
    opened.goto(page_of(shoot, tmp_path / "out", "S-1").as_uri())
    opened.locator(".choose").nth(0).click()
    opened.locator(".choose").nth(1).click()
    pressed = opened.locator(".choose[aria-pressed=true]")
    assert pressed.count() == 1
    assert pressed.get_attribute("aria-label") == "Picture A:0002"
    opened.close()
    shoot.engine.dispose()


def test_where_nothing_can_be_copied_the_whole_answer_is_marked(
    page: Page, proofs: tuple[Shoot, Path]
) -> None:
    page.evaluate("() => { navigator.clipboard.writeText = async () => { throw new Error('refused') } }")
    page.evaluate("() => { document.execCommand = () => false }")
    page.locator(".choose").nth(0).click()
    write_note(page, "keep the mole")
    page.locator("#done").click()
    page.locator("#copy").click()
    page.get_by_text("Now copy what is marked").wait_for(timeout=5000)
    marked = str(page.evaluate("getSelection().toString()"))
    assert expected(proofs, [0]) in marked
    assert "Note A:0001: keep the mole" in marked


@pytest.fixture(scope="module")
def studios(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Shoot, Path]]:
    """Proofs with everything said: who photographs, where to answer, by when; a person for each language."""
    folder = tmp_path_factory.mktemp("studios")
    terms = Agreement(picks=2, studio="Studio Møll", reply_to="pics+a@example.org", picks_due="2126-07-01")
    settings = Settings(name="Festival", timezone="UTC", date="2126-06-13", agreed=terms)
    shoot = create_shoot(folder / "shoot", settings, "AAAA")
    listed = [f"S-{n},Mira,Okafor{n},{tag},yes" for n, tag in enumerate(CATALOGUES, start=1)]
    frames = {
        f"S-{n}": [f"IMG_00{n}{place}.JPG" for place in range(3)] for n in range(1, len(CATALOGUES) + 1)
    }
    photographed(shoot, folder, frames, "\n".join(["key,given,family,language,consent", *listed]) + "\n")
    build_proofs(shoot, folder / "out")
    yield shoot, folder / "out"
    shoot.engine.dispose()


@pytest.mark.parametrize("language", CATALOGUES)
def test_the_page_speaks_the_persons_language_and_its_answer_is_read_back(
    browser: object, studios: tuple[Shoot, Path], tmp_path: Path, language: str
) -> None:
    key, words = f"S-{CATALOGUES.index(language) + 1}", catalogue(language)
    context = browser.new_context(**SIZES["phone"])  # type: ignore[attr-defined]
    opened = context.new_page()
    opened.goto(page_of(*studios, key).as_uri())
    assert opened.locator("html").get_attribute("lang") == language
    assert opened.locator("h1").inner_text() == words.text("page-head", most=2)
    shown = opened.locator("body").inner_text()
    for told in ("Studio Møll", "pics+a@example.org", words.day("2126-07-01"), words.day("2126-06-13")):
        assert told in shown
    opened.locator(".choose").nth(1).click()
    opened.locator(".choose").nth(2).click()
    assert opened.locator("#count").inner_text() == words.text("page-chosen-of", count=2, most=2)
    opened.locator(".choose").nth(0).click()
    assert opened.locator("#count").inner_text() == words.text("page-all-chosen", most=2)
    opened.locator(".note:visible").first.click()
    label = opened.locator(".pictures li").nth(1).get_attribute("data-label")
    assert opened.locator("#noting-head").inner_text() == words.text("page-note-for", label=label)
    opened.locator("#words").fill("ja, oui & sí")
    opened.locator("#noting .shut").click()
    opened.locator("#done").click()
    address = urlsplit(opened.locator("#mail").get_attribute("href"))
    assert (address.scheme, address.path) == ("mailto", "pics%2Ba@example.org")
    mail = {name: values[0] for name, values in parse_qs(address.query).items()}
    assert mail["subject"] == words.text("page-answer-subject", shoot="Festival")
    assert "\ue000" not in mail["body"] + shown
    assert opened.evaluate("document.documentElement.scrollWidth <= innerWidth")
    (tmp_path / "mail.txt").write_text(mail["body"], encoding="utf-8")
    done = load_picks(studios[0], tmp_path / "mail.txt")
    assert (done.refused.count, done.unsure.count) == (0, 0)
    (one,) = [one for one in read_picks(studios[0]) if one.person.key == key]
    assert (len(one.picks), one.picks[0][1], one.note) == (2, "ja, oui & sí", "")
    context.close()


def test_notes_too_long_for_a_mail_are_copied_and_it_says_so(
    browser: object, studios: tuple[Shoot, Path]
) -> None:
    opened = browser.new_page()  # type: ignore[attr-defined]
    opened.goto(page_of(*studios, "S-1").as_uri())
    for place in (0, 1):
        opened.locator(".choose").nth(place).click()
    for note, text in enumerate(("x" * 300, "é" * 300)):
        opened.locator(".note:visible").nth(note).click()
        opened.locator("#words").fill(text)
        opened.locator("#noting .shut").click()
    opened.locator("#done").click()
    href = opened.locator("#mail").get_attribute("href")
    assert href == "mailto:pics%2Ba@example.org?subject=My%20choice%2C%20Festival"
    assert opened.locator("#mail").inner_text() == "Open an empty mail"
    assert "too long" in opened.locator("#mail-too-long").inner_text()
    assert not opened.locator("#mail-how").is_visible()
    answer = str(opened.locator("#answer").input_value())
    assert "x" * 300 in answer
    assert "é" * 300 in answer
    opened.close()


@given(length=st.integers(0, 300), letter=st.sampled_from("xé中&"))
@settings(max_examples=4)
def test_no_address_line_is_longer_than_mail_programs_take_or_lacks_a_note(
    browser: object, studios: tuple[Shoot, Path], length: int, letter: str
) -> None:
    opened = browser.new_page()  # type: ignore[attr-defined]
    opened.goto(page_of(*studios, "S-1").as_uri())
    opened.locator(".choose").nth(0).click()
    write_note(opened, letter * length)
    opened.locator("#done").click()
    href = str(opened.locator("#mail").get_attribute("href"))
    assert len(href) <= LONGEST_MAILTO
    if "&body=" in href:
        assert letter * length in parse_qs(urlsplit(href).query)["body"][0]
    else:
        assert opened.locator("#mail-too-long").is_visible()
    opened.close()
