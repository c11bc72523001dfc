"""The pages without a browser: what is kept, what is refused, what is told apart."""

from __future__ import annotations

import html
import io
import re

import pytest
from PIL import Image

from batchwright.actions.fit import Asked, fit_text
from batchwright.actions.pasted import looks_like_recipe, packet_document
from batchwright.base.errors import Fault, InputError
from batchwright.web.pages import book as book_page
from tests.web.served import RECIPE, Served, csrf_in, sent

PACKET = """INGREDIENTS: Wheat flour, sugar, palm oil, salt.
Nutrition Facts
Serving size 30 g
Calories 150
Total Fat 7g
Saturated Fat 3g
Sodium 100mg
Total Carbohydrate 20g
Total Sugars 8g
Protein 2g"""
TABLE = """Ingredients: wheat flour, sugar.
Nutrition per 100 g
Energy 1573 kJ / 373 kcal
Fat 12 g
of which saturates 3,5 g
Carbohydrate 60 g
of which sugars 22 g
Protein 6 g
Salt 0,5 g"""


@pytest.mark.parametrize(
    ("text", "recipe"),
    [(RECIPE, True), ("2 cups flour\n1 egg\n\nMix and bake.", True), (PACKET, False), (TABLE, False),
     ("flour, sugar, butter", False), ("Ingredients: flour 50%, sugar 20 g", False), ("", False), ("???", False),
     ('<script type="application/ld+json">{"@context": "https://schema.org", "@type": "Recipe", "name": "Bun", '
      '"recipeIngredient": ["200 g flour", "100 g milk"]}</script>', True)],
)  # fmt: skip
def test_recipe_or_packet(text: str, recipe: bool) -> None:
    assert looks_like_recipe(text) == recipe


def test_a_packets_panel_goes_into_figures() -> None:
    document = packet_document(PACKET)
    assert document["label"] == {"text": "INGREDIENTS: Wheat flour, sugar, palm oil, salt.", "pasted": PACKET}
    assert document["panels"] == [{
        "basis": "per serving", "scheme": "US", "serving_g": "30", "energy_kcal": "150", "fat_g": "7",
        "saturated_fat_g": "3", "carbohydrate_g": "20", "sugars_g": "8", "protein_g": "2", "sodium_mg": "100",
    }]  # fmt: skip
    assert packet_document(TABLE)["panels"][0]["energy_kcal"] == "1573 kJ / 373 kcal"
    assert packet_document("flour, sugar") == {"label": {"text": "flour, sugar"}}
    assert packet_document("  ") == {}


def test_first_screen_tells_recipe_from_packet(kitchen: Served) -> None:
    keeper = kitchen.browser()
    to_formula = sent(keeper, "/rebuilds", pasted=RECIPE)
    assert to_formula.status_code == 303
    assert re.fullmatch(r"/rebuilds/1/formula/\d+", to_formula.headers["location"])
    assert sent(keeper, "/rebuilds", pasted=PACKET).headers["location"] == "/rebuilds/2/original"
    empty = sent(keeper, "/rebuilds", pasted="   ")
    assert empty.status_code == 422
    assert 'id="fault-pasted"' in empty.text


def test_the_same_form_begins_once(kitchen: Served) -> None:
    keeper = kitchen.browser()
    first = sent(keeper, "/rebuilds", pasted=PACKET, key="k1").headers["location"]
    assert sent(keeper, "/rebuilds", pasted=PACKET, key="k1").headers["location"] == first
    assert sent(keeper, "/rebuilds", pasted=PACKET, key="k2").headers["location"] != first
    assert len(kitchen.opened.book.rebuilds()) == 2
    one = sent(keeper, "/rebuilds/1/formula", pasted=RECIPE, key="k3").headers["location"]
    assert sent(keeper, "/rebuilds/1/formula", pasted=RECIPE, key="k3").headers["location"] == one


