"""Pictures of the packet on their page: kept, shown to those who may, checked, taken over."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from batchwright.actions import photo_reading
from batchwright.actions.photo import MOST_PICTURES
from batchwright.actions.photo_reading import PhotoReading
from tests.web.served import Served, sent

READ = PhotoReading(
    "Ingredients: oat flakes, cane suqar, butter.", "Fat 20.5 g",
    ({"basis": "per 100 g", "scheme": "EU", "fat_g": "20.5"}, {"basis": "per serving", "fat_g": "5.1"}),
    ("suqar,",), ((100, 200, 50, 20),),
)  # fmt: skip


def jpeg(width: int = 90, height: int = 60) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (width, height), "white").save(out, "JPEG", comment=b"somewhere in a kitchen")
    return out.getvalue()


@pytest.fixture
def read(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let every picture say the same, without the engine."""
    monkeypatch.setattr("batchwright.actions.answer_work.reading_of", lambda data: READ)


def take(client, rebuild_id: int, data: bytes, name: str = "packet.jpg"):  # type: ignore[no-untyped-def]
    files = {"picture": (name, data, "image/jpeg")}
    return client.post(f"/rebuilds/{rebuild_id}/photo", data={"csrf": client.csrf}, files=files)


def picture_id(kitchen: Served, rebuild_id: int) -> int:
    return kitchen.opened.photos.of(rebuild_id)[-1].id


def document(kitchen: Served, rebuild_id: int) -> dict:  # type: ignore[type-arg]
    return dict(kitchen.opened.book.things_with_heads(rebuild_id, "original")[0][1][0].document)


def test_empty_page_has_a_camera(kitchen: Served) -> None:
    page = kitchen.browser().get(f"/rebuilds/{kitchen.rebuild()}/photo")
    assert page.status_code == 200
    assert 'capture="environment"' in page.text
    assert "<noscript>" in page.text


@pytest.mark.usefixtures("read")
def test_from_picture_to_original(kitchen: Served) -> None:
    client, rebuild_id = kitchen.browser(), kitchen.rebuild(label="")
    answer = take(client, rebuild_id, jpeg(), "C:\\Users\\Imogen\\packet.jpg")
    number = picture_id(kitchen, rebuild_id)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/rebuilds/{rebuild_id}/photo?picture={number}")
    assert kitchen.opened.photos.of(rebuild_id)[0].name == "packet.jpg"
    page = client.get(answer.headers["location"])
    assert "refresh" not in page.headers
    assert "<span>suqar,</span>" in page.text
    assert 'viewBox="9.0 12.0 4.5 1.2"' in page.text  # the word as it stands in the picture, 90 x 60 px
    assert 'name="panel1.fat_g" value="5.1"' in page.text
    fields = {"picture": str(number), "label.text": "Ingredients: oat flakes, cane sugar, butter.",
              "panel0.basis": "per 100 g", "panel0.fat_g": "20,5"}  # fmt: skip
    answer = sent(client, f"/rebuilds/{rebuild_id}/photo/take-over", **fields)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/rebuilds/{rebuild_id}/original")
    assert document(kitchen, rebuild_id) == {
        "label": {"text": "Ingredients: oat flakes, cane sugar, butter."},
        "panels": [{"basis": "per 100 g", "fat_g": "20,5"}], "pictures": [number],
    }  # fmt: skip


@pytest.mark.usefixtures("read")
def test_nothing_to_take_over_keeps_the_page(kitchen: Served) -> None:
    client, rebuild_id = kitchen.browser(), kitchen.rebuild()
    take(client, rebuild_id, jpeg())
    before = document(kitchen, rebuild_id)
    fields = {"picture": str(picture_id(kitchen, rebuild_id)), "panel0.serving_g": "25"}
    answer = sent(client, f"/rebuilds/{rebuild_id}/photo/take-over", **fields)
    assert answer.status_code == 422
    assert 'name="panel0.serving_g" value="25"' in answer.text
    assert "an ingredient list, or a figure of the panel" in answer.text
    assert document(kitchen, rebuild_id) == before


