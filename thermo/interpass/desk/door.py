"""The door of the server: who may come in, how much at a time, and what leaves with it.

Every request passes here before a route sees it. A page of a foreign site, a name bound
anew to this machine, or a program without the key gets 403.
"""

import asyncio
import hashlib
import hmac
import json
import os
import secrets
import tempfile
from collections import OrderedDict
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass, field
from pathlib import Path
from time import monotonic
from typing import Any

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
Application = Callable[[Scope, Receive, Send], Awaitable[None]]
LARGEST_BODY = 256 * 1024  # bytes; a case is a page of text
LONGEST_PATH = 1024
BODY_WITHIN = 10.0  # s for the whole of a request to arrive
ANSWER_WITHIN = 660.0  # s; the work behind has a shorter limit, but for the first compile
STEADY, BURST = 100.0, 400.0  # requests per second and at once, of one address
CLIENTS = 512  # addresses remembered

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)

HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cache-control": "no-store",
    "x-frame-options": "DENY",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}

KEPT = ".desk"  # in the folder of the welds, for its owner alone
BENCH = "bench"  # may do everything; a phone may see one joint only


@dataclass
class Door:
    """What opens the door: a secret, and the names this server answers to."""

    port: int
    hosts: tuple[str, ...] = ("127.0.0.1", "localhost")
    secret: bytes = field(default_factory=lambda: secrets.token_bytes(32))

    @property
    def names(self) -> frozenset[str]:
        """What the Host of a request may be."""
        return frozenset(f"{host}:{self.port}" for host in self.hosts)


def key_for(door: Door, role: str) -> str:
    """Key in the address that lets somebody in as ``role``."""
    return _signed(door, f"address {role}")


def cookie_for(door: Door, role: str) -> str:
    """Value of the cookie that tells the role from then on."""
    return f"{role}.{_signed(door, f'cookie {role}')}"


def cookie_name(door: Door) -> str:
    """Name of the cookie; two servers of one machine do not share theirs."""
    return f"desk_{door.port}"


def is_key(door: Door, role: str, given: str) -> bool:
    """Whether a key is the right one, told in constant time."""
    return hmac.compare_digest(given.encode(), key_for(door, role).encode())


def role_of(door: Door, given: str) -> str | None:
    """Role of a cookie's value; None when it is not one of ours."""
    role = given.partition(".")[0]
    right = hmac.compare_digest(given.encode(), cookie_for(door, role).encode())
    return role if right else None


def _signed(door: Door, words: str) -> str:
    return hmac.new(door.secret, words.encode(), hashlib.sha256).hexdigest()[:43]


def kept_key(folder: Path) -> tuple[int, bytes]:
    """Port and secret of a desk that was killed; 0 and a new secret after none."""
    try:
        told = json.loads((folder / KEPT).read_text(encoding="utf-8"))
        return int(told["port"]), bytes.fromhex(told["secret"])
    except (OSError, ValueError, KeyError, TypeError):
        return 0, secrets.token_bytes(32)


def keep_key(folder: Path, door: Door) -> None:
    """Write port and secret down for the desk after a crash; for the owner alone."""
    words = json.dumps({"port": door.port, "secret": door.secret.hex()})
    handle, beside = tempfile.mkstemp(prefix=KEPT, dir=folder)  # of mode 0600
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as stream:
            stream.write(words)
        Path(beside).replace(folder / KEPT)  # a full disk leaves the key that was there
    except OSError:
        Path(beside).unlink()
        raise


