"""Who may what: every route, walked from the application, by everyone who may stand at the door; and the ways in."""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from fastapi.routing import iter_route_contexts
from fastapi.testclient import TestClient

from batchwright.web.guard import token_hash
from tests.web.served import HOST, PORT, RECIPE, Served, csrf_in, sent, served

ALL, INVITED, KEEPER = "all", "invited", "keeper"

# Every route with who may ask for it: "all", "invited" (the keeper, and a guest of that rebuild), "keeper". A route
# that is not here fails the test: say who may before it goes out.
RULES = {
    "GET /robots.txt": ALL, "GET /away.js": ALL, "GET /enter": ALL, "GET /join/{token}": ALL, "POST /join/{token}": ALL,
    "GET /": INVITED, "POST /units": INVITED, "GET /pictures/{picture_id}": INVITED,
    "POST /rebuilds": KEEPER, "POST /rebuilds/{rebuild_id}": KEEPER,
    "GET /book": KEEPER, "POST /book/invite": KEEPER, "POST /book/devices/{device_id}/shut-out": KEEPER,
    "GET /api/openapi.json": INVITED, "GET /api/pantry": INVITED,
    "POST /api/read": INVITED, "POST /api/weigh": INVITED, "POST /api/decode": INVITED,
    "GET /api/rebuilds": KEEPER, "POST /api/rebuilds": KEEPER,
    "POST /rebuilds/{rebuild_id}/photo/remove": KEEPER,
    "DELETE /api/rebuilds/{rebuild_id}/pictures/{picture_id}": KEEPER,
    "GET /api/rebuilds/{rebuild_id}": INVITED, "PATCH /api/rebuilds/{rebuild_id}": KEEPER,
}  # fmt: skip
ROOMS = re.compile(
    r"(?:/api)?/rebuilds/\{rebuild_id\}/"
    r"(?:original|brief|formula|formulas|history|things|documents|pictures|photo|picture)\b.*"
)  # within a rebuild: whoever was invited to it


def routes(kitchen: Served) -> Iterator[tuple[str, str]]:
    """Walk the application: each method and path that it serves."""
    for context in iter_route_contexts(kitchen.app.routes):
        path = str(context.path)
        if path == "/static":
            continue
        for method in sorted((context.methods or set()) - {"HEAD", "OPTIONS"}):
            yield method, path


def rule(method: str, path: str) -> str | None:
    return RULES.get(f"{method} {path}") or (INVITED if ROOMS.fullmatch(path) else None)


def test_every_route_has_a_rule(kitchen: Served) -> None:
    walked = [f"{method} {path}" for method, path in routes(kitchen)]
    assert len(walked) > 40
    assert [each for each in walked if rule(*each.split(" ", 1)) is None] == []


def refused_at_the_door(client: TestClient, method: str, path: str) -> bool:
    """Ask as a browser of that door would, with its own form's secret; tell whether the guard turned it away."""
    if method == "GET":
        answer = client.get(path)
    elif path.startswith("/api/"):
        answer = client.request(method, path, json={})
    else:
        answer = client.request(method, path, data={"csrf": getattr(client, "csrf", "")})
    assert answer.status_code < 500, (method, path)
    return answer.status_code == 401 or (answer.status_code == 404 and "for this device" in answer.text)


def filled(route: str, rebuild: int) -> str:
    """Return a route's path in a rebuild; what else it names is there nowhere."""
    known = {"rebuild_id": str(rebuild), "kind": "original", "token": "x" * 43}
    return re.sub(r"\{(\w+)\}", lambda found: known.get(found[1], "999"), route)