def test_faults_come_back_with_all_that_was_typed_and_kept(kitchen: Served) -> None:
    keeper, rebuild = kitchen.browser(), kitchen.rebuild()
    page = keeper.get(f"/rebuilds/{rebuild}/original")
    assert page.status_code == 200
    parent = re.search(r'name="parent" value="(\d+)"', page.text)
    assert parent
    typed = {"label.text": "Ingredients: flour, sugar.", "panel0.fat_g": "7", "panel1.fat_g": "banana",
             "teardown.pieces_g": "18,2 x", "part0.g": "12,5", "food.name": "<b>"}  # fmt: skip
    back = sent(keeper, f"/rebuilds/{rebuild}/original", parent=parent[1], **typed)
    assert back.status_code == 422
    assert 'id="fault-panel1-fat-g"' in back.text
    assert 'id="fault-panel0-fat-g"' not in back.text
    assert all(f'value="{value}"' in back.text for value in ("7", "banana", "&lt;b&gt;"))
    assert "18,2 x" in back.text
    thing = kitchen.opened.book.things(rebuild, "original")[0].id
    assert kitchen.opened.book.heads(thing)[0].document["panels"][1] == {"fat_g": "banana"}


def test_an_amount_that_cannot_be_stands_beside_its_line(kitchen: Served) -> None:
    keeper, rebuild = kitchen.browser(), kitchen.rebuild(label="")
    here = sent(keeper, f"/rebuilds/{rebuild}/formula", pasted=RECIPE).headers["location"]
    back = sent(keeper, here, **{"grams:0": "much", "grams:1": "90", "in": "g", "lock:2": "1"})
    assert back.status_code == 422
    assert 'id="fault-grams-0"' in back.text
    assert 'value="much"' in back.text
    assert 'value="90"' in back.text
    assert re.search(r'name="lock:2"[^>]* checked', back.text)
    kept = sent(keeper, here, **{"grams:0": "7,5", "in": "oz", "lock:2": "1"})
    assert kept.status_code == 303
    lines = kitchen.opened.book.heads(int(here.rsplit("/", 1)[1]))[0].document["parts"][0]["lines"]
    assert lines[0]["grams"]["likely"] == pytest.approx(7.5 * 28.3495, abs=0.01)
    assert lines[1]["grams"]["likely"] == 100  # what was not changed stays to the last digit


def test_set_aside(kitchen: Served) -> None:
    keeper, rebuild = kitchen.browser(), kitchen.rebuild("Old Loaf")
    assert sent(keeper, f"/rebuilds/{rebuild}", name="Old Loaf", set_aside="yes").headers["location"] == "/"
    assert "Old Loaf" not in keeper.get("/").text
    assert "Set aside: 1" in keeper.get("/").text
    assert "Old Loaf" in keeper.get("/?show=aside").text
    sent(keeper, f"/rebuilds/{rebuild}", set_aside="no")
    assert "Old Loaf" in keeper.get("/").text


def test_a_long_list_is_shown_in_parts(kitchen: Served) -> None:
    for place in range(105):
        kitchen.opened.book.new_rebuild(f"Food {place:03}", [], "Ada")
    page = kitchen.browser().get("/").text
    assert page.count('class="line"') == 100
    assert 'href="/?from=100"' in page
    assert kitchen.browser().get("/?from=100").text.count('class="line"') == 5
    assert kitchen.browser().get("/?from=x²").status_code == 200


def test_units_are_of_this_screen_alone(kitchen: Served) -> None:
    keeper = kitchen.browser()
    back = sent(keeper, "/units", weight="oz", heat="F", cup="nobody's", back="//elsewhere")
    assert back.headers["location"] == "/"
    assert "oz|F|" in back.headers["set-cookie"]
    assert "nobody" not in back.headers["set-cookie"]
    cup = kitchen.opened.cups[0]
    chosen = sent(keeper, "/units", weight="oz", heat="F", cup=cup).headers["set-cookie"]
    assert f"oz|F|{cup.replace(' ', '_')}" in chosen


