"""What is typed stays text: in every page, in the card's forms, and in what is sent back beside a fault."""

from __future__ import annotations

import json
import re
import socket
from html.parser import HTMLParser

import pytest

from batchwright.actions.bench import pasted_document
from tests.web.served import Served, sent

NASTY = ("<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "'-alert(1)-'", "]]><!--", "</title></style>",
         "{{ 7*7 }}", "javascript:alert(1)", "&lt;script&gt;", "\u2028</script>",
         "**[x](javascript:alert(1))**")  # fmt: skip


class Seen(HTMLParser):
    """The elements and attributes a browser would make of a page, and its text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.text += data


def only_ours(page: str) -> Seen:
    """See that a page holds no script but our file, no handler, no style, no address that runs."""
    seen = Seen(page)
    for tag, attributes in seen.elements:
        assert tag != "script" or str(attributes.get("src", "")).startswith("/static/book.js"), attributes
        assert tag not in ("style", "iframe", "object", "base"), (tag, attributes)
        assert not any(name.startswith("on") or name == "style" for name in attributes), (tag, attributes)
        for name in ("href", "src", "action", "formaction"):
            value = attributes.get(name)
            assert value is None or not value.strip().lower().startswith(("javascript:", "data:text")), (tag, value)
        assert tag != "img" or attributes.get("src") != "x"
    return seen


@pytest.mark.parametrize("nasty", NASTY)
def test_what_is_typed_stays_text(file_kitchen: Served, nasty: str) -> None:
    rebuild = file_kitchen.rebuild(nasty)
    here = f"/rebuilds/{rebuild}"
    keeper = file_kitchen.browser(name=nasty)
    file_kitchen.browser("guest", rebuild, nasty)
    recipe = f"Tart\n\n{nasty}\n\n200 g flour\n100 g {nasty}\n50 g sugar\n\n1. Mix {nasty} well."
    document = pasted_document(recipe) | {"name": f"Tart {nasty}"}
    formula = file_kitchen.opened.book.new_thing(rebuild, "formula", f"Tart {nasty}", document, nasty).revision.thing_id
    label = f"Ingredients: wheat flour, sugar, {nasty}, salt."
    assert sent(keeper, f"{here}/original", **{"label.text": label, "food.name": nasty, "food.sort": nasty,
                                               "part0.name": nasty, "part0.g": "12"}).status_code in (303, 422)
    assert sent(keeper, f"{here}/original/brief", must=nasty, drop=nasty, deadline=nasty).status_code == 303
    original = file_kitchen.opened.book.things(rebuild, "original")[0].id
    pages = ["/", "/book", f"{here}/original", f"{here}/formula", f"{here}/formula/{formula}",
             f"{here}/formula/{formula}/card", f"{here}/formula/{formula}/measures",
             f"{here}/formula/{formula}/versions", f"{here}/history/{original}"]  # fmt: skip
    seen = ""
    for path in pages:
        answer = keeper.get(path)
        assert answer.status_code == 200, path
        seen += only_ours(answer.text).text
    assert nasty.split("\u2028")[-1].strip() in " ".join(seen.split())
    faulty = [sent(keeper, f"{here}/original", **{"label.text": label, "panel0.fat_g": nasty}),
              sent(keeper, f"{here}/formula", pasted=nasty), sent(keeper, "/rebuilds", pasted=""),
              sent(keeper, f"{here}/formula/{formula}", **{"grams:0": nasty}),
              sent(keeper, f"{here}/formula/{formula}/fit", less_sweet=nasty)]  # fmt: skip
    for answer in faulty:
        assert answer.status_code in (303, 422)
        only_ours(answer.text)


@pytest.mark.parametrize("nasty", NASTY)
def test_what_is_typed_stays_text_in_every_form_of_the_card(file_kitchen: Served, nasty: str) -> None:
    rebuild, keeper = file_kitchen.rebuild(), file_kitchen.browser()
    document = pasted_document(f"200 g flour\n100 g {nasty}\n50 g sugar\n\n1. Mix {nasty} well.") | {"name": nasty}
    formula = file_kitchen.opened.book.new_thing(rebuild, "formula", "Tart", document, "Ada").revision.thing_id
    card = f"/rebuilds/{rebuild}/formula/{formula}/card"
    page = keeper.get(f"{card}/html")
    assert page.headers["content-disposition"].startswith("attachment")
    for tag, attributes in Seen(page.text).elements:
        assert tag not in ("img", "iframe", "object", "base")
        assert tag != "script" or attributes == {"type": "application/ld+json"}
        assert not any(name.startswith("on") for name in attributes)
    data = keeper.get(f"{card}/jsonld").text
    inner = re.sub(r"</?script[^>]*>", "", data) if data.lstrip().startswith("<script") else data
    assert "<" not in inner
    assert json.loads(inner)["name"]
    if "<" in nasty:
        assert "\\u003c" in inner
    markdown = keeper.get(f"{card}/markdown").text
    assert not re.search(r"(?<!\\)<", markdown)
    assert not re.search(r"(?<!\\)\]\(javascript:", markdown)
    assert keeper.get(f"{card}/text").headers["content-type"].startswith("text/plain")
    assert keeper.get(f"{card}/exe").status_code == 422


def test_a_page_is_never_fetched_from_what_is_pasted(file_kitchen: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """A pasted page with pictures, links and scripts is read as text; nothing of it is asked for or run."""
    def refused(*_: object, **__: object) -> None:
        raise AssertionError("something was fetched")

    rebuild, keeper = file_kitchen.rebuild(), file_kitchen.browser()
    saved = ('<html><head><script src="http://evil.example/x.js"></script><script type="application/ld+json">'
             '{"@type": "Recipe", "name": "Tart", "image": "http://evil.example/t.png", "recipeIngredient": '
             '["200 g flour", "100 g sugar"]}</script></head><body><img src="http://evil.example/p.gif"></body></html>')
    with monkeypatch.context() as patched:
        patched.setattr(socket, "getaddrinfo", refused)
        patched.setattr(socket, "create_connection", refused)
        answer = sent(keeper, f"/rebuilds/{rebuild}/formula", pasted=saved)
    assert answer.status_code == 303
    page = keeper.get(answer.headers["location"])
    assert "flour" in page.text
    only_ours(page.text)
    assert "evil.example" not in "".join(str(value) for _, attributes in Seen(page.text).elements
                                         for name, value in attributes.items() if name in ("src", "href"))
