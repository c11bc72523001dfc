"""The guard: other places' pages, bodies, rates, headers; each request as a browser or a program would send it."""

from __future__ import annotations

import logging
import re
import time
from collections.abc import Callable, Iterator

import pytest

from batchwright.actions.bench import pasted_document
from batchwright.base.errors import Fault, InputError
from batchwright.store.devices import Devices
from batchwright.web.guard import HEADERS, LARGEST_TEXT, LARGEST_UPLOAD, Bucket, cookie_name, token_of
from tests.web.served import HOST, LABEL, PORT, RECIPE, Served, csrf_in, sent, served


def test_only_our_own_names_are_answered(file_kitchen: Served) -> None:
    """DNS rebinding: another's name that leads to this machine gets nothing, whoever asks and whatever for."""
    keeper = file_kitchen.browser()
    for host in (f"evil.example:{PORT}", "127.0.0.1", f"127.0.0.1:{PORT + 1}", f"{HOST}.evil.example", "",
                 f"evil.example:{PORT}@{HOST}"):  # fmt: skip
        for path in ("/", "/enter?token=x", "/static/book.css", "/api/rebuilds"):
            answer = keeper.get(path, headers={"host": host})
            assert answer.status_code == 421, (host, path)
            assert "rebuild" not in answer.text.lower()
    assert keeper.get("/", headers={"host": HOST.upper()}).status_code == 200


OTHERS: dict[str, dict[str, str]] = {
    "another place": {"origin": "https://evil.example"},
    "the same host over TLS": {"origin": f"https://{HOST}"},
    "another port": {"origin": f"http://127.0.0.1:{PORT + 1}"},
    "a hidden place": {"origin": "null"},
    "a page of another place, by referer": {"origin": "", "referer": f"https://evil.example/http://{HOST}/"},
    "nothing said": {"origin": ""},
    "cross-site by the browser's own word": {"origin": f"http://{HOST}", "sec-fetch-site": "cross-site"},
    "same-site is not same-origin": {"origin": f"http://{HOST}", "sec-fetch-site": "same-site"},
}


@pytest.mark.parametrize("why", OTHERS)
def test_what_another_page_sends_is_refused(file_kitchen: Served, why: str) -> None:
    rebuild = file_kitchen.rebuild()
    keeper = file_kitchen.browser()
    headers = {name: value for name, value in OTHERS[why].items() if value}
    if not OTHERS[why].get("origin"):
        del keeper.headers["origin"]
    form = keeper.post(f"/rebuilds/{rebuild}", data={"csrf": keeper.csrf, "name": "Taken"}, headers=headers)  # type: ignore[attr-defined]
    api = keeper.patch(f"/api/rebuilds/{rebuild}", json={"name": "Taken"}, headers=headers)
    assert (form.status_code, api.status_code) == (403, 403)
    assert file_kitchen.opened.book.rebuild(rebuild).name == "Shortbread"


def test_our_own_page_is_known_by_origin_or_referer(file_kitchen: Served) -> None:
    rebuild = file_kitchen.rebuild()
    keeper = file_kitchen.browser()
    assert sent(keeper, f"/rebuilds/{rebuild}", name="One").status_code == 303
    del keeper.headers["origin"]
    answer = keeper.post(f"/rebuilds/{rebuild}", data={"csrf": keeper.csrf, "name": "Two"},  # type: ignore[attr-defined]
                         headers={"referer": f"http://{HOST}/rebuilds/{rebuild}/original"})
    assert answer.status_code == 303
    assert file_kitchen.opened.book.rebuild(rebuild).name == "Two"


def test_a_form_without_its_secret_is_refused(file_kitchen: Served) -> None:
    rebuild = file_kitchen.rebuild()
    keeper, guest = file_kitchen.browser(), file_kitchen.browser("guest", rebuild)
    for csrf in ("", "0" * 64, guest.csrf, "\ud83d", "é"):  # type: ignore[attr-defined]
        answer = keeper.post(f"/rebuilds/{rebuild}", content=f"csrf={csrf}&name=Taken".encode("utf-8", "surrogatepass"),
                             headers={"content-type": "application/x-www-form-urlencoded"})
        assert answer.status_code == 403
        assert "What you typed is still in it" in answer.text
    assert file_kitchen.opened.book.rebuild(rebuild).name == "Shortbread"
    assert csrf_in(keeper.get("/").text) == keeper.csrf  # type: ignore[attr-defined]


def test_the_api_takes_json_alone(file_kitchen: Served) -> None:
    """What a form of another place could send without asking first, the API does not take."""
    keeper = file_kitchen.browser()
    for kind in ("application/x-www-form-urlencoded", "text/plain", "multipart/form-data; boundary=x", ""):
        answer = keeper.post("/api/read", content='{"text": "Ingredients: flour."}', headers={"content-type": kind})
        assert answer.status_code == 415, kind
        assert answer.json()["error"][0]["field"] == "request"