def test_two_people_keep_both_and_settle(kitchen: Served) -> None:
    ada, ben, rebuild = kitchen.browser(), kitchen.browser(name="Ben"), kitchen.rebuild()
    at = f"/rebuilds/{rebuild}/original"
    parent = re.search(r'name="parent" value="(\d+)"', ada.get(at).text)
    assert parent
    sent(ada, at, parent=parent[1], **{"label.text": "flour, sugar", "panel0.fat_g": "7"})
    sent(ben, at, parent=parent[1], **{"label.text": "flour, salt"})
    page = ada.get(at).text
    assert "Two people saved this" in page
    thing = kitchen.opened.book.things(rebuild, "original")[0].id
    heads = kitchen.opened.book.heads(thing)
    assert {head.who for head in heads} == {"Ada", "Ben"}
    history = ada.get(f"/rebuilds/{rebuild}/history/{thing}").text
    assert history.count("Go on from this one") == 2
    assert csrf_in(history)
    sent(ada, f"/rebuilds/{rebuild}/history/{thing}/settle", keep=str(heads[1].id))
    assert len(kitchen.opened.book.heads(thing)) == 1


def test_pages_are_light(kitchen: Served) -> None:
    """At most 150 kB a page without pictures, the names of the whole shelf among it."""
    keeper = kitchen.browser()
    at = sent(keeper, "/rebuilds", pasted=PACKET).headers["location"]
    formula = sent(keeper, "/rebuilds/1/formula", pasted=RECIPE).headers["location"]
    own = [formula + end for end in ("", "/card", "/measures", "/versions")]
    for path in ("/", at, *own, "/rebuilds/1/formula"):
        page = keeper.get(path)
        assert page.status_code == 200, path
        assert len(page.content) <= 150_000, (path, len(page.content))


def test_a_guest_sees_its_rebuild_and_no_way_to_others(kitchen: Served) -> None:
    rebuild = kitchen.rebuild()
    guest = kitchen.browser("guest", rebuild, "Ben")
    for room in ("original", "formula", "photo"):
        page = guest.get(f"/rebuilds/{rebuild}/{room}")
        assert page.status_code == 200, room
        assert 'href="/book"' not in page.text
        assert '<a href="/"' not in page.text


def test_one_of_many_rebuilds_is_found_by_its_name(kitchen: Served) -> None:
    keeper = kitchen.browser()
    for number in range(12):
        kitchen.rebuild(f"Rye thins {number}")
    assert "Find a rebuild" not in keeper.get("/").text, "a short list is read faster than a field is filled"
    kitchen.rebuild("Crème wafers, small")
    page = keeper.get("/?find=SMALL+crème").text
    assert "Crème wafers, small" in page
    assert "Rye thins" not in page
    assert "None is called that" in keeper.get("/?find=%3Cb%3E").text
    kitchen.opened.book.set_rebuild_aside(13, True)
    assert "Crème wafers" not in keeper.get("/?find=small").text
    assert "Crème wafers" in keeper.get("/?show=aside&find=small").text
    answer = keeper.get("/api/rebuilds?find=thins+1&most=2&skip=1").json()["rebuilds"]
    assert [each["name"] for each in answer] == ["Rye thins 10", "Rye thins 1"]


