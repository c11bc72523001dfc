"""The guard at the door: who may ask for what, from where, how often, how much; and what a browser may do with a page.

Every request passes here, those of this machine too: a page of another place must not be able to speak to the book
through the cook's own browser.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import time
from collections import OrderedDict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from threading import Lock
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from batchwright.store.records import Device
from batchwright.web.doors import GUEST, KEEPER, Door

COOKIE = "door"
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
LARGEST_BODY = 26_000_000  # bytes; one picture and its form
OPEN_TO_ALL = re.compile(r"/(?:enter|join/[A-Za-z0-9_-]{20,80}|static/[a-z0-9.]+|robots\.txt)")
KEEPERS_ONLY = re.compile(r"/(?:book(?:/.*)?|rebuilds|api/book(?:/.*)?)")
OF_A_REBUILD = re.compile(r"/(?:api/)?rebuilds/(\d{1,15})(?:/.*)?")
PAGE_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
HEADERS = {
    "content-security-policy": PAGE_POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), geolocation=(), microphone=()",
}


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

    Nobody: the ways in, and the look of the pages. A guest: everything of the one rebuild it was invited to, the units
    of its screen, and pictures (each is checked against its rebuild when it is read). The keeper: everything.
    """
    if OPEN_TO_ALL.fullmatch(path):
        return True
    if door is None:
        return False
    if door.role == KEEPER:
        return True
    if KEEPERS_ONLY.fullmatch(path):
        return False
    of = OF_A_REBUILD.fullmatch(path)
    if of:
        return door.may_enter(int(of.group(1)))
    if path in ("/", "/units") or re.fullmatch(r"/pictures/\d{1,15}", path):
        return method in SAFE or path == "/units"
    return path in ("/api/openapi.json", "/api/read", "/api/weigh", "/api/pantry")


class Guard:
    """The ASGI layer around the application."""

    def __init__(
        self, app: ASGIApp, device_by: Callable[[str], Device | None], hosts: Iterable[str], secure: bool,
        general: Bucket | None = None, entering: Bucket | None = None,
    ) -> None:  # fmt: skip
        """Guard an application.

        device_by: the browser that holds a secret, by its digest. hosts: the names with port this server answers to.
        secure: whether it is served over TLS. general, entering: how often an address may ask, and try to come in.
        """
        self.app, self.device_by, self.secure = app, device_by, secure
        self.hosts = frozenset(host.lower() for host in hosts)
        self.general = general or Bucket(400, 40)
        self.entering = entering or Bucket(10, 0.1)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one request, or refuse it with a sentence."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        try:
            scope.setdefault("state", {})["door"] = self._door(scope, headers)
            response: Response | None = None
        except Refusal as refusal:
            response = refused(refusal, scope["path"])

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                out = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    out.setdefault(name, value)
                if not scope["path"].startswith("/static/"):
                    out.setdefault("cache-control", "no-store")
                if self.secure:
                    out.setdefault("strict-transport-security", "max-age=31536000")
            await send(message)

        if response is not None:
            await response(scope, receive, sent)
            return
        await self.app(scope, _limited(receive), sent)

    def _door(self, scope: Scope, headers: Headers) -> Door | None:
        """Return who asks; raises Refusal for what is not served."""
        host = headers.get("host", "").lower()
        if host not in self.hosts:
            raise Refusal(421, "This book does not answer to that name. Open the address the computer printed.")
        address = (scope.get("client") or ("nobody", 0))[0]
        if not self.general.take(address):
            raise Refusal(429, "Too many requests at once. Wait a few seconds and try again.")
        path, method = scope["path"], scope["method"]
        if (path == "/enter" or path.startswith("/join/")) and not self.entering.take(address):
            raise Refusal(429, "Too many tries to come in. Wait a minute and try again.")
        if _too_long(headers):
            raise Refusal(413, f"That is larger than {LARGEST_BODY // 1_000_000} MB. Send a smaller picture.")
        if method not in SAFE:
            self._own_page(headers, host)
        door = self._who(headers)
        if not may(door, method, path):
            if door is None:
                raise Refusal(401, "This browser has not come in yet. Open the address the computer printed, or ask "
                                   "for an invitation.")  # fmt: skip
            raise Refusal(404, "There is no such page for this device." if door.role == GUEST else "No such page.")
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

    def _who(self, headers: Headers) -> Door | None:
        token = token_of(headers.get("cookie", ""))
        device = self.device_by(token_hash(token)) if token else None
        if device is None:
            return None
        return Door(device.role, device.id, device.name, csrf_of(token), device.rebuild_id)


def token_of(cookies: str) -> str:
    """Return the secret in a browser's cookies, empty where there is none."""
    try:
        crumb = SimpleCookie(cookies).get(COOKIE)
    except CookieError:
        return ""
    return crumb.value if crumb and len(crumb.value) <= 100 else ""


def _too_long(headers: Headers) -> bool:
    length = headers.get("content-length", "0")
    return not length.isdigit() or int(length) > LARGEST_BODY


def _limited(receive: Receive) -> Receive:
    """Count what comes in, for requests that do not say how long they are."""
    taken = 0

    async def counted() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > LARGEST_BODY:
            return {"type": "http.disconnect"}
        return message

    return counted


def refused(refusal: Refusal, path: str) -> Response:
    """Return a refusal as a small page, or as JSON where a program asked."""
    if path.startswith("/api/"):
        error = {"field": "request", "value": None, "allowed": refusal.said, "hint": ""}
        return JSONResponse({"error": [error]}, refusal.status)
    text = (
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
        '<title>Batchwright</title><link rel="stylesheet" href="/static/book.css"></head><body><main>'
        f"<h1>Batchwright</h1><p>{refusal.said}</p></main></body></html>"
    )
    return HTMLResponse(text, refusal.status)