def guarded(application: Application, door: Door) -> Application:
    """Put the door in front of an application.

    Refused are: anything but GET and POST, a foreign Host or Origin, more than 256 KB,
    a body that takes longer than 10 s, too many requests, and no cookie of ours but on
    the address that gives one. An answer that takes too long is 503.
    """
    buckets: OrderedDict[str, tuple[float, float]] = OrderedDict()

    async def serve(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await application(scope, receive, send)
        elif scope["type"] == "http":
            await _one(scope, receive, _with_headers(send))
        else:
            await send({"type": "websocket.close", "code": 1008})

    async def _one(scope: Scope, receive: Receive, send: Send) -> None:
        headers = _headers(scope)
        client = (scope.get("client") or ("?", 0))[0]
        refusal = _refusal(door, scope, headers) or _too_fast(buckets, client)
        if refusal:
            await _refuse(send, *refusal)
            return
        body = await _whole_body(headers, receive)
        if isinstance(body, tuple):
            await _refuse(send, *body)
            return
        await _timed_answer(application, scope, _replayed(body, receive), send)

    return serve


def _headers(scope: Scope) -> dict[str, str]:
    return {k.decode("latin-1"): v.decode("latin-1") for k, v in scope["headers"]}


Refusal = tuple[int, str]


def _refusal(door: Door, scope: Scope, headers: dict[str, str]) -> Refusal | None:
    """Say why a request may not come in; None when it may."""
    if scope["method"] not in ("GET", "POST"):
        return 405, "only GET and POST are answered here"
    if len(scope.get("raw_path") or scope["path"]) > LONGEST_PATH:
        return 414, "the address is too long"
    hosts = [v for k, v in scope["headers"] if k == b"host"]
    if len(hosts) != 1 or headers["host"] not in door.names:
        return 403, "this server does not go by that name"
    origin, site = headers.get("origin"), headers.get("sec-fetch-site", "none")
    foreign = origin is not None and origin not in {f"http://{n}" for n in door.names}
    if foreign or (
        scope["method"] == "POST" and (origin is None or site == "cross-site")
    ):
        return 403, "the request comes from another page"
    return _keyless(door, scope, headers)


def _keyless(door: Door, scope: Scope, headers: dict[str, str]) -> Refusal | None:
    """Let in who has our cookie, and anybody to the address that gives one."""
    if scope["path"].startswith("/open/"):
        return None
    for part in headers.get("cookie", "").split(";"):
        name, _, value = part.strip().partition("=")
        if name == cookie_name(door) and (role := role_of(door, value)):
            scope["role"] = role
            return None
    return 403, "open the address that interpass desk printed: it holds the key"


def _too_fast(
    buckets: OrderedDict[str, tuple[float, float]], client: str
) -> Refusal | None:
    """Count the requests of an address: so many a second, and some at once."""
    now = monotonic()
    left, before = buckets.pop(client, (BURST, now))
    left = min(BURST, left + STEADY * (now - before))
    buckets[client] = (max(left - 1, 0.0), now)
    while len(buckets) > CLIENTS:
        buckets.popitem(last=False)
    return (429, "too many requests; wait a moment") if left < 1 else None


async def _whole_body(headers: dict[str, str], receive: Receive) -> bytes | Refusal:
    """Read a request to its end, or say why not."""
    told = headers.get("content-length", "0")
    if not told.isdecimal() or int(told) > LARGEST_BODY:
        return 413, "that is more than a case file holds"
    try:
        async with asyncio.timeout(BODY_WITHIN):
            return await _read(receive)
    except TimeoutError:
        return 408, "the request did not arrive"


async def _read(receive: Receive) -> bytes | Refusal:
    body = b""
    while True:
        message = await receive()
        body += message.get("body", b"")
        if len(body) > LARGEST_BODY:
            return 413, "that is more than a case file holds"
        if message["type"] == "http.disconnect" or not message.get("more_body"):
            return body


def _replayed(body: bytes, receive: Receive) -> Receive:
    """Hand out the body again, and then whatever comes: the client leaving."""
    left = [body]

    async def again() -> MutableMapping[str, Any]:
        if left:
            return {"type": "http.request", "body": left.pop(), "more_body": False}
        return await receive()

    return again


async def _timed_answer(
    application: Application, scope: Scope, receive: Receive, send: Send
) -> None:
    """Answer within the time there is."""
    begun = False

    async def noted(message: MutableMapping[str, Any]) -> None:
        nonlocal begun
        begun = True
        await send(message)

    try:
        async with asyncio.timeout(ANSWER_WITHIN):
            await application(scope, receive, noted)
    except TimeoutError:
        if not begun:
            await _refuse(send, 503, "that took too long and was given up")


def _with_headers(send: Send) -> Send:
    """Add what every answer bears; an answer may bring a policy of its own."""

    async def more(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            given = list(message.get("headers", []))
            names = {name.lower() for name, _ in given}
            given += [
                (name.encode(), value.encode())
                for name, value in HEADERS.items()
                if name.encode() not in names
            ]
            message = {**message, "headers": given}
        await send(message)

    return more


async def _refuse(send: Send, status: int, words: str) -> None:
    body = words.encode() + b"\n"
    kind = (b"content-type", b"text/plain; charset=utf-8")
    size = (b"content-length", str(len(body)).encode())
    await send({"type": "http.response.start", "status": status, "headers": [kind, size]})
    await send({"type": "http.response.body", "body": body})