def test_a_long_list_goes_on_page_by_page(kitchen: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("batchwright.web.pages.rebuilds.MOST_LISTED", 2)
    keeper = kitchen.browser()
    for number in range(5):
        kitchen.rebuild(f"Rye thins {number}")
    path, seen = "/?find=rye", []
    for _ in range(3):
        text = keeper.get(path).text
        seen += re.findall(r"Rye thins \d", text)
        older = re.search(r'href="(/\?[^"]*from=[^"]*)"', text)
        path = html.unescape(older[1]) if older else ""
    assert [each[-1] for each in dict.fromkeys(seen)] == ["4", "3", "2", "1", "0"]
    assert path == ""


def test_of_many_rebuilds_the_one_to_invite_to_is_found(file_kitchen: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(book_page, "MOST_LISTED", 2)
    monkeypatch.setattr(book_page, "MANY", 2)
    file_kitchen.app.state.fingerprint, file_kitchen.app.state.shared_at = "AB:CD", "https://192.0.2.2:8462"
    keeper = file_kitchen.browser()
    numbers = {name: file_kitchen.rebuild(name) for name in ("Rye <b>thins", "Oat slab", "Malt bar")}
    offered = re.compile(r'<option value="(\d+)">')
    assert offered.findall(keeper.get("/book").text) == [str(numbers["Malt bar"]), str(numbers["Oat slab"])]
    assert "older one is found by its name" in keeper.get("/book").text
    assert offered.findall(keeper.get("/book?find=RYE").text) == [str(numbers["Rye <b>thins"])]
    assert "None is called that" in keeper.get("/book?find=%3Cb%3Ezz").text
    invited = sent(keeper, "/book/invite", rebuild=str(numbers["Rye <b>thins"])).text
    assert "For <b>Rye &lt;b&gt;thins</b>" in invited
    code = invited[invited.index('class="code"') : invited.index("<h2>Who is in")]
    assert "AB:CD" in code  # beside the code that is photographed, not a screen away
    assert invited.count("AB:CD") == 1


def full(*_given: object, **_named: object) -> None:
    hint = "The disk is full; nothing was changed. Make room and send it again."
    raise InputError([Fault("book", "book.sqlite", "a disk with room on it", hint)])


def test_what_the_book_cannot_take_now_comes_back_to_be_sent_again(
    file_kitchen: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, rebuild = file_kitchen.browser(), file_kitchen.rebuild()
    book, words = file_kitchen.opened.book, {"pasted": "200 g rye & <b>salt", "key": "a1"}
    for method, path, typed in (("new_rebuild", "/rebuilds", words),
                                ("new_thing", f"/rebuilds/{rebuild}/formula", words),
                                ("save", f"/rebuilds/{rebuild}/original", {"panel0.fat_g": "7 < 8", "key": "b2"}),
                                ("rename_rebuild", f"/rebuilds/{rebuild}", {"name": "Rye & “co”"})):  # fmt: skip
        with monkeypatch.context() as patch:
            patch.setattr(book, method, full)
            answer = sent(keeper, path, **typed)
        assert answer.status_code == 503
        assert "Make room" in answer.text
        assert "cannot stand here" not in answer.text  # nothing that was typed is wrong
        form = answer.text[answer.text.index(f'action="{path}"') :]
        areas = dict(re.findall(r'<textarea[^>]* name="([^"]+)"[^>]*>\n(.*?)</textarea>', form, re.DOTALL))
        hidden = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', form))
        back = {name: html.unescape(value) for name, value in {**areas, **hidden}.items() if name != "csrf"}
        assert back == typed
        assert "key" not in areas
        assert sent(keeper, path, **back).status_code == 303


def test_a_picture_the_book_cannot_take_now_is_asked_for_once_more(
    file_kitchen: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(file_kitchen.opened.book, "new_rebuild", full)
    keeper = file_kitchen.browser()
    fields = {"csrf": keeper.csrf, "pasted": ""}  # type: ignore[attr-defined]
    drawn = io.BytesIO()
    Image.new("RGB", (64, 64), "white").save(drawn, "PNG")
    answer = keeper.post("/rebuilds", data=fields, files={"picture": ("a.png", drawn.getvalue(), "image/png")})
    assert answer.status_code == 503
    assert 'enctype="multipart/form-data"' in answer.text
    assert 'type="file" id="f-picture" name="picture"' in answer.text


def test_what_a_fit_leaves_off_and_what_a_card_still_wants_is_said(
    file_kitchen: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper, rebuild = file_kitchen.browser(), file_kitchen.rebuild()
    here = sent(keeper, f"/rebuilds/{rebuild}/formula", pasted=RECIPE).headers["location"]
    card = keeper.get(f"{here}/card").text
    for hint in ("No method was given.", "The base recipe is not named."):
        assert hint in card
    assert "not named" not in keeper.get(f"{here}/card/text").text
    assert "--" not in re.sub(r"<!--.*?-->|var\(--", "", card)  # nothing of the terminal's
    found = fit_text(RECIPE, Asked(targets=("salt <= 0.1",), locks=("salt", "flour", "sugar", "butter")))
    assert any(each.missed for each in found.outcomes)
    monkeypatch.setattr(file_kitchen.opened.answers, "fitted", lambda *_given, **_named: found)
    page = keeper.post(f"{here}/fit", data={"csrf": keeper.csrf}).text  # type: ignore[attr-defined]
    assert "What stays off" in page
    assert "Salt stays over 0.1" in html.unescape(page).replace("\xa0", " ")
