"""The first screen: a field to paste into, a camera button, and the rebuilds begun so far."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response

from batchwright.actions.book import begin_rebuild, change_rebuild, listed_rebuilds
from batchwright.base.errors import Fault
from batchwright.web.doors import GUEST
from batchwright.web.typed import Typed, typed
from batchwright.web.units import COOKIE, Units
from batchwright.web.view import page

router = APIRouter()
SEE_OTHER = 303
A_YEAR = 365 * 24 * 3600  # s


@router.get("/")
def first_screen(request: Request) -> Response:
    """Show the paste field and the rebuilds; a guest goes straight to the one rebuild it was invited to."""
    door = request.state.door
    if door.role == GUEST:
        return RedirectResponse(f"/rebuilds/{door.rebuild_id}/original", SEE_OTHER)
    rebuilds = listed_rebuilds(request.app.state.book)
    context = {"title": "Rebuilds", "bench": "rebuilds", "rebuilds": rebuilds, "pasted": ""}
    return page(request, "rebuilds/rebuilds.html", context)


@router.post("/rebuilds")
def begin(request: Request, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Begin a rebuild from a pasted label or recipe, or a picture of the packet; it is named afterwards."""
    pasted = sent.fields.get("pasted", "")
    picture = sent.files.get("picture")
    if not pasted.strip() and picture is None:
        fault = Fault("pasted", "", "the words of a label or a recipe, or a picture of the packet")
        rebuilds = listed_rebuilds(request.app.state.book)
        context = {"title": "Rebuilds", "bench": "rebuilds", "rebuilds": rebuilds, "pasted": pasted}
        return page(request, "rebuilds/rebuilds.html", context, [fault])
    begun, room = begin_rebuild(request.app.state.book, pasted, request.state.door.name)
    if picture is not None:
        return RedirectResponse(f"/rebuilds/{begun.id}/original", SEE_OTHER)
    return RedirectResponse(f"/rebuilds/{begun.id}/{room}", SEE_OTHER)


@router.post("/rebuilds/{rebuild_id}")
def change(request: Request, rebuild_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Rename a rebuild, or set it aside and bring it back."""
    change_rebuild(request.app.state.book, rebuild_id, sent.fields, request.state.door.name)
    return RedirectResponse(_back(sent, f"/rebuilds/{rebuild_id}/original"), SEE_OTHER)


@router.post("/units")
def switch_units(request: Request, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Keep the units chosen for this screen and return to the page."""
    chosen = Units(sent.fields.get("weight", "g"), sent.fields.get("heat", "C"), sent.fields.get("cup", "")[:40])
    answer = RedirectResponse(_back(sent, "/"), SEE_OTHER)
    answer.set_cookie(COOKIE, chosen.cookie(), max_age=A_YEAR, samesite="strict", httponly=True,
                      secure=request.url.scheme == "https")  # fmt: skip
    return answer


def _back(sent: Typed, otherwise: str) -> str:
    """Return the page to go back to: a path of our own, never another place."""
    path = sent.fields.get("back", "")
    return path if path.startswith("/") and not path.startswith(("//", "/\\")) and path.isprintable() else otherwise