def test_while_it_is_read_the_page_asks_again_by_itself(kitchen: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(kitchen.opened.photos, "reading", lambda picture: None)
    client, rebuild_id = kitchen.browser(), kitchen.rebuild()
    take(client, rebuild_id, jpeg())
    page = client.get(f"/rebuilds/{rebuild_id}/photo")
    assert page.headers["refresh"] == "2"
    assert "Reading the picture" in page.text
    typed = client.get(f"/rebuilds/{rebuild_id}/photo?type=1")
    assert "refresh" not in typed.headers
    assert 'name="label.text"' in typed.text


def test_without_the_package_it_is_typed_beside_the_picture(kitchen: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photo_reading, "can_read", lambda: False)
    client, rebuild_id = kitchen.browser(), kitchen.rebuild()
    take(client, rebuild_id, jpeg())
    page = client.get(f"/rebuilds/{rebuild_id}/photo")
    assert page.status_code == 200
    assert "Reading pictures needs one more package: pip install &#39;batchwright[photo]&#39;" in page.text
    assert 'name="label.text"' in page.text
    assert f"/pictures/{picture_id(kitchen, rebuild_id)}" in page.text


@pytest.mark.parametrize("data", [b"<svg onload='alert(1)'/>", b"", jpeg()[:300], jpeg(20, 20)])
def test_what_is_no_picture_is_refused_on_the_page(kitchen: Served, data: bytes) -> None:
    client, rebuild_id = kitchen.browser(), kitchen.rebuild()
    answer = take(client, rebuild_id, data)
    assert answer.status_code == 422
    assert 'class="fault" id="fault-picture"' in answer.text
    assert kitchen.opened.photos.of(rebuild_id) == ()


def test_no_file_at_all(kitchen: Served) -> None:
    assert sent(kitchen.browser(), f"/rebuilds/{kitchen.rebuild()}/photo").status_code == 422


def test_a_rebuild_takes_so_many(kitchen: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("batchwright.actions.photo.MOST_PICTURES", 1)
    client, rebuild_id = kitchen.browser(), kitchen.rebuild()
    assert take(client, rebuild_id, jpeg()).status_code == 303
    assert take(client, rebuild_id, jpeg()).status_code == 422
    assert MOST_PICTURES > 10


def test_a_picture_is_sent_as_what_it_is(kitchen: Served) -> None:
    client, rebuild_id = kitchen.browser(), kitchen.rebuild()
    take(client, rebuild_id, jpeg())
    answer = client.get(f"/pictures/{picture_id(kitchen, rebuild_id)}")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "image/jpeg"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["content-security-policy"].startswith("default-src 'none'")
    assert answer.headers["cache-control"].startswith("private")
    assert b"kitchen" not in answer.content
    tag = {"if-none-match": answer.headers["etag"]}
    again = client.get(f"/pictures/{picture_id(kitchen, rebuild_id)}", headers=tag)
    assert (again.status_code, again.content) == (304, b"")


def test_who_may_see_a_picture(kitchen: Served) -> None:
    mine, other = kitchen.rebuild(), kitchen.rebuild("Wafer")
    client = kitchen.browser()
    take(client, mine, jpeg())
    number = picture_id(kitchen, mine)
    assert kitchen.browser("guest", mine).get(f"/pictures/{number}").status_code == 200
    for door in (kitchen.browser("guest", other), client):
        missing = number if door is not client else number + 1
        assert door.get(f"/pictures/{missing}").status_code == 404
    assert kitchen.nobody().get(f"/pictures/{number}").status_code == 401
    assert client.get(f"/rebuilds/{other}/photo?picture={number}").status_code == 404
    fields = {"picture": str(number), "label.text": "Ingredients: salt."}
    assert sent(client, f"/rebuilds/{other}/photo/take-over", **fields).status_code == 404


@pytest.mark.usefixtures("read")
def test_the_first_screens_camera_ends_beside_the_picture(kitchen: Served) -> None:
    client = kitchen.browser()
    files = {"picture": ("packet.jpg", jpeg(), "image/jpeg")}
    answer = client.post("/rebuilds", data={"csrf": client.csrf, "pasted": ""}, files=files)
    assert answer.status_code == 303
    assert answer.headers["location"].endswith("/photo")
    assert "suqar" in client.get(answer.headers["location"]).text


def test_the_first_screen_refuses_what_is_no_picture_and_keeps_the_words(kitchen: Served) -> None:
    client = kitchen.browser()
    files = {"picture": ("packet.jpg", b"%PDF", "image/jpeg")}
    answer = client.post("/rebuilds", data={"csrf": client.csrf, "pasted": "rye flour, salt"}, files=files)
    assert answer.status_code == 422
    assert "rye flour, salt" in answer.text
    assert "JPEG, PNG or WebP" in answer.text
    assert kitchen.opened.book.rebuilds() == ()


@pytest.mark.usefixtures("read")
def test_a_picture_is_removed_after_asking_once_more(kitchen: Served) -> None:
    client, rebuild_id = kitchen.browser(), kitchen.rebuild()
    take(client, rebuild_id, jpeg())
    number, here = picture_id(kitchen, rebuild_id), f"/rebuilds/{rebuild_id}"
    sent(client, f"{here}/photo/take-over", picture=str(number), **{"label.text": "oats"})
    assert "Remove this picture" in client.get(f"{here}/photo").text
    asked = sent(client, f"{here}/photo/remove", picture=str(number))
    assert "for good?" in asked.text
    assert client.get(f"/pictures/{number}").status_code == 200
    assert sent(client, f"{here}/photo/remove", picture=str(number), for_good="yes").status_code == 303
    assert client.get(f"/pictures/{number}").status_code == 404
    thing = kitchen.opened.book.things(rebuild_id, "original")[0].id
    assert "packet.jpg, 20" in client.get(f"{here}/history/{thing}").text
    assert "removed for good" not in client.get(f"{here}/original").text
    sent(client, f"{here}/history/{thing}/undo")
    assert "A picture of this version was removed for good" in client.get(f"{here}/original").text
    assert sent(client, f"{here}/photo/remove", picture=str(number), for_good="yes").status_code == 404


def test_a_program_removes_a_picture_only_for_good_and_never_as_a_guest(kitchen: Served) -> None:
    client, rebuild_id = kitchen.browser(), kitchen.rebuild()
    take(client, rebuild_id, jpeg())
    number = picture_id(kitchen, rebuild_id)
    path = f"/api/rebuilds/{rebuild_id}/pictures/{number}"
    assert client.delete(path).json()["error"][0]["field"] == "for_good"
    guest = kitchen.browser("guest", rebuild_id)
    assert guest.delete(f"{path}?for_good=true").status_code == 404
    assert "Remove this picture" not in guest.get(f"/rebuilds/{rebuild_id}/photo").text
    assert client.delete(f"{path}?for_good=true").status_code == 204
    assert client.delete(f"{path}?for_good=true").status_code == 404
    thing = kitchen.opened.book.things(rebuild_id, "original")[0].id
    assert client.post(f"/api/rebuilds/{rebuild_id}/things/{thing}/undo", json={}).json()["pictures_gone"] == 0


def test_a_figure_that_goes_with_no_other_is_to_be_looked_at(kitchen: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    lost = PhotoReading("", "Fat 205 g", ({"basis": "per 100 g", "fat_g": "205"},),
                        contradicted=((0, "fat_g", "is more than there is of the food"),))  # fmt: skip
    monkeypatch.setattr("batchwright.actions.answer_work.reading_of", lambda data: lost)
    client, rebuild_id = kitchen.browser(), kitchen.rebuild()
    take(client, rebuild_id, jpeg())
    page = client.get(f"/rebuilds/{rebuild_id}/photo").text
    assert "Look again at this figure" in page
    assert 'href="#f-panel0-fat-g"' in page
    assert 'id="f-panel0-fat-g"' in page
    assert "Nothing looked doubtful" not in page
