"""The web application: pages and JSON over one book."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from fastapi import FastAPI, Request
from fastapi.responses import PlainTextResponse, Response
from fastapi.staticfiles import StaticFiles

from batchwright import __version__
from batchwright.actions.opened import Opened
from batchwright.base.errors import InputError
from batchwright.web.entrance import Entrance
from batchwright.web.guard import Guard, Refusal, refused
from batchwright.web.pages import book, formula, history, joining, original, rebuilds
from batchwright.web.view import page

ROOMS = (rebuilds, original, formula, history, book, joining)
MISSING = frozenset({"rebuild", "thing", "revision", "picture", "device"})


def make_app(
    opened: Opened, hosts: Iterable[str], secure: bool = False, shared_at: str = "", fingerprint: str = ""
) -> FastAPI:
    """Return the application over an open book.

    hosts: the names with port it answers to. secure: whether it is served over TLS. shared_at: the address other
    devices reach it at, empty where it is not shared; fingerprint: of its certificate.
    """
    app = FastAPI(title="Batchwright", version=__version__, docs_url=None, redoc_url=None, openapi_url=None)
    state = app.state
    state.book, state.devices, state.pictures, state.answers = (
        opened.book, opened.devices, opened.pictures, opened.answers)  # fmt: skip
    state.entrance, state.shared_at, state.fingerprint = Entrance(), shared_at, fingerprint
    state.place, state.cups = opened.place, opened.cups
    for room in ROOMS:
        app.include_router(room.router, include_in_schema=False)
    app.mount("/static", StaticFiles(directory=Path(__file__).parent / "static"), name="static")
    app.add_exception_handler(InputError, _faulty)
    app.add_exception_handler(Refusal, _refused)
    app.add_middleware(Guard, device_by=opened.devices.by_token, hosts=hosts, secure=secure)

    @app.get("/robots.txt", include_in_schema=False)
    def robots() -> Response:
        return PlainTextResponse("User-agent: *\nDisallow: /\n")

    return app


def _faulty(request: Request, error: Exception) -> Response:
    """Answer a fault no page caught: what is missing is 404, what was typed 422, both in words."""
    assert isinstance(error, InputError)
    missing = all(fault.field in MISSING for fault in error.faults)
    context = {"title": "Not found" if missing else "That cannot be", "bench": ""}
    return page(request, "faulty.html", context, error.faults, 404 if missing else 422)


def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, Refusal)
    return refused(error, request.url.path)
