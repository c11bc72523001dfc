"""Serve the book: to this machine alone, or to the network at hand."""

from __future__ import annotations

import re
import socket
from dataclasses import dataclass
from pathlib import Path

import uvicorn
from fastapi import FastAPI

from batchwright.actions.opened import Opened
from batchwright.base.errors import Fault, InputError
from batchwright.web.app import make_app
from batchwright.web.certificate import certificate_for
from batchwright.web.pages.joining import new_secret

PORT = 8462  # of no registered service; the user's to change
THIS_MACHINE, EVERYWHERE = "127.0.0.1", "0.0.0.0"
LOCAL = (THIS_MACHINE, "localhost")
CLOSING_S = 5  # how long pages under way may take to end


@dataclass(frozen=True, slots=True)
class Place:
    """Where the book is served: bound address and port, over TLS or not, the address for this machine's browser."""

    bind: str
    port: int
    secure: bool
    shared_at: str
    fingerprint: str
    certificate: Path | None
    key: Path | None

    @property
    def local(self) -> str:
        """The address for a browser on this machine."""
        return f"{'https' if self.secure else 'http'}://127.0.0.1:{self.port}"


def network_address() -> str:
    """Return this machine's address on the network at hand; its own loop-back address where there is none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # RFC 5737 documentation address: nothing is sent, a route is looked up
            return str(probe.getsockname()[0])
        except OSError:
            return THIS_MACHINE


def place_to_serve(port: int, share: bool, plain: bool, folder: Path) -> Place:
    """Return where to serve. folder: where the certificate is kept.

    Raises InputError where the port is taken, or `plain` is asked for without `share`.
    """
    if not 1 <= port <= 65535:
        raise InputError([Fault("--port", port, "a number from 1 to 65535")])
    if plain and not share:
        hint = "This computer alone needs no TLS; --plain is for sharing with devices that refuse the certificate."
        raise InputError([Fault("--plain", "without --share", "--share --plain", hint)])
    bind = EVERYWHERE if share else THIS_MACHINE
    _free(bind, port)
    if not share:
        return Place(bind, port, False, "", "", None, None)
    address, name = network_address(), _name()
    if plain:
        return Place(bind, port, False, f"http://{address}:{port}", "", None, None)
    hosts = ["localhost", THIS_MACHINE, address, *({name, f"{name}.local"} if name else ())]
    certificate, key, fingerprint = certificate_for(folder, hosts)
    return Place(bind, port, True, f"https://{address}:{port}", fingerprint, certificate, key)


def _name() -> str:
    """Return this computer's own name, empty where it has none that a certificate can hold."""
    name = socket.gethostname().lower().split(".")[0]
    return name if re.fullmatch(r"[a-z0-9-]{1,63}", name) else ""


def _free(bind: str, port: int) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((bind, port))
        except PermissionError as error:
            raise InputError([Fault("--port", port, f"a port from 1024, such as {PORT}")]) from error
        except OSError as error:
            hint = f"Another program, or this book, is served there. Try: --port {port % 65535 + 1}"
            raise InputError([Fault("--port", port, "a port that is free", hint)]) from error


def app_for(opened: Opened, place: Place) -> FastAPI:
    """Return the application for a place, with a one-time way in offered."""
    names = [*LOCAL]
    if place.shared_at:
        name = _name()
        names += [place.shared_at.split("//")[1].rsplit(":", 1)[0], *((name, f"{name}.local") if name else ())]
    hosts = [f"{name}:{place.port}" for name in names]
    if place.port == (443 if place.secure else 80):
        hosts += names
    return make_app(opened, hosts, place.secure, place.shared_at, place.fingerprint)


def first_address(app: FastAPI, place: Place) -> str:
    """Return the address that lets this machine's browser in, once."""
    token = new_secret()
    app.state.entrance.offer(token)
    return f"{place.local}/enter?token={token}"


def server_for(app: FastAPI, place: Place) -> uvicorn.Server:
    """Return the server; nothing secret goes to its log, as it keeps none of requests."""
    config = uvicorn.Config(
        app, host=place.bind, port=place.port, log_level="warning", access_log=False, server_header=False,
        proxy_headers=False, timeout_keep_alive=30, limit_concurrency=200, ws="none",
        timeout_graceful_shutdown=CLOSING_S,
        ssl_certfile=place.certificate, ssl_keyfile=place.key,
    )  # fmt: skip
    return uvicorn.Server(config)