@pytest.mark.parametrize("who", ["nobody", "guest", "guest of another rebuild", "shut out", "a made-up secret"])
def test_who_may_what(kitchen: Served, who: str) -> None:
    """Every route, in the first rebuild, by everyone but the keeper: let in or turned away as the rule says."""
    rebuild, other = kitchen.rebuild(), kitchen.rebuild("Another")
    client = kitchen.nobody()
    if who in ("guest", "shut out"):
        client = kitchen.browser("guest", rebuild)
    elif who == "guest of another rebuild":
        client = kitchen.browser("guest", other)
    elif who == "a made-up secret":
        client.cookies.set(f"door-{PORT}", "x" * 43)
    if who == "shut out":
        kitchen.opened.devices.shut_out(1)
    before = kitchen.opened.book.rebuilds()
    wrong = []
    for method, route in routes(kitchen):
        invited = who == "guest" or (who == "guest of another rebuild" and "{rebuild_id}" not in route)
        let_in = rule(method, route) == ALL or (rule(method, route) == INVITED and invited)
        if refused_at_the_door(client, method, filled(route, rebuild)) is let_in:
            wrong.append((method, route, "refused" if let_in else "let in"))
    assert wrong == []
    if who != "guest":
        assert kitchen.opened.book.rebuilds() == before


def test_the_keeper_may_all(kitchen: Served) -> None:
    rebuild, keeper = kitchen.rebuild(), kitchen.browser()
    assert [each for each in routes(kitchen) if refused_at_the_door(keeper, each[0], filled(each[1], rebuild))] == []


def test_a_thing_of_another_rebuild_is_not_reached_through_ones_own(kitchen: Served) -> None:
    """A guest names its own rebuild and a thing of another: all refused, nothing changed."""
    mine, theirs = kitchen.rebuild(), kitchen.rebuild("Theirs")
    guest, keeper = kitchen.browser("guest", mine), kitchen.browser()
    taken = keeper.post(f"/api/rebuilds/{theirs}/formulas", json={"text": RECIPE}).json()["revision"]
    thing, revision = taken["thing_id"], taken["id"]
    for path in (f"formula/{thing}", f"formula/{thing}/card", f"formula/{thing}/measures", f"formula/{thing}/versions",
                 f"history/{thing}", f"formula/{thing}/card/html"):  # fmt: skip
        assert guest.get(f"/rebuilds/{mine}/{path}").status_code == 404, path
    for path in ("", "/measures", "/card"):
        assert guest.get(f"/api/rebuilds/{mine}/formulas/{thing}{path}").status_code == 404
    assert guest.get(f"/api/rebuilds/{mine}/things/{thing}/history").status_code == 404
    for path in (f"formula/{thing}", f"formula/{thing}/remove", f"formula/{thing}/fit", f"history/{thing}/undo",
                 f"history/{thing}/redo"):  # fmt: skip
        assert sent(guest, f"/rebuilds/{mine}/{path}").status_code == 404, path
    own = kitchen.opened.book.things(mine, "original")[0].id
    assert sent(guest, f"/rebuilds/{mine}/history/{own}/settle", keep=str(revision)).status_code in (404, 422)
    saved = guest.put(f"/api/rebuilds/{mine}/original", json={"parent": revision, "document": {}})
    assert saved.status_code in (404, 422)
    assert guest.put(f"/api/rebuilds/{mine}/formulas/{thing}", json={"document": {"parts": []}}).status_code == 404
    assert guest.delete(f"/api/rebuilds/{mine}/formulas/{thing}").status_code == 404
    assert len(kitchen.opened.book.history(thing)) == 1


def test_a_picture_of_another_rebuild_is_not_shown(kitchen: Served) -> None:
    mine, theirs = kitchen.rebuild(), kitchen.rebuild("Theirs")
    picture = kitchen.opened.pictures.add(theirs, "packet", b"\xff\xd8\xff", "image/jpeg", (1, 1))
    guest = kitchen.browser("guest", mine)
    assert guest.get(f"/pictures/{picture.id}").status_code == 404
    assert guest.get(f"/api/rebuilds/{theirs}/pictures").status_code == 404
    assert guest.get(f"/api/rebuilds/{mine}/pictures").json() == {"pictures": []}
    listed = kitchen.browser().get(f"/api/rebuilds/{theirs}/pictures").json()["pictures"]
    assert [each["digest"] for each in listed] == [picture.digest]


