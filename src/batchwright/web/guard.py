"""The guard at the door: who may ask for what, from where, how often, how much; and what a browser may do with a page.

Every request passes here, those of this machine too: a page of another place must not be able to speak to the book
through the cook's own browser.
"""

from __future__ import annotations

import asyncio
import hashlib
import hmac
import logging
import math
import re
import time
from collections import OrderedDict
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from html import escape
from http.cookies import CookieError, SimpleCookie
from threading import Lock
from urllib.parse import urlsplit

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from batchwright.base.errors import InputError
from batchwright.store.records import Device
from batchwright.web.doors import GUEST, KEEPER, Door

SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
LARGEST_UPLOAD = 26_000_000  # bytes; one picture and its form
LARGEST_TEXT = 4_000_000  # bytes; a saved page of 1 MB, each of its signs written as three in a form
SEEN_EVERY_S = 60.0
OPEN_TO_ALL = re.compile(r"/(?:enter|join/[A-Za-z0-9_-]{20,80}|static/[a-z0-9._-]+|away\.js|robots\.txt)")
KEEPERS_ONLY = re.compile(r"/(?:book(?:/.*)?|rebuilds|api/book(?:/.*)?|api/rebuilds)")
TAKES_AWAY = re.compile(r"/(?:api/)?rebuilds/[0-9]{1,9}/(?:pictures/[0-9]{1,9}|photo/remove)")  # for good
A_REBUILD = re.compile(r"/(?:api/)?rebuilds/[0-9]{1,9}")
OF_A_REBUILD = re.compile(r"/(?:api/)?rebuilds/([0-9]{1,9})(?:/.*)?")
FOR_GUESTS = re.compile(r"/|/pictures/[0-9]{1,9}|/api/openapi\.json|/api/pantry")
SENT_BY_GUESTS = re.compile(r"/units|/api/(?:read|weigh|decode)")
NO_NUMBER = re.compile(r"/[0-9]{10,}(?:/|$)")  # no book has so many of anything; no database takes so large a number
PAGE_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
    "manifest-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
# Strict-Transport-Security is left out on purpose: it would hold for every port of this computer's name, and turn the
# one question about the book's own certificate into a refusal.
HEADERS = {
    "content-security-policy": PAGE_POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), geolocation=(), microphone=()",
}
MB = 1_000_000  # bytes
TOO_LONG = f"That is too large. Allowed: {LARGEST_TEXT // MB} MB of text, or {LARGEST_UPLOAD // MB} MB with a picture."
log = logging.getLogger("batchwright.web")


def token_hash(token: str) -> str:
    """Return what the book keeps of a secret: its SHA-256 in hex."""
    return hashlib.sha256(token.encode()).hexdigest()


def csrf_of(token: str) -> str:
    """Return what the forms of a browser carry, made from its own secret and of no use in place of it."""
    return hmac.new(token.encode(), b"forms of this browser", hashlib.sha256).hexdigest()


@dataclass(slots=True)
class Bucket:
    """How many requests an address has left: `most` at once, filled again at `per_second`."""

    most: float
    per_second: float
    clock: Callable[[], float] = time.monotonic
    left: OrderedDict[str, tuple[float, float]] = field(default_factory=OrderedDict)
    lock: Lock = field(default_factory=Lock)

    def take(self, who: str) -> bool:
        """Whether one more request of this address is served now."""
        with self.lock:
            now = self.clock()
            left, then = self.left.pop(who, (self.most, now))
            left = min(self.most, left + (now - then) * self.per_second)
            self.left[who] = (left - 1.0 if left >= 1.0 else left, now)
            while len(self.left) > 4096:
                self.left.popitem(last=False)
            return left >= 1.0


class Refusal(Exception):
    """Why a request is not served: the status and a sentence that says what to do."""

    def __init__(self, status: int, said: str) -> None:
        super().__init__(said)
        self.status, self.said = status, said


