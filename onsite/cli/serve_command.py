"""The command `onsite serve`: the screens in a browser, for a tablet at the door."""

from __future__ import annotations

import sys
from contextlib import suppress
from typing import TYPE_CHECKING, Annotated

from typer import Option

from onsite.cli.common_options import common_options, open_chosen_shoot, station
from onsite.cli.output import print_answer, print_text

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_HERE = "127.0.0.1"
_EVERY_ADDRESS = ("0.0.0.0", "::", "")

_ELSEWHERE = "192.0.2.1"
"""An address that nobody has (RFC 5737): the way there tells this computer's own. Nothing is sent."""


def serve(
    host: Annotated[
        str,
        Option(metavar="H", help="This computer's address to serve at; 0.0.0.0 for tablets in its network."),
    ] = _HERE,
    port: Annotated[int, Option(metavar="P", min=1, max=65535, help="The port.")] = 8710,
) -> None:
    """Serve the screens to browsers, for a tablet at the door, until Ctrl-C."""
    from onsite.tui.browser.screens_server import ScreensServer, kept_key

    shoot = open_chosen_shoot()
    line = (
        sys.executable,
        "-c",
        "from onsite.cli import main; main()",
        "--shoot",
        str(shoot.folder.resolve()),
    )
    key = kept_key(shoot.folder)
    server = ScreensServer(line, station(None), key)
    name = _own_address() if host in _EVERY_ADDRESS else host
    url = f"http://{f'[{name}]' if ':' in name else name}:{port}/?key={key}"
    print_answer({"url": url, "host": host, "port": port}, lambda: _print_address(url, host))
    server.run(host, port)
    if not common_options.as_json:
        print_text("No longer served.")


def _print_address(url: str, host: str) -> None:
    from onsite.slates.terminal_slate import symbol_ansi, symbol_lines

    if host not in (_HERE, "::1", "localhost"):
        if sys.stdout.isatty():
            sys.stdout.write(symbol_ansi(symbol_lines(_url_symbol(url))) + "\n")
        print_text(
            "Whoever has this address can do all that you can, and names go through this network unencrypted:"
        )
        print_text(
            "use a network of your own, with a password, and show the address to your assistants only."
        )
    print_text(url, "bold")
    print_text("Open it in a browser: each one is a station of its own. Ctrl-C ends it.")


def _url_symbol(url: str) -> NDArray[np.bool_]:
    import numpy as np
    import qrcode

    drawing = qrcode.QRCode(border=4)
    drawing.add_data(url)
    return np.array(drawing.get_matrix(), dtype=bool)


def _own_address() -> str:
    """This computer's address in its network; its name, where it is in none."""
    import socket

    with suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        way.connect((_ELSEWHERE, 9))
        return str(way.getsockname()[0])
    return socket.gethostname()