# The ways in


def test_the_first_address_is_good_once(kitchen: Served) -> None:
    kitchen.app.state.entrance.offer("first")
    first, second = kitchen.nobody(), kitchen.nobody()
    assert second.get("/enter?token=firs").status_code == 403
    assert second.get("/enter?token=").status_code == 403
    assert first.get("/enter?token=first").status_code == 303
    assert second.get("/enter?token=first").status_code == 403
    assert first.get("/").status_code == 200
    assert second.get("/").status_code == 401
    assert first.get("/enter?token=first").headers["location"] == "/"  # the page opened again from its history


def test_a_keeper_that_comes_in_again_is_one_device_still(kitchen: Served) -> None:
    keeper = kitchen.browser()
    kitchen.app.state.entrance.offer("next")
    assert keeper.get("/enter?token=next").headers["location"] == "/"
    assert len(kitchen.opened.devices.all()) == 1
    assert kitchen.nobody().get("/enter?token=next").status_code == 403


@pytest.mark.parametrize("secure", [False, True])
def test_what_the_cookie_says(file_place: str, secure: bool) -> None:
    kitchen = served(file_place, secure=secure)
    kitchen.app.state.entrance.offer("first")
    client = kitchen.nobody()
    said = client.get("/enter?token=first").headers["set-cookie"]
    parts = {part.strip().lower() for part in said.split(";")[1:]}
    assert {"httponly", "samesite=lax", "path=/"} <= parts
    assert ("secure" in parts) is secure
    assert not any(part.startswith("domain") for part in parts)
    assert said.startswith("__Host-door-" if secure else "door-")
    secret = said.split("=", 1)[1].split(";")[0]
    assert len(secret) == 43
    device = kitchen.opened.devices.by_token(token_hash(secret))
    assert device is not None
    assert device.role == "keeper"
    assert client.get("/").status_code == 200
    kitchen.opened.close()


def invitation(kitchen: Served, keeper: TestClient, rebuild: int) -> str:
    """Invite as the page does; return the token."""
    page = sent(keeper, "/book/invite", rebuild=str(rebuild))
    found = re.search(rf"http://{re.escape(HOST)}/join/([A-Za-z0-9_-]{{43}})", page.text)
    assert found, page.text
    assert page.text.count(found[1]) == 1
    assert "<svg" in page.text
    assert found[1] not in keeper.get("/book").text
    return found[1]


def test_an_invitation_lets_one_in_to_one_rebuild(kitchen: Served) -> None:
    rebuild, other = kitchen.rebuild(), kitchen.rebuild("Another")
    token = invitation(kitchen, kitchen.browser(), rebuild)
    guest, late = kitchen.nobody(), kitchen.nobody()
    assert guest.get(f"/join/{token}").status_code == 200  # looking, as a preview does, does not spend it
    joined = guest.post(f"/join/{token}", data={"name": "<b>Bo</b>"})
    assert (joined.status_code, joined.headers["location"]) == (303, f"/rebuilds/{rebuild}/original")
    page = guest.get(f"/rebuilds/{rebuild}/original")
    assert page.status_code == 200
    assert guest.get("/").headers["location"] == f"/rebuilds/{rebuild}/original"
    guest.csrf = csrf_in(page.text)  # type: ignore[attr-defined]
    assert sent(guest, f"/rebuilds/{rebuild}/original", **{"label.text": "flour"}).status_code == 303
    kept = kitchen.opened.book.things_with_heads(rebuild, "original")[0][1][0]
    assert kept.who == "<b>Bo</b>"
    assert "&lt;b&gt;Bo&lt;/b&gt;" in kitchen.browser().get("/book").text
    assert guest.get(f"/rebuilds/{other}/original").status_code == 404
    answer = late.post(f"/join/{token}", data={"name": "Cy"})
    assert answer.status_code == 410
    assert "Ask for a new one" in answer.text
    assert late.get(f"/rebuilds/{rebuild}/original").status_code == 401