def may(door: Door | None, method: str, path: str) -> bool:
    """Whether who stands at the door may ask for a path; the whole table of who may what.

    Nobody: the ways in, and the look of the pages. A guest: everything in the one rebuild it was invited to but its
    name, its place in the list and what removes a picture for good; the units of its screen, what reads a text and
    keeps nothing, and pictures (each is checked against its rebuild when it is read). The keeper: everything.
    """
    if OPEN_TO_ALL.fullmatch(path):
        return True
    if door is None:
        return False
    if door.role == KEEPER:
        return True
    if KEEPERS_ONLY.fullmatch(path):
        return False
    if method not in SAFE and (A_REBUILD.fullmatch(path) or TAKES_AWAY.fullmatch(path)):
        return False
    of = OF_A_REBUILD.fullmatch(path)
    if of:
        return door.may_enter(int(of.group(1)))
    return bool((FOR_GUESTS if method in SAFE else SENT_BY_GUESTS).fullmatch(path))


class Guard:
    """The ASGI layer around the application."""

    def __init__(
        self, app: ASGIApp, device_by: Callable[[str], Device | None], hosts: Iterable[str], secure: bool,
        general: Bucket | None = None, entering: Bucket | None = None, seen: Callable[[int], None] | None = None,
    ) -> None:  # fmt: skip
        """Guard an application.

        device_by: the browser that holds a secret, by its digest. hosts: the names with port this server answers to.
        secure: whether it is served over TLS. general, entering: how often an address may ask, and try to come in.
        seen: told of each browser that was here, once a minute.
        """
        self.app, self.device_by, self.secure, self.seen = app, device_by, secure, seen
        self.hosts = frozenset(host.lower() for host in hosts)
        self.general = general or Bucket(400, 40)
        self.entering = entering or Bucket(10, 0.1)
        self._last_seen: dict[int, float] = {}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request, or refuse it with a sentence."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
        elif scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
        else:
            await self._serve(scope, receive, send)

    async def _serve(self, scope: Scope, receive: Receive, send: Send) -> None:
        body = _Body(receive)
        begun = False

        async def sent(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                if body.too_long:
                    message = {**message, "status": 413}
                self._head(scope["path"], MutableHeaders(scope=message))
            await send(message)

        try:
            headers = Headers(scope=scope)
            door = scope.setdefault("state", {})["door"] = await run_in_threadpool(self._door, scope, headers)
            body.most = _most(headers)
            self._note(door)
            await self.app(scope, body.receive, sent)
        except Exception as error:
            if begun:
                raise
            await refused(self._refusal_of(error, body), scope["path"])(scope, receive, sent)

    def _head(self, path: str, out: MutableHeaders) -> None:
        """Put on every answer what a browser may do with it."""
        for name, value in HEADERS.items():
            out[name] = value
        out.setdefault("cache-control", "max-age=3600" if path.startswith("/static/") else "no-store")

    def _refusal_of(self, error: Exception, body: _Body) -> Refusal:
        if isinstance(error, Refusal):
            return error
        if body.too_long:
            return Refusal(413, TOO_LONG)
        if isinstance(error, InputError):  # the book itself cannot be read just now
            return Refusal(503, " ".join(f"Needed: {fault.allowed}. {fault.hint}" for fault in error.faults))
        log.error("a page failed", exc_info=error)
        return Refusal(500, "Something went wrong here; nothing was lost by it. Go back and try again.")

    def _note(self, door: Door | None) -> None:
        """Note once a minute that a browser was here; nothing waits for it."""
        now = time.monotonic()
        if door is None or self.seen is None or now - self._last_seen.get(door.device_id, -math.inf) < SEEN_EVERY_S:
            return
        self._last_seen[door.device_id] = now
        asyncio.get_running_loop().run_in_executor(None, _quietly, self.seen, door.device_id)

    def _door(self, scope: Scope, headers: Headers) -> Door | None:
        """Return who asks; raises Refusal for what is not served."""
        host, path, method = headers.get("host", "").lower(), scope["path"], scope["method"]
        if host not in self.hosts:
            raise Refusal(421, "This book does not answer to that name. Open the address the computer printed.")
        address = (scope.get("client") or ("nobody", 0))[0]
        if not self.general.take(address):
            raise Refusal(429, "Too many requests at once. Wait a few seconds and try again.")
        if (path == "/enter" or path.startswith("/join/")) and not self.entering.take(address):
            raise Refusal(429, "Too many tries to come in. Wait a minute and try again.")
        length = headers.get("content-length", "0")
        if not (length.isascii() and length.isdigit()) or int(length) > _most(headers):
            raise Refusal(413, TOO_LONG)
        if method not in SAFE:
            self._own_page(headers, host)
        door = None if path.startswith("/static/") else self._who(headers, host)
        if not may(door, method, path) or NO_NUMBER.search(path):
            if door is None:
                raise Refusal(401, "This browser has not come in yet. Open the address the computer printed, or ask "
                                   "for an invitation.")  # fmt: skip
            raise Refusal(404, "There is no such page for this device." if door.role == GUEST else "No such page.")
        if path.startswith("/api/") and method not in (*SAFE, "DELETE") and not _is_json(headers):
            raise Refusal(415, "Send JSON, with the header Content-Type: application/json.")
        return door

    def _own_page(self, headers: Headers, host: str) -> None:
        """Refuse what another place's page sends through this browser."""
        origin = headers.get("origin")
        if origin is None:
            referer = headers.get("referer")
            origin = None if referer is None else "{0.scheme}://{0.netloc}".format(urlsplit(referer))
        own = f"{'https' if self.secure else 'http'}://{host}"
        if origin != own or headers.get("sec-fetch-site", "same-origin") != "same-origin":
            raise Refusal(403, "This was not sent from a page of this book. Open the page anew and send it from there.")

    def _who(self, headers: Headers, host: str) -> Door | None:
        token = token_of(headers.get("cookie", ""), cookie_name(host, self.secure))
        device = self.device_by(token_hash(token)) if token else None
        if device is None:
            return None
        return Door(device.role, device.id, device.name, csrf_of(token), device.rebuild_id)


def cookie_name(host: str, secure: bool) -> str:
    """Return the name of the cookie with a browser's secret; of each port its own, as cookies know no ports.

    Over TLS the browser itself sees to it that no one but this host sets it ("__Host-", RFC 6265bis).
    """
    port = re.search(r":([0-9]{1,5})$", host)
    return f"{'__Host-' if secure else ''}door-{port.group(1) if port else 0}"


def token_of(cookies: str, name: str) -> str:
    """Return the secret in a browser's cookies, empty where there is none."""
    try:
        crumb = SimpleCookie(cookies).get(name)
    except CookieError:
        return ""
    return crumb.value if crumb and len(crumb.value) <= 100 else ""


def _is_json(headers: Headers) -> bool:
    return headers.get("content-type", "").split(";")[0].strip().lower() == "application/json"


def _most(headers: Headers) -> int:
    """Return how long a body may be [bytes]: pictures come in parts, all else is text."""
    return LARGEST_UPLOAD if headers.get("content-type", "").startswith("multipart/form-data") else LARGEST_TEXT


def _quietly(told: Callable[[int], None], device_id: int) -> None:
    with suppress(InputError):  # a book that is busy is no reason to trouble anyone with this
        told(device_id)


class _Body:
    """Counts what comes in, for requests that do not say how long they are."""

    def __init__(self, receive: Receive) -> None:
        self._receive, self._taken = receive, 0
        self.most, self.too_long = LARGEST_TEXT, False

    async def receive(self) -> Message:
        message = await self._receive()
        self._taken += len(message.get("body", b""))
        if self._taken > self.most:
            self.too_long = True
            return {"type": "http.disconnect"}
        return message


def refused(refusal: Refusal, path: str) -> Response:
    """Return a refusal as a small page, or as JSON where a program asked."""
    if path.startswith("/api/"):
        error = {"field": "request", "value": None, "allowed": refusal.said, "hint": ""}
        return JSONResponse({"error": [error]}, refusal.status)
    text = (
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        '<title>Batchwright</title><link rel="stylesheet" href="/static/book.css"></head><body><main>'
        f"<h1>Batchwright</h1><p>{escape(refusal.said)}</p></main></body></html>"
    )
    return HTMLResponse(text, refusal.status)
