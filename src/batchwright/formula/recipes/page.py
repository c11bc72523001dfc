"""Recipe data of a saved web page or of JSON: schema.org Recipe as JSON-LD or microdata; nothing is fetched or run."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from batchwright.base.errors import Fault, InputError

_DEEPEST = 40
"""Levels of nesting looked through: real pages have fewer than ten."""
_VOID = frozenset(
    {"br", "img", "meta", "link", "input", "hr", "source", "area", "base", "col", "embed", "track", "wbr"}
)
_BLOCKS = frozenset(
    [
        "p",
        "div",
        "li",
        "ul",
        "ol",
        "h1",
        "h2",
        "h3",
        "h4",
        "h5",
        "h6",
        "tr",
        "td",
        "th",
        "table",
        "section",
        "article",
        "header",
        "footer",
        "br",
        "dt",
        "dd",
        "blockquote",
    ]
)
_UNSEEN = frozenset({"script", "style", "noscript", "template", "svg", "nav", "head"})
_WRAPPED = re.compile(r"^\s*(?://\s*)?(?:<!--|&lt;!\[CDATA\[)|(?://\s*)?(?:-->|\]\]>)\s*$")
"""What old pages put around a block of data."""
_TIMES = {"prepTime": "Preparation time", "cookTime": "Cooking time", "totalTime": "Total time"}


@dataclass(slots=True)
class Page:
    """What a page or a JSON document says of its recipe; `text` is the visible text, `found`: it has a recipe."""

    found: bool = False
    name: str = ""
    ingredients: list[str] = field(default_factory=list)
    method: list[tuple[str, str]] = field(default_factory=list)
    makes: str = ""
    credit: str = ""
    notes: list[str] = field(default_factory=list)
    text: str = ""


def page_of(text: str) -> Page | None:
    """Return the recipe of a saved page or of JSON; None where the text is neither.

    text: the whole file. A page without Recipe data comes back with `found` False and its visible text.
    Raises InputError for JSON that is broken (with the line) or holds no Recipe.
    """
    start = text.lstrip("\ufeff \t\r\n")
    if start[:1] in "{[" and re.match(r"\[\s*[\"{\[]|\{\s*[\"}]", start):
        return _of_json(start)
    if start[:1] == "<" or re.search(r"<(?:html|body|script|div|li)\b", start[:20000], re.IGNORECASE):
        return _of_html(text)
    return None


def _of_json(text: str) -> Page:
    try:
        document = json.loads(text)
    except json.JSONDecodeError as wrong:
        lines = text.splitlines()
        shown = lines[wrong.lineno - 1] if wrong.lineno <= len(lines) else ""
        where = f"Line {wrong.lineno}, column {wrong.colno}: {wrong.msg}."
        hint = f"{where} Mend it there, or paste the recipe as plain text."
        raise InputError([Fault("recipe", shown, "JSON without mistakes", hint)]) from None
    except RecursionError:
        raise InputError(
            [Fault("recipe", text[:60], "JSON nested like a recipe", "Paste the recipe as plain text.")]
        ) from None
    recipe = next(_recipes(document), None)
    if recipe is None:
        raise InputError([Fault("recipe", text[:60], 'JSON with "@type": "Recipe" (schema.org)',
                                "Paste the ingredient lines as plain text, one per line.")])  # fmt: skip
    return _of_recipe(recipe)


def _recipes(node: Any, depth: int = 0) -> Iterator[Mapping[str, Any]]:
    """Yield every Recipe object of a JSON-LD document, those inside @graph and lists too."""
    if depth > _DEEPEST:
        return
    if isinstance(node, list):
        for each in node:
            yield from _recipes(each, depth + 1)
    elif isinstance(node, dict):
        kinds = node.get("@type", node.get("type", ""))
        kinds = kinds if isinstance(kinds, list) else [kinds]
        if any(str(kind).rsplit("/", 1)[-1] == "Recipe" for kind in kinds) or "recipeIngredient" in node:
            yield node
            return
        for each in node.values():
            if isinstance(each, dict | list):
                yield from _recipes(each, depth + 1)


def _words(node: Any, depth: int = 0) -> str:
    """Return the text of a value: a string, a number, the name of an object, or a list of them."""
    if isinstance(node, str):
        return _visible(node) if "<" in node or "&" in node else " ".join(node.split())
    if isinstance(node, bool) or node is None or depth > 5:
        return ""
    if isinstance(node, int | float):
        return f"{node:g}"
    if isinstance(node, list):
        return ", ".join(each for each in (_words(item, depth + 1) for item in node) if each)
    if isinstance(node, dict):
        return _words(node.get("name") or node.get("text") or node.get("@value") or node.get("url"), depth + 1)
    return ""


def _of_recipe(recipe: Mapping[str, Any]) -> Page:
    """Return the fields of a Recipe object."""
    page = Page(True, _words(recipe.get("name")))
    lines = recipe.get("recipeIngredient", recipe.get("ingredients", []))
    lines = lines.splitlines() if isinstance(lines, str) else lines if isinstance(lines, list) else [lines]
    page.ingredients = [line for line in (_words(each) for each in lines) if line]
    page.method = list(_instructions(recipe.get("recipeInstructions"), ""))
    makes = recipe.get("recipeYield", recipe.get("yield"))
    if isinstance(makes, list):
        makes = max((_words(each) for each in makes), key=len, default="")
    page.makes = _words(makes)
    page.credit = _credit(recipe)
    description = _words(recipe.get("description"))
    page.notes = [description] if description else []
    for key, words in _TIMES.items():
        if recipe.get(key):
            page.notes.append(f"{words}: {_duration(_words(recipe[key]))}")
    return page


def _credit(recipe: Mapping[str, Any]) -> str:
    parts = [_words(recipe.get("author"))]
    publisher = _words(recipe.get("publisher"))
    parts.append(publisher if publisher != parts[0] else "")
    based = recipe.get("isBasedOn")
    parts.append(f"based on {_words(based)}" if _words(based) else "")
    return "; ".join(part for part in parts if part)


def _duration(text: str) -> str:
    """Return an ISO 8601 duration (PT1H20M) in words; other text as it is."""
    found = re.fullmatch(r"P(?:(\d+)D)?(?:T(?:(\d+)H)?(?:(\d+)M)?(?:\d+S)?)?", text)
    if found is None or not any(found.groups()):
        return text
    named = zip(found.groups(), ("days", "hours", "minutes"), strict=True)
    return " ".join(f"{int(value)} {unit}" for value, unit in named if value and int(value))


def _instructions(node: Any, part: str, depth: int = 0) -> Iterator[tuple[str, str]]:
    """Yield part and text of every step: a string, HowToStep, HowToSection, lists of these."""
    if node is None or depth > _DEEPEST:
        return
    if isinstance(node, str):
        text = _visible(node) if "<" in node or "&" in node else node
        yield from ((part, " ".join(line.split())) for line in text.splitlines() if line.strip())
    elif isinstance(node, list):
        for each in node:
            yield from _instructions(each, part, depth + 1)
    elif isinstance(node, dict):
        inner = node.get("itemListElement", node.get("steps"))
        if inner is not None:
            yield from _instructions(inner, _words(node.get("name")) or part, depth + 1)
        else:
            yield from _instructions(_words(node.get("text") or node.get("name") or node.get("item")), part, depth + 1)


class _Reader(HTMLParser):
    """Gathers the JSON-LD blocks, the microdata of a Recipe and the visible text of a page."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.blocks: list[str] = []
        self.seen: list[str] = []
        self.fields: list[tuple[str, str]] = []
        self.recipe = False
        self._in_json = False
        self._hidden = 0
        self._open: list[tuple[str, str, int]] = []
        self._depth = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note where a block, a field or something unseen begins."""
        given = {key: value or "" for key, value in attrs}
        if tag == "script" and "ld+json" in given.get("type", ""):
            self._in_json = True
            self.blocks.append("")
        if tag in _BLOCKS:
            self.seen.append("\n")
        if given.get("itemtype", "").rstrip("/").endswith("schema.org/Recipe"):
            self.recipe = True
        name = given.get("itemprop", "")
        if tag in _VOID:
            if name and given.get("content"):
                self.fields.append((name, given["content"]))
            return
        self._hidden += tag in _UNSEEN
        self._depth += 1
        if name and self.recipe:
            if given.get("content"):
                self.fields.append((name, given["content"]))
            elif len(self._open) < _DEEPEST:
                self._open.append((name, "", self._depth))

    def handle_endtag(self, tag: str) -> None:
        """Close what the tag opened."""
        if tag in _VOID:
            return
        if tag == "script":
            self._in_json = False
        if tag in _UNSEEN:
            self._hidden = max(0, self._hidden - 1)
        if tag in _BLOCKS:
            self.seen.append("\n")
            self._open = [(name, f"{text}\n", depth) for name, text, depth in self._open]
        while self._open and self._open[-1][2] >= self._depth:
            name, text, _ = self._open.pop()
            self.fields.append((name, text.strip()))
        self._depth = max(0, self._depth - 1)

    def handle_data(self, data: str) -> None:
        """Keep text where it belongs."""
        if self._in_json:
            self.blocks[-1] += data
        elif not self._hidden:
            self.seen.append(data)
            self._open = [(name, text + data, depth) for name, text, depth in self._open]

    def visible(self) -> str:
        """Return the visible text, one line per block."""
        lines = ("".join(self.seen)).splitlines()
        return "\n".join(line for line in (" ".join(each.split()) for each in lines) if line)


def _visible(markup: str) -> str:
    return _read(markup).visible()


def _read(markup: str) -> _Reader:
    """Return a reader that has seen the whole markup; marked sections, which the parser refuses, become text."""
    reader = _Reader()
    reader.feed(re.sub(r"<!\[endif\](?:--)?>", "", markup).replace("<![", "&lt;!["))
    reader.close()
    return reader


def _of_html(text: str) -> Page:
    reader = _read(text)
    broken = 0
    for block in reader.blocks:
        try:
            document = json.loads(_WRAPPED.sub("", block).strip(), strict=False)
        except (json.JSONDecodeError, RecursionError):
            broken += 1
            continue
        recipe = next(_recipes(document), None)
        if recipe is not None:
            return _of_recipe(recipe)
    page = _of_microdata(reader) if reader.recipe else Page()
    page.text = reader.visible()
    if broken:
        page.notes.append("One block of data on the page was broken and left aside.")
    return page


def _of_microdata(reader: _Reader) -> Page:
    """Return the fields of a Recipe marked up in the page itself."""
    page = Page()
    for name, text in reader.fields:
        line = " ".join(text.split())
        if not line:
            continue
        if name in ("recipeIngredient", "ingredients"):
            page.ingredients.append(line)
        elif name in ("recipeInstructions", "step"):
            page.method.extend(("", " ".join(each.split())) for each in text.splitlines() if each.strip())
        elif name == "name" and not page.name:
            page.name = line
        elif name in ("recipeYield", "yield"):
            page.makes = line
        elif name == "author" and not page.credit:
            page.credit = line
        elif name == "description":
            page.notes.append(line)
    page.found = bool(page.ingredients)
    return page
