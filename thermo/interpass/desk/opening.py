"""Open the desk: its socket, its key, its routes; and leave nothing behind.

Port and key are kept in the folder of the welds, readable by their owner alone, until the
desk is closed: after a crash the pages that are open go on with the same address.
"""

import socket
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from .door import BENCH, KEPT, Door, kept_key, key_for
from .server import Desk, desk_application, listening, serve
from .welding import weld_routes


def open_desk(
    text: str,
    file: str,
    folder: Path,
    tell: Callable[[str], None],
    *,
    port: int = 0,
    phone: bool = False,
    units: str = "si",
) -> None:
    """Serve until Ctrl-C.

    Parameters
    ----------
    text, file : str
        Case to begin with and its name.
    folder : Path
        Of the welds; made with the first of them.
    tell : callable
        Given the address with its key once the page answers.
    port : int
        0 takes the one of a desk that was killed, or a free one.
    phone : bool
        Answer the local network too.
    units : str
        "si" or "us".

    Raises
    ------
    OSError
        The port is in use.
    """
    before = kept_key(folder)
    at = _socket("0.0.0.0" if phone else "127.0.0.1", port, before[0])
    hosts = ("127.0.0.1", "localhost", *((local_address(),) if phone else ()))
    door = Door(at.getsockname()[1], hosts, before[1])
    desk = Desk(door, text, file, units, phone=phone, keep_in=folder)
    address = f"http://127.0.0.1:{door.port}/open/{key_for(door, BENCH)}"
    application = desk_application(desk, weld_routes(desk, folder))
    if folder.is_dir():
        desk.keep()
    try:
        serve(application, at, lambda: tell(address))
    finally:
        with suppress(OSError):
            (folder / KEPT).unlink()


def _socket(host: str, port: int, before: int) -> socket.socket:
    """Listen where a desk that was killed did, so that its pages find this one."""
    if port == 0 and before:
        with suppress(OSError):
            return listening(host, before)
    return listening(host, port)


def local_address() -> str:
    """Address of this machine in the local network; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address for documentation (RFC 5737)
            return str(probe.getsockname()[0])
        except OSError:
            return "127.0.0.1"
