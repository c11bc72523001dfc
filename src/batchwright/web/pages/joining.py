"""The ways in: the one-time address the computer prints, and an invitation."""

from __future__ import annotations

import secrets

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from batchwright.web.doors import GUEST, KEEPER
from batchwright.web.guard import Refusal, cookie_name, token_hash
from batchwright.web.view import page

router = APIRouter()
SEE_OTHER = 303
A_YEAR = 365 * 24 * 3600  # s
GONE = "This invitation was used before, or its quarter of an hour is over. Ask for a new one."
KEEPERS_OWN = "This is the keeper's own browser; it sees every rebuild. Open the invitation on the other device."


def new_secret() -> str:
    """Return a secret no one can guess: 256 bits from the system."""
    return secrets.token_urlsafe(32)


def let_in(request: Request, name: str, role: str, rebuild_id: int | None, target: str) -> Response:
    """Let this browser in: its secret goes into a cookie, the digest of it into the book."""
    token = new_secret()
    request.app.state.devices.add(name, role, rebuild_id, token_hash(token))
    answer = RedirectResponse(target, SEE_OTHER)
    secure = request.url.scheme == "https"
    answer.set_cookie(cookie_name(request.headers["host"], secure), token, max_age=A_YEAR, httponly=True,
                      samesite="lax", secure=secure, path="/")  # fmt: skip
    return answer


@router.get("/enter")
def enter(request: Request, token: str = "") -> Response:
    """Let the keeper's own browser in by the one-time token the computer printed; one that is in already, stays in."""
    door = request.state.door
    good = request.app.state.entrance.take(token)
    if door is not None and (door.role == KEEPER or not good):
        return RedirectResponse("/", SEE_OTHER)
    if not good:
        raise Refusal(403, "This address was used before. Start the book again; it prints a new one.")
    return let_in(request, "Keeper", KEEPER, None, "/")


@router.get("/join/{token}")
def invited(request: Request, token: str) -> Response:
    """Show an invitation; it is used up only when its button is pressed, so that a preview does not spend it."""
    return page(request, "book/join.html", {"title": "Come in", "bench": "", "token": token})


@router.post("/join/{token}")
def join(request: Request, token: str, name: str = Form("", max_length=200)) -> Response:
    """Let a guest's browser in to the one rebuild it was invited to."""
    if request.state.door is not None and request.state.door.role == KEEPER:
        raise Refusal(409, KEEPERS_OWN)
    invitation = request.app.state.devices.take(token_hash(token))
    if invitation is None:
        raise Refusal(410, GONE)
    target = f"/rebuilds/{invitation.rebuild_id}/original"
    return let_in(request, name.strip() or "Guest", GUEST, invitation.rebuild_id, target)
