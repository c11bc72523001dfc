"""Serve the book: to this machine alone, or to the network at hand."""

from __future__ import annotations

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
LOCAL = ("127.0.0.1", "localhost", "[::1]")


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
            return "127.0.0.1"


def place_to_serve(port: int, share: bool, plain: bool, folder: Path) -> Place:
    """Return where to serve. folder: where the certificate is kept. Raises InputError where the port is taken."""
    if not 1 <= port <= 65535:
        raise InputError([Fault("--port", port, "a number from 1 to 65535")])
    _free(port)
    if not share:
        return Place("127.0.0.1", port, False, "", "", None, None)
    address, name = network_address(), socket.gethostname()
    if plain:
        return Place("0.0.0.0", port, False, f"http://{address}:{port}", "", None, None)
    hosts = ["localhost", "127.0.0.1", address, name, f"{name}.local"]
    certificate, key, fingerprint = certificate_for(folder, hosts)
    return Place("0.0.0.0", port, True, f"https://{address}:{port}", fingerprint, certificate, key)


def _free(port: int) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("127.0.0.1", port))
        except OSError as error:
            hint = "Another program, or this book, is served there. Try: --port " + str(port % 65535 + 1)
            raise InputError([Fault("--port", port, "a port that is free", hint)]) from error


def app_for(opened: Opened, place: Place) -> FastAPI:
    """Return the application for a place, with a one-time way in offered."""
    names = [*LOCAL]
    if place.shared_at:
        name = socket.gethostname().lower()
        names += [place.shared_at.split("//")[1].rsplit(":", 1)[0], name, f"{name}.local"]
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
        proxy_headers=False, timeout_keep_alive=30, limit_concurrency=200,
        ssl_certfile=place.certificate, ssl_keyfile=place.key,
    )  # fmt: skip
    return uvicorn.Server(config)
