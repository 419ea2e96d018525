"""Open the desk: its socket, its key, its routes; and leave nothing behind.

Port and key are kept in the folder of the welds, readable by their owner alone, until the
desk is closed: after a crash the pages that are open go on with the same address.
"""

import json
import os
import secrets
import socket
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from .door import BENCH, Door, key_for
from .server import Desk, desk_application, listening, serve

KEPT = ".desk"  # in the folder of the welds


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
    before = _kept(folder)
    at = _socket("0.0.0.0" if phone else "127.0.0.1", port, before[0])
    hosts = ("127.0.0.1", "localhost", *((local_address(),) if phone else ()))
    door = Door(at.getsockname()[1], hosts, before[1])
    desk = Desk(door, text, file, units)
    address = f"http://127.0.0.1:{door.port}/open/{key_for(door, BENCH)}"
    keep = folder / KEPT
    try:
        serve(desk_application(desk), at, lambda: tell(address))
    finally:
        with suppress(OSError):
            keep.unlink()


def _socket(host: str, port: int, before: int) -> socket.socket:
    """Listen where a desk that was killed did, so that its pages find this one."""
    if port == 0 and before:
        with suppress(OSError):
            return listening(host, before)
    return listening(host, port)


def _kept(folder: Path) -> tuple[int, bytes]:
    """Port and secret of a desk that was killed; 0 and a new secret after none."""
    try:
        told = json.loads((folder / KEPT).read_text(encoding="utf-8"))
        return int(told["port"]), bytes.fromhex(told["secret"])
    except (OSError, ValueError, KeyError, TypeError):
        return 0, secrets.token_bytes(32)


def keep_key(folder: Path, door: Door) -> None:
    """Write port and secret down for the desk after a crash; for the owner alone."""
    words = json.dumps({"port": door.port, "secret": door.secret.hex()})
    handle = os.open(folder / KEPT, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w", encoding="utf-8") as stream:
        stream.write(words)


def local_address() -> str:
    """Address of this machine in the local network; nothing is sent to find it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address for documentation (RFC 5737)
            return str(probe.getsockname()[0])
        except OSError:
            return "127.0.0.1"
