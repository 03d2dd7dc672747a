"""Start the page on this computer's loopback address, and on the network's where asked to, and say where it is."""

from __future__ import annotations

import socket
import threading
import webbrowser
from collections.abc import Callable
from contextlib import ExitStack, suppress
from pathlib import Path

from littoral.errors import LittoralError
from littoral.web.access.share import Share

ADDRESS = "127.0.0.1"


class PortTakenError(LittoralError):
    """The port the page was to be served on cannot be had."""

    def __init__(self, port: int, why: str, address: str = ADDRESS) -> None:
        self.port, self.address = port, address
        super().__init__(f"port {port} on {address} cannot be used ({why}); `--port 0` takes a free one.")


def listen(port: int, address: str = ADDRESS) -> socket.socket:
    """Return a socket that listens on one address only; port 0 takes any free one. PortTakenError where it is taken."""
    # The protocol is named because asyncio sends small answers at once (TCP_NODELAY) only where it is; otherwise every
    # picture waits 40 ms for an acknowledgement.
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    listening = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((address, port))
        listening.listen()
    except OSError as error:
        listening.close()
        raise PortTakenError(port, error.strerror or str(error), address) from error
    return listening


def _print(text: str) -> None:
    print(text, flush=True)  # whoever started this in a pipe waits for the address


def serve(
    book_folder: Path,
    *,
    port: int = 8765,
    open_browser: bool = True,
    backups_to: Path | None = None,
    share: Share | None = None,
    say: Callable[[str], None] = _print,
) -> None:
    """Serve the logbook in `book_folder` until interrupted; prints the address, and makes a backup each day.

    Raises NoLogbookError where the folder holds no logbook, PortTakenError where the port is taken, and what
    `web.access` raises for a network or a name that cannot be used (`share`).
    """
    import uvicorn

    from littoral.acts.list_trials import list_trials
    from littoral.web.access.codes import Codes
    from littoral.web.access.opening import opened_doors, shared_addresses, sharing_words
    from littoral.web.app import create_app
    from littoral.web.daily_backup import DailyBackup

    list_trials(book_folder)  # refuses now, in one line, what would otherwise fail at the first page
    addresses = shared_addresses(share)
    with ExitStack() as closing:
        listening = closing.enter_context(listen(port))
        taken = listening.getsockname()[1]
        sockets = [listening, *(closing.enter_context(listen(taken, address)) for address in addresses)]
        doors = opened_doors(taken, share, addresses)
        codes = Codes(folder=book_folder.resolve())
        address = f"http://{ADDRESS}:{taken}/"
        app = create_app(book_folder, port=taken, doors=doors, codes=codes)
        config = uvicorn.Config(
            app,
            log_level="warning",
            server_header=False,
            h11_max_incomplete_event_size=16_384,
            proxy_headers=False,  # nobody's word on where a request came from is believed
        )
        if share is None:
            say(f"Littoral is at {address} (only this computer can reach it; Ctrl-C ends it)")
        else:
            address = f"{address}here?key={doors.here_key}" if doors.behind_proxy else address
            say(sharing_words(doors, codes, here=address))
        if open_browser:
            threading.Timer(0.3, webbrowser.open, [address]).start()
        backups = DailyBackup(book_folder, to=backups_to, say=say)
        with backups, suppress(KeyboardInterrupt):  # the way a person ends it; the server has already closed by then
            uvicorn.Server(config).run(sockets=sockets)
