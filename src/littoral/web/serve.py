"""Start the page on this computer's loopback address and say where it is."""

from __future__ import annotations

import socket
import threading
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from littoral.errors import LittoralError

ADDRESS = "127.0.0.1"


class PortTakenError(LittoralError):
    """The port the page was to be served on cannot be had."""

    def __init__(self, port: int, why: str) -> None:
        self.port = port
        super().__init__(f"port {port} on {ADDRESS} cannot be used ({why}); `--port 0` takes a free one.")


def listen(port: int) -> socket.socket:
    """Return a socket that listens on loopback only; port 0 takes any free one. PortTakenError where it is taken."""
    # The protocol is named because asyncio sends small answers at once (TCP_NODELAY) only where it is; otherwise every
    # picture waits 40 ms for an acknowledgement.
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((ADDRESS, port))
        listening.listen()
    except OSError as error:
        listening.close()
        raise PortTakenError(port, error.strerror or str(error)) from error
    return listening


def _print(text: str) -> None:
    print(text, flush=True)  # whoever started this in a pipe waits for the address


def serve(
    book_folder: Path,
    *,
    port: int = 8765,
    open_browser: bool = True,
    backups_to: Path | None = None,
    say: Callable[[str], None] = _print,
) -> None:
    """Serve the logbook in `book_folder` until interrupted; prints the address, and makes a backup each day.

    Raises NoLogbookError where the folder holds no logbook, PortTakenError where the port is taken.
    """
    import uvicorn

    from littoral.acts.list_trials import list_trials
    from littoral.web.app import create_app
    from littoral.web.daily_backup import DailyBackup

    list_trials(book_folder)  # refuses now, in one line, what would otherwise fail at the first page
    with listen(port) as listening:
        taken = listening.getsockname()[1]
        address = f"http://{ADDRESS}:{taken}/"
        app = create_app(book_folder, port=taken)
        config = uvicorn.Config(app, log_level="warning", server_header=False, h11_max_incomplete_event_size=16_384)
        say(f"Littoral is at {address} (only this computer can reach it; Ctrl-C ends it)")
        if open_browser:
            threading.Timer(0.3, webbrowser.open, [address]).start()
        backups = DailyBackup(book_folder, to=backups_to, say=say)
        with backups, suppress(KeyboardInterrupt):  # the way a person ends it; the server has already closed by then
            uvicorn.Server(config).run(sockets=[listening])
