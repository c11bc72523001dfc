"""The web application: pages and JSON over one book."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager
from pathlib import Path

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import FileResponse, PlainTextResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException

from batchwright import __version__
from batchwright.actions.opened import Opened
from batchwright.base.errors import Fault, InputError
from batchwright.web.api import formulas, kept, texts
from batchwright.web.encoded import JSONAnswer
from batchwright.web.entrance import Entrance
from batchwright.web.guard import Bucket, Guard, Refusal, refused
from batchwright.web.pages import book, formula, history, joining, original, photo, rebuilds
from batchwright.web.view import page

STATIC = Path(__file__).parent / "static"
ROOMS = (rebuilds, original, photo, formula, history, book, joining)
API = (kept, texts, formulas)
API_SAID = "What the pages do, as JSON; for a browser or program that came in by the door. See docs/reference/api.md."
NOT_SERVED = {
    404: "No such page.", 405: "This page is not asked for in that way.", 400: "This could not be read. Send it again.",
}  # fmt: skip
MISSING = ("that is in this book", "of this rebuild", "that was let in")  # how a fault of a number no one has ends


def make_app(
    opened: Opened, hosts: Iterable[str], secure: bool = False, shared_at: str = "", fingerprint: str = "",
    general: Bucket | None = None, entering: Bucket | None = None,
) -> FastAPI:  # fmt: skip
    """Return the application over an open book.

    hosts: the names with port it answers to. secure: whether it is served over TLS. shared_at: the address other
    devices reach it at, empty where it is not shared; fingerprint: of its certificate. general, entering: how often
    one address may ask, and try to come in; see `guard.Guard`.
    """
    app = FastAPI(title="Batchwright", version=__version__, docs_url=None, redoc_url=None, lifespan=_running,
                  openapi_url="/api/openapi.json", description=API_SAID,
                  default_response_class=JSONAnswer)  # fmt: skip
    state = app.state
    state.book, state.devices, state.pictures, state.answers, state.photos = (
        opened.book, opened.devices, opened.pictures, opened.answers, opened.photos)  # fmt: skip
    state.entrance, state.shared_at, state.fingerprint = Entrance(), shared_at, fingerprint
    state.place, state.cups = opened.place, opened.cups
    for room in ROOMS:
        app.include_router(room.router, include_in_schema=False)
    for part in API:
        app.include_router(part.router, prefix="/api")
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    app.add_exception_handler(InputError, _faulty)
    app.add_exception_handler(Refusal, _refused)
    app.add_exception_handler(HTTPException, _not_served)
    app.add_exception_handler(RequestValidationError, _not_read)
    app.add_middleware(Guard, device_by=opened.devices.by_token, hosts=hosts, secure=secure, general=general,
                       entering=entering, seen=opened.devices.seen)  # fmt: skip

    @app.get("/away.js", include_in_schema=False)
    def away() -> Response:
        """Give the worker that keeps copies of pages; from the root, as a browser lets it serve what lies below it."""
        return FileResponse(STATIC / "away.js", media_type="text/javascript")

    @app.get("/robots.txt", include_in_schema=False)
    def robots() -> Response:
        return PlainTextResponse("User-agent: *\nDisallow: /\n")

    return app


@asynccontextmanager
async def _running(app: FastAPI) -> AsyncIterator[None]:
    """Let the workers get ready once the server runs."""
    app.state.answers.warm()
    yield


def _faulty(request: Request, error: Exception) -> Response:
    """Answer a fault no page caught: what is missing is 404, what was typed 422, a book that cannot write now 503."""
    assert isinstance(error, InputError)
    missing = all(fault.allowed.endswith(MISSING) for fault in error.faults)
    status = 404 if missing else 503 if any(fault.field == "book" for fault in error.faults) else 422
    if request.url.path.startswith("/api/"):
        return JSONAnswer({"error": [fault.to_json() for fault in error.faults]}, status)
    title = {404: "This is not in the book", 503: "The book cannot take this now"}.get(status, "That cannot be")
    context = {"title": title, "bench": "", "status": status, "sent": getattr(request.state, "typed", None)}
    return page(request, "faulty.html", context, error.faults, status)


def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, Refusal)
    return refused(error, request.url.path)


def _not_served(request: Request, error: Exception) -> Response:
    """Answer what the framework itself does not serve, in the same words as the guard."""
    assert isinstance(error, HTTPException)
    said = NOT_SERVED.get(error.status_code, "This could not be read. Go back, and send it again.")
    answer = refused(Refusal(error.status_code, said), request.url.path)
    for name, value in (error.headers or {}).items():
        answer.headers[name] = value
    return answer


def _not_read(request: Request, error: Exception) -> Response:
    """Answer what has not the form it must have: a number in the address, a field of a document."""
    assert isinstance(error, RequestValidationError)
    faults = [Fault(".".join(map(str, each["loc"][1:])) or str(each["loc"][0]), each.get("input"), str(each["msg"]))
              for each in error.errors()]  # fmt: skip
    if request.url.path.startswith("/api/"):
        return JSONAnswer({"error": [fault.to_json() for fault in faults]}, 422)
    if any(each["loc"][0] == "path" for each in error.errors()):
        return refused(Refusal(404, "No such page."), request.url.path)
    return page(request, "faulty.html", {"title": "That cannot be", "bench": "", "status": 422, "sent": None}, faults,
                422)  # fmt: skip
