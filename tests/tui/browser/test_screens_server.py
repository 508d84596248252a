"""The screens in a browser: who gets in, what is drawn there, and how it ends."""

from __future__ import annotations

import asyncio
import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import urlsplit

import pytest
from aiohttp import ClientSession, CookieJar, WSMsgType, WSServerHandshakeError

from onsite.store.events import EventKind, read_events
from onsite.store.shoot import Shoot
from onsite.tui.browser.screens_server import kept_key
from tests.patience import PATIENCE

COMMAND = [sys.executable, "-c", "from onsite.cli import main; main()", "serve", "--json"]
CHROMIUM = shutil.which("chromium")


@dataclass(frozen=True)
class Served:
    """A running `onsite serve`."""

    url: str
    process: subprocess.Popen[str]

    @property
    def place(self) -> str:
        """The address without its key."""
        return "http://" + urlsplit(self.url).netloc

    def end(self) -> int:
        """Press Ctrl-C; the exit status."""
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(PATIENCE)


def free_port() -> int:
    with socket.socket() as somewhere:
        somewhere.bind(("127.0.0.1", 0))
        return int(somewhere.getsockname()[1])


@pytest.fixture
def served(choirs: Shoot) -> Iterator[Served]:
    line = [*COMMAND, "--port", str(free_port()), "--shoot", str(choirs.folder)]
    environment = os.environ | {"ONSITE_STATION": "door-1"}
    with subprocess.Popen(line, stdout=subprocess.PIPE, text=True, env=environment) as process:
        assert process.stdout is not None
        answer = json.loads(process.stdout.readline())
        served = Served(answer["url"], process)
        try:
            yield served
        finally:
            process.kill()


def client() -> ClientSession:
    """A browser without a screen: it keeps cookies, of addresses in numbers too."""
    return ClientSession(cookie_jar=CookieJar(unsafe=True))


async def page_status(session: ClientSession, url: str) -> int:
    for _ in range(int(PATIENCE / 0.1)):  # the address is printed just before it is served
        try:
            async with session.get(url) as answer:
                return answer.status
        except OSError:
            await asyncio.sleep(0.1)
    raise AssertionError(f"{url} is not served")


async def drawn_until(session: ClientSession, place: str, text: str, *keys: str) -> str:
    """What the screens draw until `text` stands there, after these keys."""
    drawn = ""
    async with session.ws_connect(f"{place}/screens?width=100&height=30", origin=place) as screens:
        left = list(keys)
        async with asyncio.timeout(PATIENCE):
            async for message in screens:
                if message.type is WSMsgType.BINARY:
                    drawn += message.data.decode(errors="replace")
                if "Check in" in drawn and left:
                    await screens.send_str(json.dumps(["stdin", left.pop(0)]))
                if text in drawn and not left:
                    return drawn
    raise AssertionError(f"{text!r} was not drawn: {drawn[-2000:]!r}")


def station_in(drawn: str) -> str:
    """The station that the screens name in their first line."""
    found = re.search(r"door-1-browser-\d{3}", drawn)
    assert found is not None
    return found[0]


async def test_the_screens_open_for_whoever_has_the_key(served: Served) -> None:
    async with client() as session:
        assert await page_status(session, served.url) == 200
        assert station_in(await drawn_until(session, served.place, "Check in")).startswith("door-1-browser-")
    assert served.end() == 0


async def test_a_browser_that_comes_back_is_the_same_station(served: Served) -> None:
    """Undo takes back what its own station did."""
    stations = []
    for _ in range(2):
        async with client() as session:
            for _ in range(2):
                assert await page_status(session, served.url) == 200
                stations.append(station_in(await drawn_until(session, served.place, "Check in")))
    assert stations[0] == stations[1]
    assert stations[2] == stations[3]