def test_of_two_at_once_one_gets_in(kitchen: Served) -> None:
    token = invitation(kitchen, kitchen.browser(), kitchen.rebuild())
    clients = [kitchen.nobody() for _ in range(6)]
    ready, found = threading.Barrier(len(clients)), []

    def come(client: TestClient) -> None:
        ready.wait()
        found.append(client.post(f"/join/{token}", data={"name": "Bo"}).status_code)

    threads = [threading.Thread(target=come, args=(client,)) for client in clients]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(found) == [303, 410, 410, 410, 410, 410]
    assert sum(device.role == "guest" for device in kitchen.opened.devices.all()) == 1


def test_an_invitation_ends_after_a_quarter_of_an_hour(kitchen: Served) -> None:
    invitation(kitchen, kitchen.browser(), kitchen.rebuild())
    (made,) = kitchen.opened.devices.invitations()
    good_for = datetime.fromisoformat(made.expires) - datetime.fromisoformat(made.made)
    assert timedelta(minutes=14, seconds=50) < good_for <= timedelta(minutes=15, seconds=10)
    for minutes, status in ((-1, 410), (1, 303)):
        token = "t" * 40 + str(minutes % 10)
        ends = (datetime.now(UTC) + timedelta(minutes=minutes)).isoformat(timespec="microseconds")
        kitchen.opened.devices.invite(made.rebuild_id, token_hash(token), ends)
        assert kitchen.nobody().post(f"/join/{token}", data={"name": "Bo"}).status_code == status


def test_the_keepers_own_browser_does_not_become_a_guest(kitchen: Served) -> None:
    keeper = kitchen.browser()
    token = invitation(kitchen, keeper, kitchen.rebuild())
    assert keeper.post(f"/join/{token}", data={"name": "Bo"}).status_code == 409
    assert keeper.get("/book").status_code == 200
    assert kitchen.nobody().post(f"/join/{token}", data={"name": "Bo"}).status_code == 303  # it was not spent


def test_who_is_shut_out_is_out_at_once(kitchen: Served) -> None:
    rebuild = kitchen.rebuild()
    keeper, guest = kitchen.browser(), kitchen.browser("guest", rebuild)
    path = f"/rebuilds/{rebuild}/original"
    assert guest.get(path).status_code == 200
    assert sent(keeper, "/book/devices/2/shut-out").status_code == 303
    assert guest.get(path).status_code == 401
    assert guest.put(f"/api/rebuilds/{rebuild}/original", json={"document": {}}).status_code == 401
    assert sent(keeper, "/book/devices/1/shut-out").status_code == 422  # not the one in the hand
    assert sent(keeper, "/book/devices/77/shut-out").status_code == 404
    assert keeper.get("/book").status_code == 200


def test_nothing_kept_of_a_secret_lets_anyone_in(file_kitchen: Served) -> None:
    """The book holds digests alone: whoever reads the file has no cookie and no invitation."""
    keeper = file_kitchen.browser()
    token = invitation(file_kitchen, keeper, file_kitchen.rebuild())
    secrets = [token, *keeper.cookies.values()]
    with file_kitchen.opened.book.engine.connect() as connection:
        raw = "\n".join(connection.connection.driver_connection.iterdump())
    for secret in secrets:
        assert secret not in raw
        assert token_hash(secret) in raw
    thief = file_kitchen.nobody()
    thief.cookies.set(f"door-{PORT}", token_hash(secrets[1]))
    assert thief.get("/").status_code == 401


def test_a_guest_is_shown_no_form_that_would_be_refused(kitchen: Served) -> None:
    rebuild = kitchen.rebuild()
    path, form = f"/rebuilds/{rebuild}/original", f'action="/rebuilds/{rebuild}"'
    assert form in kitchen.browser().get(path).text
    page = kitchen.browser("guest", rebuild).get(path).text
    assert form not in page
    assert 'href="/book"' not in page
