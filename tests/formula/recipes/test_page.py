"""Saved pages and JSON with schema.org Recipe data."""

from __future__ import annotations

import json
from typing import Any

import pytest

from batchwright.base.errors import InputError
from batchwright.formula.recipes.page import page_of
from batchwright.formula.recipes.text import read_recipe

RECIPE: dict[str, Any] = {
    "@type": "Recipe",
    "name": "Ginger &amp; Oat Slabs",
    "author": {"@type": "Person", "name": "A. Cook"},
    "recipeYield": ["16", "16 squares"],
    "recipeIngredient": ["For the base:", "1½ cups rolled oats", "½ cup butter", "For the top:", "1 cup sugar"],
    "recipeInstructions": [
        {"@type": "HowToSection", "name": "Base",
         "itemListElement": [{"@type": "HowToStep", "text": "Mix oats &amp; butter."},
                             {"@type": "HowToStep", "text": "Bake at 350°F for 20 minutes."}]},
        {"@type": "HowToStep", "text": "<p>Cool.</p>"},
    ],
    "totalTime": "PT1H20M",
}  # fmt: skip


def page(data: str) -> str:
    head = f'<head><script type="application/ld+json">{data}</script></head>'
    return f"<!DOCTYPE html><html>{head}<body><p>Hello</p></body></html>"


@pytest.mark.parametrize(
    "document",
    [RECIPE, [RECIPE], {"@graph": [{"@type": "WebPage"}, RECIPE]}, {**RECIPE, "@type": ["Thing", "Recipe"]},
     {"@type": "WebPage", "mainEntity": RECIPE}, {**RECIPE, "@type": "https://schema.org/Recipe"}],
)  # fmt: skip
@pytest.mark.parametrize("form", ["page", "json"])
def test_recipe_is_found_wherever_it_stands(document: Any, form: str) -> None:
    text = json.dumps(document)
    read = read_recipe(page(text) if form == "page" else text)
    assert (read.name, read.credit) == ("Ginger & Oat Slabs", "A. Cook")
    assert [(part.name, [line.item for line in part.lines]) for part in read.parts] == [
        ("For the base", ["rolled oats", "butter"]), ("For the top", ["sugar"])]  # fmt: skip
    assert [(step.part, step.text, step.temperature_c) for step in read.method] == [
        ("Base", "Mix oats & butter.", None), ("Base", "Bake at 350°F for 20 minutes.", 176.7),
        ("", "Cool.", None)]  # fmt: skip
    assert read.makes is not None
    assert (read.makes.text, read.makes.low, read.makes.what) == ("16 squares", 16, "squares")
    assert read.notes == ("Total time: 1 hours 20 minutes",)


@pytest.mark.parametrize(
    "method",
    ["Mix.\nBake.", ["Mix.", "Bake."], [{"text": "Mix."}, {"name": "Bake."}], "<ol><li>Mix.</li><li>Bake.</li></ol>"],
)
def test_method_in_every_form(method: Any) -> None:
    read = read_recipe(json.dumps({**RECIPE, "recipeInstructions": method}))
    assert [step.text for step in read.method] == ["Mix.", "Bake."]


def test_microdata() -> None:
    read = read_recipe(
        """<html><body><div itemscope itemtype="http://schema.org/Recipe"><h1 itemprop="name">Plain Rusks</h1>
        <span itemprop="author">A. Cook</span><ul><li itemprop="recipeIngredient">2 cups <b>flour</b></li>
        <li itemprop="recipeIngredient">1 egg<br></li></ul>
        <div itemprop="recipeInstructions"><p>Mix.</p><p>Bake 20 min.</p></div>
        <meta itemprop="recipeYield" content="12 rusks"></div></body></html>"""
    )
    assert (read.name, read.credit) == ("Plain Rusks", "A. Cook")
    assert [line.text for line in read.parts[0].lines] == ["2 cups flour", "1 egg"]
    assert [step.text for step in read.method] == ["Mix.", "Bake 20 min."]
    assert read.makes is not None
    assert read.makes.low == 12


def test_page_without_recipe_data_is_read_as_text() -> None:
    read = read_recipe(
        "<html><body><script>var x = 1;</script>"
        "<h1>Rusks</h1><ul><li>2 cups <b>flour</b></li><li>1 egg</li></ul></body></html>"
    )
    assert [line.text for line in read.parts[0].lines] == ["2 cups flour", "1 egg"]
    assert "no recipe data" in read.notes[0]


@pytest.mark.parametrize("wrapped", ["<!--{}-->", "//<![CDATA[\n{}\n//]]>", "<![CDATA[{}]]>"])
def test_block_wrapped_as_old_pages_do(wrapped: str) -> None:
    assert read_recipe(page(wrapped.replace("{}", json.dumps(RECIPE)))).name == "Ginger & Oat Slabs"


@pytest.mark.parametrize(
    "markup", ["<![odd[x]]> ", "<!DOCTYPE [ <!ENTITY x 'y'> ]>", "<!--[if ie]>x<![endif]-->", "<p", "<"]
)
def test_odd_markup_does_no_harm(markup: str) -> None:
    read = read_recipe(f"<html>{markup}<p>2 cups flour</p>\n<li>1 egg</li>")
    assert "1 egg" in [line.text for part in read.parts for line in part.lines]


def test_broken_block_on_a_page_is_left_aside() -> None:
    read = read_recipe(page('{"@type": "Recipe", "name": ') + "<p>2 cups flour</p>")
    assert read.parts[0].lines[0].item == "flour"


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ('{"@type": "Recipe",\n "name": }', "Line 2"),
        ('{"name": "x"}', "Paste the ingredient lines"),
        ("[" * 5000 + "{}", "recipe"),
    ],
)
def test_json_that_is_no_recipe(text: str, hint: str) -> None:
    with pytest.raises(InputError, match=hint):
        read_recipe(text)


def test_odd_values_do_no_harm() -> None:
    read = read_recipe(json.dumps({"@type": "Recipe", "name": None, "recipeIngredient": [None, 3, {"name": "1 egg"},
                                   "", True],
                                   "recipeInstructions": {"x": 1}, "recipeYield": 12,
                                   "author": [{"name": "A"}, "B"]}))  # fmt: skip
    assert [line.text for line in read.parts[0].lines] == ["3", "1 egg"]
    assert read.credit == "A, B"


def test_plain_text_is_no_page() -> None:
    assert page_of("2 cups flour\n1 egg <large>") is None
    assert page_of("[ ] 2 cups flour\n[ ] 1 egg") is None
