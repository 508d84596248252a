"""A web server for the screens: each browser gets a process of its own, joined to it by a WebSocket.

textual-serve speaks between browser and process. What it leaves open is closed here. Its page asks a host on
the internet for a typeface, which a gym lacks. Anybody could connect, and so could the page of any other site
that is open in the same browser (RFC 6455, 10.2: a server looks at the Origin). All browsers would be one
station, so that undo in one of them took back what was done in another.
"""

from __future__ import annotations

import asyncio
import json
import secrets
from asyncio.subprocess import PIPE, Process
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from urllib.parse import urlsplit

from aiohttp import WSMsgType, web
from textual_serve.app_service import AppService
from textual_serve.server import Server

from onsite.core.errors import Problem
from onsite.files.atomic_write import atomic_file

_KEY, _BROWSER = "onsite-key", "onsite-browser"
"""Cookies: the key, and the browser's number, by which it is the same station when it comes back."""

_A_MONTH = 30 * 24 * 3600
"""Seconds for which a browser keeps its number: longer than a shoot."""

_PATIENCE = 5.0
"""Seconds that screens get to close in, once their browser is gone; then their process is ended."""

_PAGE = Path(__file__).with_name("screens_page.html")


class ScreensServer:
    """Serves the screens that the command `line` opens to everybody who has the key.

    `station` names the stations: a browser of it is "door-1-browser-417".
    """

    def __init__(self, line: Sequence[str], station: str, key: str) -> None:
        self._key = key
        self._line, self._station = tuple(line), station
        self._library = Server("")
        self._open: set[web.WebSocketResponse] = set()

    def run(self, host: str, port: int) -> None:
        """Serve until Ctrl-C. Raises Problem where the address cannot be used."""
        app = web.Application()
        app.add_routes(
            [
                web.get("/", self._page),
                web.get("/screens", self._screens),
                web.static("/static", self._library.statics_path),
            ]
        )
        app.on_shutdown.append(self._close_all)
        try:
            web.run_app(app, host=host, port=port, print=None, access_log=None, shutdown_timeout=_PATIENCE)
        except OSError as error:
            raise Problem(
                f"Port {port} of {host} cannot be used: {error.strerror or error}.",
                "Is onsite serve running already? Choose another port: --port.",
            ) from error

    async def _page(self, request: web.Request) -> web.StreamResponse:
        if not self._is_key(request.query.get("key", "")):
            self._require_key(request)
        page = web.FileResponse(_PAGE)
        page.set_cookie(_KEY, self._key, httponly=True, samesite="Strict")
        page.set_cookie(_BROWSER, _number(request), max_age=_A_MONTH, httponly=True, samesite="Strict")
        page.headers["Cache-Control"] = "no-store"
        page.headers["Referrer-Policy"] = "no-referrer"
        page.headers["X-Frame-Options"] = "DENY"
        return page

    async def _screens(self, request: web.Request) -> web.WebSocketResponse:
        self._require_key(request)
        if urlsplit(request.headers.get("Origin", "")).netloc != request.host:
            raise web.HTTPForbidden(text="Only the page of these screens may open them.")
        socket = web.WebSocketResponse(heartbeat=15)
        await socket.prepare(request)
        station = f"{self._station}-browser-{_number(request)}"
        screens = _ScreensProcess(self._line, station, socket, self._library)
        self._open.add(socket)
        try:
            await screens.start(
                _cells(request.query.get("width"), 80), _cells(request.query.get("height"), 24)
            )
            await _pass_on(socket, screens)
        finally:
            self._open.discard(socket)
            await screens.stop()
        return socket

    def _require_key(self, request: web.Request) -> None:
        if not self._is_key(request.cookies.get(_KEY, "")):
            raise web.HTTPForbidden(
                text="Open the whole address that `onsite serve` shows: its key is missing here."
            )

    def _is_key(self, text: str) -> bool:
        return secrets.compare_digest(text.encode(), self._key.encode())

    async def _close_all(self, _: web.Application) -> None:
        for socket in list(self._open):
            await socket.close()


def kept_key(folder: Path) -> str:
    """The key of a shoot's screens, made once, so that tablets find them again: 96 random bits.

    It is needed in the address; then the browser keeps it in a cookie until it is closed.
    """
    path = folder / "browser-key"
    key = path.read_text(encoding="ascii", errors="replace").strip() if path.is_file() else ""
    if len(key) < 16:
        key = secrets.token_urlsafe(12)
        with atomic_file(path) as stream:
            stream.write(key.encode())
        path.chmod(0o600)
    return key


class _ScreensProcess(AppService):
    """The screens of one browser."""

    def __init__(
        self, line: Sequence[str], station: str, socket: web.WebSocketResponse, library: Server
    ) -> None:
        super().__init__(
            "",
            write_bytes=socket.send_bytes,
            write_str=socket.send_str,
            close=socket.close,  # type: ignore[arg-type]  # that it returns whether it was open does no harm
            download_manager=library.download_manager,
        )
        self._line, self._station = line, station

    async def _open_app_process(self, width: int = 80, height: int = 24) -> Process:
        settings = self._build_environment(width, height)
        settings |= {
            "ONSITE_STATION": self._station,
            "PYTHONWARNINGS": "ignore",
        }  # they would be printed here
        self._process = await asyncio.create_subprocess_exec(
            *self._line, stdin=PIPE, stdout=PIPE, stderr=PIPE, env=settings
        )
        self._stdin = self._process.stdin
        return self._process

    async def run(self) -> None:
        """Pass on what the screens draw until they close; then the page says that they did."""
        with suppress(ConnectionError):
            await super().run()
        with suppress(ConnectionError):
            await self.remote_close()

    async def stop(self) -> None:
        """Close the screens as Ctrl+Q does; end their process where that takes too long."""
        with suppress(ConnectionError, TimeoutError):
            await asyncio.wait_for(super().stop(), _PATIENCE)
        if self._process is not None:
            with suppress(ProcessLookupError, TimeoutError):
                await asyncio.wait_for(self._process.wait(), _PATIENCE)
                return
            self._process.kill()
            await self._process.wait()


async def _pass_on(socket: web.WebSocketResponse, screens: AppService) -> None:
    """Pass keys, pointer and sizes from the browser to the screens; other messages are ignored."""
    async for message in socket:
        if message.type is not WSMsgType.TEXT:
            continue
        match json.loads(message.data):
            case ["stdin", str(typed)]:
                await screens.send_bytes(typed.encode())
            case ["resize", {"width": int(width), "height": int(height)}]:
                await screens.set_terminal_size(width, height)
            case ["ping", answer]:
                await socket.send_json(["pong", answer])
            case ["blur", *_]:
                await screens.blur()
            case ["focus", *_]:
                await screens.focus()


def _number(request: web.Request) -> str:
    """The number of a browser, of three digits; a new one where it has none."""
    known = request.cookies.get(_BROWSER, "")
    return known if known.isdecimal() and len(known) == 3 else str(100 + secrets.randbelow(900))


def _cells(text: str | None, otherwise: int) -> int:
    """A number of columns or rows from an address."""
    return int(text) if text is not None and text.isdecimal() and 0 < int(text) < 1000 else otherwise