async def test_without_the_key_nobody_gets_in(served: Served) -> None:
    async with client() as session:
        assert await page_status(session, served.place) == 403
        assert await page_status(session, f"{served.place}/?key=wrong") == 403
        with pytest.raises(WSServerHandshakeError, match="403"):
            await session.ws_connect(f"{served.place}/screens", origin=served.place)


async def test_the_page_of_another_site_cannot_open_them(served: Served) -> None:
    """RFC 6455, 10.2: the browser says from whose page a connection comes."""
    async with client() as session:
        assert await page_status(session, served.url) == 200
        assert await page_status(session, served.place) == 200  # the key is in the cookie
        for origin in ("https://elsewhere.example", None):
            with pytest.raises(WSServerHandshakeError, match="403"):
                await session.ws_connect(f"{served.place}/screens", origin=origin)


async def test_the_page_asks_nothing_of_the_internet(served: Served) -> None:
    async with client() as session:
        await page_status(session, served.url)
        async with session.get(served.url) as answer:
            page = await answer.text()
            assert "no-store" in answer.headers["Cache-Control"]
        assert "https://" not in page
        for name in ("css/xterm.css", "js/textual.js", "fonts/RobotoMono-VariableFont_wght.ttf"):
            assert f"/static/{name}" in page
            assert await page_status(session, f"{served.place}/static/{name}") == 200


async def test_a_port_in_use_is_one_message(served: Served, choirs: Shoot) -> None:
    async with client() as session:
        await page_status(session, served.url)
    port = str(urlsplit(served.url).port)
    line = [*COMMAND[:-1], "--port", port, "--shoot", str(choirs.folder)]
    second = subprocess.run(line, capture_output=True, text=True, timeout=PATIENCE, check=False)
    assert second.returncode == 2
    assert f"Port {port} of 127.0.0.1 cannot be used" in second.stderr
    assert "--port" in second.stderr
    assert len(second.stderr.splitlines()) == 2


async def test_the_address_stays_the_same(served: Served, choirs: Shoot) -> None:
    """A tablet finds the screens again after the computer was started anew."""
    assert served.url.endswith(kept_key(choirs.folder))
    file = choirs.folder / "browser-key"
    assert file.stat().st_mode & 0o777 == 0o600
    file.write_text("cut")  # as a full disk leaves it
    again = kept_key(choirs.folder)
    assert again not in served.url
    assert again == kept_key(choirs.folder)


@pytest.mark.long
@pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")
async def test_checked_in_from_a_browser(served: Served, choirs: Shoot) -> None:
    """A name typed on the tablet arrives; Ctrl+Q says that the screens are closed, and they open again."""
    api = pytest.importorskip("playwright.async_api", reason="playwright is not installed")
    async with api.async_playwright() as playwright:
        browser = await playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        page = await browser.new_page(viewport={"width": 1180, "height": 820})
        async with client() as session:
            await page_status(session, served.url)
        await page.goto(served.url)
        await page.wait_for_selector("body.-first-byte", timeout=1000 * PATIENCE)
        assert "key" not in page.url
        for key in (*"zoë", "Enter"):
            await page.keyboard.press(key) if key != "ë" else await page.keyboard.insert_text(key)
        await wait_for_arrival(choirs)
        await page.keyboard.press("Control+q")
        await page.wait_for_selector("#closed button", state="visible", timeout=1000 * PATIENCE)
        await page.click("#closed button")
        await page.wait_for_selector("body.-first-byte", timeout=1000 * PATIENCE)
        assert served.end() == 0
        await page.click("#closed button")
        await page.wait_for_selector("text=The computer does not answer")
        await browser.close()


async def wait_for_arrival(shoot: Shoot) -> None:
    for _ in range(int(PATIENCE / 0.1)):
        with shoot.reading() as session:
            if arrived := read_events(session, [EventKind.ARRIVED]):
                (arrival,) = arrived
                assert station_in(arrival.station) == arrival.station
                return
        await asyncio.sleep(0.1)
    raise AssertionError("nobody arrived")
