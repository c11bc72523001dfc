"""The web application: pages and JSON over one book."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles

from batchwright import __version__
from batchwright.web.pages import original, rebuilds

ROOMS = (rebuilds, original)


@dataclass(frozen=True, slots=True)
class Served:
    """What the application works with: the open book, the desk that works answers out, the cups a screen may choose."""

    book: Any
    answers: Any
    cups: tuple[str, ...] = ()


def make_app(served: Served) -> FastAPI:
    """Return the application over an open book."""
    app = FastAPI(title="Batchwright", version=__version__, docs_url=None, redoc_url=None, openapi_url=None)
    app.state.book, app.state.answers, app.state.cups = served.book, served.answers, served.cups
    for room in ROOMS:
        app.include_router(room.router, include_in_schema=False)
    app.mount("/static", StaticFiles(directory=Path(__file__).parent / "static"), name="static")
    return app
