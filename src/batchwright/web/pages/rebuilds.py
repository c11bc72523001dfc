"""The first screen: a field to paste into, a camera button, and the rebuilds begun so far."""

from __future__ import annotations

from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response

from batchwright.actions.book import begin_rebuild, change_rebuild, counted_rebuilds, listed_rebuilds
from batchwright.base.errors import Fault, InputError
from batchwright.web.doors import GUEST
from batchwright.web.pages.photo import keep_clean
from batchwright.web.resent import once
from batchwright.web.typed import Typed, typed
from batchwright.web.units import COOKIE, Units
from batchwright.web.uploads import clean_picture
from batchwright.web.view import page

router = APIRouter()
SEE_OTHER = 303
MOST_LISTED = 100
MANY = 12  # rebuilds: from here on a field to find one by its name stands over the list
LONGEST_FIND = 200  # characters
A_YEAR = 365 * 24 * 3600  # s


@router.get("/")
def first_screen(request: Request) -> Response:
    """Show the paste field and the rebuilds; a guest goes straight to the one rebuild it was invited to."""
    door = request.state.door
    if door.role == GUEST:
        return RedirectResponse(f"/rebuilds/{door.rebuild_id}/original", SEE_OTHER)
    return page(request, "rebuilds/rebuilds.html", _context(request))


def _context(request: Request, pasted: str = "") -> dict[str, Any]:
    """Return what the first screen shows: the rebuilds, those set aside where they are asked for."""
    book = request.app.state.book
    aside = request.query_params.get("show") == "aside"
    asked = request.query_params.get("from", "")
    start = int(asked) if asked.isdecimal() and len(asked) < 9 else 0
    find = sought(request)
    rebuilds = listed_rebuilds(book, aside, MOST_LISTED + 1, start, find)
    ways = [("show", "aside" if aside else ""), ("find", find), ("from", str(start + MOST_LISTED))]
    older = urlencode([way for way in ways if way[1]]) if len(rebuilds) > MOST_LISTED else ""
    return {"title": "Set aside" if aside else "Rebuilds", "bench": "rebuilds", "aside": aside, "pasted": pasted,
            "rebuilds": rebuilds[:MOST_LISTED], "others": counted_rebuilds(book, not aside), "older": older,
            "start": start, "find": find, "many": counted_rebuilds(book, aside) > MANY}  # fmt: skip


def sought(request: Request) -> str:
    """Return the words that a rebuild is looked for by; empty where none is."""
    return " ".join(request.query_params.get("find", "")[:LONGEST_FIND].split())


@router.post("/rebuilds")
def begin(request: Request, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Begin a rebuild from a pasted label or recipe, or a picture of the packet; it is named afterwards."""
    pasted = sent.fields.get("pasted", "")
    picture = sent.files.get("picture")
    if not pasted.strip() and picture is None:
        fault = Fault("pasted", "", "the words of a label or a recipe, or a picture of the packet")
        return page(request, "rebuilds/rebuilds.html", _context(request, pasted), [fault])
    who, book = request.state.door.name, request.app.state.book
    try:
        clean = None if picture is None else clean_picture(picture[1])
    except InputError as error:
        return page(request, "rebuilds/rebuilds.html", _context(request, pasted), error.faults)

    def begun() -> str:
        rebuild, room = begin_rebuild(book, pasted, who)
        if picture is None or clean is None:
            return f"/rebuilds/{rebuild.id}/{room}"
        keep_clean(request.app.state.photos, rebuild.id, picture[0], clean)
        return f"/rebuilds/{rebuild.id}/photo"

    return RedirectResponse(once(request, "rebuild", begun, sent.fields.get("key", "")), SEE_OTHER)


@router.post("/rebuilds/{rebuild_id}")
def change(request: Request, rebuild_id: int, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Rename a rebuild, or set it aside and bring it back."""
    change_rebuild(request.app.state.book, rebuild_id, sent.fields, request.state.door.name)
    otherwise = "/" if "set_aside" in sent.fields else f"/rebuilds/{rebuild_id}/original"
    return RedirectResponse(_back(sent, otherwise), SEE_OTHER)


@router.post("/units")
def switch_units(request: Request, sent: Annotated[Typed, Depends(typed)]) -> Response:
    """Keep the units chosen for this screen and return to the page."""
    cup = sent.fields.get("cup", "")
    chosen = Units(sent.fields.get("weight", "g"), sent.fields.get("heat", "C"),
                   cup if cup in request.app.state.cups else "")  # fmt: skip
    answer = RedirectResponse(_back(sent, "/"), SEE_OTHER)
    answer.set_cookie(COOKIE, chosen.cookie(), max_age=A_YEAR, samesite="strict", httponly=True,
                      secure=request.url.scheme == "https")  # fmt: skip
    return answer


def _back(sent: Typed, otherwise: str) -> str:
    """Return the page to go back to: a path of our own, never another place."""
    path = sent.fields.get("back", "")
    return path if path.startswith("/") and not path.startswith(("//", "/\\")) and path.isprintable() else otherwise