EVERY_KIND: dict[str, Callable[[Served], object]] = {
    "a page": lambda k: k.browser().get("/"),
    "a redirect": lambda k: k.browser("guest", k.rebuild()).get("/"),
    "nobody's": lambda k: k.nobody().get("/"),
    "not found": lambda k: k.browser().get("/nothing"),
    "not a number": lambda k: k.browser().get("/rebuilds/one/original"),
    "too large a number": lambda k: k.browser().get("/rebuilds/99999999999999999999/original"),
    "not this way": lambda k: k.browser().put("/"),
    "a wrong host": lambda k: k.nobody().get("/", headers={"host": "evil.example"}),
    "a missing rebuild": lambda k: k.browser().get("/rebuilds/999/original"),
    "static": lambda k: k.nobody().get("/static/book.css"),
    "static not found": lambda k: k.nobody().get("/static/none.css"),
    "the worker": lambda k: k.nobody().get("/away.js"),
    "too long": lambda k: k.browser().post("/rebuilds", content=b"x" * (LARGEST_TEXT + 1)),
    "JSON": lambda k: k.browser().get("/api/rebuilds"),
    "JSON fault": lambda k: k.browser().post("/api/read", json={"words": 1}),
    "the description": lambda k: k.browser().get("/api/openapi.json"),
}


@pytest.mark.parametrize("kind", EVERY_KIND)
def test_every_answer_says_what_a_browser_may_do_with_it(file_kitchen: Served, kind: str) -> None:
    answer = EVERY_KIND[kind](file_kitchen)
    for name, value in HEADERS.items():
        assert answer.headers[name] == value  # type: ignore[attr-defined]
    assert answer.headers["cache-control"] == ("max-age=3600" if kind.startswith("static") else "no-store")  # type: ignore[attr-defined]
    policy = answer.headers["content-security-policy"]  # type: ignore[attr-defined]
    assert "unsafe" not in policy
    assert "default-src 'none'" in policy
    assert "Traceback" not in answer.text  # type: ignore[attr-defined]
    assert answer.status_code < 500  # type: ignore[attr-defined]


