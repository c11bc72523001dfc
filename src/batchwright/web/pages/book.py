"""The book itself: who may come in, and copies of it. For the keeper alone."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response

from batchwright.actions.book import counted_rebuilds, listed_rebuilds, the_rebuild
from batchwright.base.errors import Fault, InputError
from batchwright.web.guard import token_hash
from batchwright.web.pages.joining import new_secret
from batchwright.web.pages.rebuilds import MANY, MOST_LISTED, sought
from batchwright.web.qr import qr_svg
from batchwright.web.typed import Typed, typed
from batchwright.web.view import page

router = APIRouter(prefix="/book")
SEE_OTHER = 303
GOOD_FOR = timedelta(minutes=15)


@router.get("")
def show(request: Request) -> Response:
    """Show who is in, and where the book lies."""
    return page(request, "book/book.html", _context(request))


@router.post("/invite")
def invite(request: Request, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Make an invitation to one rebuild and show it once, as an address and as a code to photograph."""
    rebuild = the_rebuild(request.app.state.book, sent.number("rebuild") or 0)
    token = new_secret()
    expires = (datetime.now(UTC) + GOOD_FOR).isoformat(timespec="microseconds")
    request.app.state.devices.invite(rebuild.id, token_hash(token), expires)
    address = f"{request.app.state.shared_at or str(request.base_url).rstrip('/')}/join/{token}"
    invitation = {"address": address, "code": qr_svg(address), "rebuild": rebuild.name}
    return page(request, "book/book.html", {**_context(request), "invitation": invitation})


@router.post("/devices/{device_id}/shut-out")
def shut_out(request: Request, device_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Let a browser in no longer; the one that asks stays in, as no other might be left."""
    if device_id == request.state.door.device_id:
        raise InputError([Fault("shut out", device_id, "another device than the one in your hand")])
    request.app.state.devices.shut_out(device_id)
    return RedirectResponse("/book", SEE_OTHER)


def _context(request: Request) -> dict[str, object]:
    state, find = request.app.state, sought(request)
    rebuilds = listed_rebuilds(state.book, most=MOST_LISTED + 1, find=find)
    return {"title": "Book", "bench": "book", "rebuilds": rebuilds[:MOST_LISTED], "find": find,
            "more": len(rebuilds) > MOST_LISTED, "many": counted_rebuilds(state.book) > MANY,
            "devices": state.devices.all(), "invitation": None, "shared_at": state.shared_at,
            "fingerprint": state.fingerprint, "place": state.place}  # fmt: skip