def test_a_page_that_fails_is_a_page_too(file_kitchen: Served, caplog: pytest.LogCaptureFixture,
                                         monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    keeper = file_kitchen.browser()

    def fails(*_: object) -> None:
        raise RuntimeError("the oven is out")

    monkeypatch.setattr(file_kitchen.opened.book, "rebuilds", fails)
    for path in ("/", "/api/rebuilds"):
        answer = keeper.get(path)
        assert answer.status_code == 500
        assert answer.headers["content-security-policy"] == HEADERS["content-security-policy"]
        assert "the oven is out" not in answer.text
        assert "nothing was lost" in answer.text
    assert any(record.exc_info for record in caplog.records)


def test_a_book_that_cannot_be_read_now_is_503(file_kitchen: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    keeper = file_kitchen.browser()

    def busy(*_: object) -> None:
        raise InputError([Fault("book", "book.sqlite", "a book that is free", "Send it again.")])

    monkeypatch.setattr(file_kitchen.opened.book, "rebuilds", busy)
    assert keeper.get("/").status_code == 503
    assert keeper.get("/api/rebuilds").json()["error"][0]["hint"] == "Send it again."


def test_no_number_breaks_a_page(file_kitchen: Served) -> None:
    keeper, rebuild = file_kitchen.browser(), file_kitchen.rebuild()
    for number in ("0", "999999999", "2147483648", "9" * 30, "-1", "1.5", "²", "%00", "1e3"):
        for path in ("/rebuilds/{}/original", "/rebuilds/{}/formula", "/api/rebuilds/{}", "/pictures/{}",
                     f"/rebuilds/{rebuild}/formula/{{}}", f"/rebuilds/{rebuild}/history/{{}}"):
            assert keeper.get(path.format(number)).status_code in (404, 422), (path, number)
    formula = file_kitchen.opened.book.new_thing(rebuild, "formula", "Mine", pasted_document(RECIPE), "Ada")
    here, thing = f"/rebuilds/{rebuild}", formula.revision.thing_id
    for number in ("0", "999999999", "2147483648", "9" * 30, "-1", "1.5", "²", "１", "\x00", "1e3"):
        for path, field in ((f"{here}/original", "parent"), ("/book/invite", "rebuild"), (f"{here}/brief", "parent"),
                            (f"{here}/formula/{thing}", "parent"), (f"{here}/formula/{thing}", f"grams:{number}"),
                            (f"{here}/formula/{thing}", f"lock:{number}"), (f"{here}/history/{thing}/settle", "keep")):
            answer = sent(keeper, path, **{field: number, "label.text": LABEL})
            assert answer.status_code < 500, (path, field, number)


def chunks(size: int) -> Iterator[bytes]:
    """A body that does not say how long it is."""
    yield from (b"x" * 100_000 for _ in range(size // 100_000))


def test_a_body_is_limited_whether_or_not_it_says_how_long(file_kitchen: Served) -> None:
    keeper = file_kitchen.browser()
    form = {"content-type": "application/x-www-form-urlencoded"}
    parts = {"content-type": "multipart/form-data; boundary=x"}
    too_long = LARGEST_TEXT + 200_000
    for path, kind in (("/rebuilds", form), ("/api/read", {"content-type": "application/json"})):
        assert keeper.post(path, content=chunks(too_long), headers=kind).status_code == 413
        assert keeper.post(path, content=b"x" * too_long, headers=kind).status_code == 413
    assert keeper.post("/rebuilds", content=chunks(LARGEST_UPLOAD + 200_000), headers=parts).status_code == 413
    for length in ("-1", "²", "1e9", "", "99999999999999999999"):
        answer = keeper.post("/rebuilds", content=b"x", headers={**form, "content-length": length.encode("latin-1")})
        assert answer.status_code == 413, length


def test_how_many_fields_a_form_may_have(file_kitchen: Served) -> None:
    keeper = file_kitchen.browser()
    many = "&".join(f"f{number}=1" for number in range(2000))
    answer = keeper.post("/rebuilds", content=f"csrf={keeper.csrf}&{many}",  # type: ignore[attr-defined]
                         headers={"content-type": "application/x-www-form-urlencoded"})
    assert 400 <= answer.status_code < 500
    broken = keeper.post("/rebuilds", content=b"--x\r\nnot parts at all",
                         headers={"content-type": "multipart/form-data; boundary=x"})
    assert 400 <= broken.status_code < 500


class Clock:
    """Time that moves when told to [s]."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


def test_a_bucket_fills_again() -> None:
    clock = Clock()
    bucket = Bucket(3, 0.5, clock)
    assert [bucket.take("a") for _ in range(4)] == [True, True, True, False]
    assert bucket.take("b")
    clock.now = 1.9
    assert not bucket.take("a")
    clock.now = 2.1
    assert bucket.take("a")
    clock.now = 1000.0
    assert [bucket.take("a") for _ in range(4)] == [True, True, True, False]


def test_addresses_are_forgotten_before_they_fill_the_memory() -> None:
    bucket = Bucket(1, 0.0, Clock())
    for number in range(10_000):
        bucket.take(str(number))
    assert len(bucket.left) <= 4096


def test_requests_and_tries_are_limited(file_place: str) -> None:
    clock = Clock()
    kitchen = served(file_place, general=Bucket(20, 1, clock), entering=Bucket(3, 0.1, clock))
    nobody = kitchen.nobody()
    assert [nobody.get("/enter?token=x").status_code for _ in range(4)] == [403, 403, 403, 429]
    assert nobody.post(f"/join/{'x' * 43}").status_code == 429
    assert {nobody.get("/static/book.css").status_code for _ in range(15)} == {200}
    assert nobody.get("/static/book.css").status_code == 429
    clock.now = 60.0
    assert nobody.get("/static/book.css").status_code == 200
    assert nobody.get("/enter?token=x").status_code == 403
    kitchen.opened.close()


def test_a_cookie_of_each_port_its_own() -> None:
    assert cookie_name("127.0.0.1:8462", False) == "door-8462"
    assert cookie_name("[::1]:8463", True) == "__Host-door-8463"
    assert cookie_name("kitchen.local", False) == "door-0"
    assert token_of("door-1=a; door-2=b", "door-2") == "b"
    assert token_of("door-1=" + "a" * 200, "door-1") == ""
    assert token_of('a="\\', "door-1") == ""


def test_no_secret_in_the_log(file_kitchen: Served, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG)
    file_kitchen.app.state.entrance.offer("one-time-secret")
    keeper = file_kitchen.nobody()
    assert keeper.get("/enter?token=one-time-secret").status_code == 303
    rebuild = file_kitchen.rebuild()
    keeper.csrf = csrf_in(keeper.get("/").text)  # type: ignore[attr-defined]
    page = sent(keeper, "/book/invite", rebuild=str(rebuild)).text
    token = re.search(r"/join/([A-Za-z0-9_-]{43})", page)
    assert token
    guest = file_kitchen.nobody()
    assert guest.post(f"/join/{token[1]}", data={"name": "Bo"}).status_code == 303
    ours = [record for record in caplog.records if not record.name.startswith(("httpx", "httpcore"))]
    said = "\n".join(record.getMessage() + str(record.args) for record in ours)
    for secret in ("one-time-secret", token[1], *keeper.cookies.values(), *guest.cookies.values()):
        assert secret not in said
        assert secret not in keeper.get("/book").text


def test_a_browser_is_noted_once_a_minute(file_place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    noted: list[int] = []
    monkeypatch.setattr(Devices, "seen", lambda self, device_id: noted.append(device_id))
    kitchen = served(file_place)
    with kitchen.browser() as first, kitchen.browser() as second:
        for _ in range(5):
            assert first.get("/").status_code == second.get("/").status_code == 200
        end = time.monotonic() + 10
        while len(noted) < 2 and time.monotonic() < end:
            time.sleep(0.01)
    assert sorted(noted) == [1, 2]
    kitchen.opened.close()
