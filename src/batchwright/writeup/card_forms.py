"""A card as text, Markdown, a page that prints, and schema.org Recipe data."""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Iterator
from html import escape
from itertools import groupby
from typing import Any

from batchwright.writeup.card import inline
from batchwright.writeup.records import LOCAL_CODES, Card, CardStep

TEXT_WIDTH = 78  # columns
HEADINGS = {"ingredients": "Ingredients", "method": "Method", "allergens": "Allergens", "cautions": "Cautions",
            "notes": "Notes", "unread": "Lines that could not be read"}  # fmt: skip
AFTER_PARTS = "Then"  # the heading of steps that belong to no part and follow those of one
FURTHER = ' class="further"'
_BASED = re.compile(r"\s*(?:adapted|based|inspired|after|from|recipe by|by)\b", re.I)
_MARKDOWN = re.compile(r"([\\`*_\[\]<>|~&])|^([#+\-=])|^(\d+)([.)])")
"""What Markdown takes for more than letters: some marks anywhere, others only where a line begins with them."""


def card_text(card: Card, width: int = TEXT_WIDTH) -> str:
    """Return the card as plain text, tick boxes before the lines; width: where lines are wrapped [columns, > 30]."""

    def wrapped(words: str, first: str = "", rest: str = "") -> str:
        return textwrap.fill(inline(words), width, initial_indent=first, subsequent_indent=rest or " " * len(first))

    blocks = [f"{inline(card.name)}\n{'=' * min(width, len(inline(card.name)))}"]
    blocks += [wrapped(line) for line in _top(card)]
    for part in card.parts:
        title = _part_title(part.name.upper(), part.mass, HEADINGS["ingredients"].upper())
        lines = [wrapped(line.text(card.units), f"{'    ' * line.indent}[ ] ") for line in part.lines]
        blocks.append("\n".join((title, *lines)))
    steps = []
    for part_name, numbered in _by_part(card):
        if part_name:
            steps.append(f"{inline(part_name)}:")
        steps += [wrapped(step.text, f"{place:>2}. ") for place, step in numbered]
    blocks.append("\n".join((HEADINGS["method"].upper(), *(steps or ["No method was given."]))))
    blocks.append("\n".join((HEADINGS["allergens"].upper(), *map(wrapped, card.allergens.sentences()))))
    if card.cautions:
        told = [wrapped(f"{_first_up(one.topic)}: {one.wording}", "! ") for one in card.cautions]
        blocks.append("\n".join((HEADINGS["cautions"].upper(), *told, wrapped(LOCAL_CODES))))
    for heading, told in _bottom(card):
        blocks.append("\n".join((heading.upper(), *(wrapped(line, "- ") for line in told))))
    return "\n\n".join(blocks) + "\n"


def card_markdown(card: Card) -> str:
    """Return the card as Markdown; whatever was typed stands as it was typed and marks up nothing."""
    blocks = [f"# {_md(card.name)}", *(_md(line) for line in _top(card)), f"## {HEADINGS['ingredients']}"]
    for part in card.parts:
        if part.name or part.mass:
            blocks.append(f"### {_md(_part_title(part.name, part.mass, HEADINGS['ingredients']))}")
        blocks.append("\n".join(f"{'  ' * line.indent}- [ ] {_md(line.text(card.units))}" for line in part.lines))
    blocks.append(f"## {HEADINGS['method']}")
    for part_name, numbered in _by_part(card):
        if part_name:
            blocks.append(f"### {_md(part_name)}")
        blocks.append("\n".join(f"{place}. {_md(step.text)}" for place, step in numbered))
    if not card.steps:
        blocks.append("No method was given\\.")
    blocks += [f"## {HEADINGS['allergens']}", "  \n".join(_md(line) for line in card.allergens.sentences())]
    if card.cautions:
        told = [f"- **{_md(_first_up(one.topic))}:** {_md(one.wording)}" for one in card.cautions]
        blocks += [f"## {HEADINGS['cautions']}", "\n".join(told), _md(LOCAL_CODES)]
    for heading, told in _bottom(card):
        blocks += [f"## {heading}", "\n".join(f"- {_md(line)}" for line in told)]
    return "\n\n".join(blocks) + "\n"


def card_html(card: Card) -> str:
    """Return the card as one page without outside parts, black on white, large type, for A4 and Letter alike."""

    def each(lines: Iterator[str] | list[str], tag: str = "li") -> str:
        return "".join(f"<{tag}>{line}</{tag}>\n" for line in lines)

    body = [f"<h1>{_html(card.name)}</h1>\n", each([_html(line) for line in _top(card)], "p")]
    body.append(f'<section class="ingredients"><h2>{HEADINGS["ingredients"]}</h2>\n')
    for part in card.parts:
        if part.name or part.mass:
            body.append(f"<h3>{_html(_part_title(part.name, part.mass, HEADINGS['ingredients']))}</h3>\n")
        rows = [f'<li{FURTHER if line.indent else ""}><span class="box"></span>'
                f"<span>{_html(line.text(card.units))}</span></li>\n" for line in part.lines]  # fmt: skip
        body.append(f'<ul class="ticks">\n{"".join(rows)}</ul>\n')
    body.append(f"</section>\n<section><h2>{HEADINGS['method']}</h2>\n")
    for part_name, numbered in _by_part(card):
        steps = list(numbered)
        title = f"<h3>{_html(part_name)}</h3>\n" if part_name else ""
        body.append(f'{title}<ol start="{steps[0][0]}">\n{each([_html(step.text) for _, step in steps])}</ol>\n')
    if not card.steps:
        body.append("<p>No method was given.</p>\n")
    body.append(f'</section>\n<section class="warned"><h2>{HEADINGS["allergens"]}</h2>\n')
    body.append(each([_html(line) for line in card.allergens.sentences()], "p") + "</section>\n")
    if card.cautions:
        cautions = [f"<strong>{_html(_first_up(one.topic))}:</strong> {_html(one.wording)}" for one in card.cautions]
        body.append(f'<section class="warned"><h2>{HEADINGS["cautions"]}</h2>\n<ul>\n{each(cautions)}</ul>\n'
                    f"<p>{LOCAL_CODES}</p></section>\n")  # fmt: skip
    for heading, lines in _bottom(card):
        told = each([_html(line) for line in lines])
        body.append(f'<section class="small"><h2>{heading}</h2>\n<ul>\n{told}</ul></section>\n')
    data = script_json(recipe_data(card))
    return (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<title>{_html(card.name)}</title>\n'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">\n<style>\n{STYLE}</style>\n'
        f'<script type="application/ld+json">\n{data}\n</script>\n</head>\n<body>\n<main>\n{"".join(body)}</main>\n'
        "</body>\n</html>\n"
    )


STYLE = """\
@page { margin: 16mm; }
* { box-sizing: border-box; }
body { margin: 0; background: #fff; color: #000; font: 13pt/1.4 Georgia, "Times New Roman", serif; }
main { max-width: 46rem; margin: 0 auto; padding: 1rem; overflow-wrap: anywhere; }
h1 { font-size: 22pt; line-height: 1.15; margin: 0 0 .4rem; }
h2 { font-size: 15pt; margin: 1.2rem 0 .3rem; padding-bottom: .1rem; border-bottom: 1px solid #000; }
h3 { font-size: 13pt; margin: .8rem 0 .2rem; }
p { margin: .2rem 0; }
ul, ol { margin: .2rem 0; padding-left: 1.6rem; }
li { margin: .3rem 0; }
.ticks { list-style: none; padding-left: 0; font-variant-numeric: tabular-nums; }
.ticks li { display: flex; gap: .6rem; align-items: baseline; }
.ticks .further { padding-left: 2rem; }
.box { flex: none; width: .95em; height: .95em; border: 1.5px solid #000; transform: translateY(.12em); }
.warned { border: 1.5px solid #000; padding: .2rem .8rem .6rem; margin-top: 1.2rem; }
.warned h2 { margin-top: .4rem; border: 0; }
.small { font-size: 11pt; }
@media print {
  body { font-size: 11.5pt; line-height: 1.35; }
  main { max-width: none; padding: 0; }
  h2 { font-size: 13.5pt; margin-top: .8rem; }
  h3 { font-size: 11.5pt; }
  li { margin: 0 0 .35rem; }
  .ingredients { columns: 2; column-gap: 8mm; }
  .ingredients h2 { column-span: all; }
  .ingredients h3, .ingredients ul { margin-top: 0; }
  h3 + .ticks { break-inside: avoid; }
  .ingredients .ticks + h3 { margin-top: .7rem; }
  .warned { font-size: 10.5pt; margin-top: .8rem; break-inside: avoid; }
  .warned li { margin: 0 0 .15rem; }
  .small { font-size: 10pt; }
  h1, h2, h3 { break-after: avoid; }
  li, .warned p { break-inside: avoid; }
}
"""


def recipe_data(card: Card) -> dict[str, Any]:
    """Return the card as schema.org Recipe data; no diet is ever claimed, allergens stand in the description."""
    sections: list[dict[str, Any]] = []
    for part_name, numbered in _by_part(card):
        steps = [{"@type": "HowToStep", "text": inline(step.text)} for _, step in numbered]
        if part_name:
            sections.append({"@type": "HowToSection", "name": inline(part_name), "itemListElement": steps})
        else:
            sections += steps
    warned = [f"Allergens: {card.allergens.text()}", *(f"{one.topic}: {one.wording}" for one in card.cautions)]
    data: dict[str, Any] = {
        "@context": "https://schema.org",
        "@type": "Recipe",
        "name": inline(card.name),
        "description": inline(" ".join((*warned, *([LOCAL_CODES] if card.cautions else ())))),
        "recipeIngredient": [inline(line.text(card.units)) for part in card.parts for line in part.lines],
        "recipeInstructions": sections,
    }
    said = {"recipeYield": inline(card.makes), "isBasedOn": inline(card.credit)}
    return data | {key: value for key, value in said.items() if value}


def script_json(document: dict[str, Any]) -> str:
    """Return JSON that may stand inside a script of a page: no "<", ">" or "&" is left in it as such."""
    text = json.dumps(document, ensure_ascii=False, indent=2, allow_nan=False)
    return "".join(f"\\u{ord(letter):04x}" if letter in "<>&\u2028\u2029" else letter for letter in text)


def _top(card: Card) -> list[str]:
    """Return what stands under the title."""
    serves = card.makes.lower().startswith(("serve", "enough"))
    makes = [f"{'' if serves else 'Makes '}{card.makes.rstrip('.')}."] if card.makes else []
    mass = [f"Weighs {card.mass}."] if card.mass else []
    based = [_first_up(card.credit) if _BASED.match(card.credit) else f"Based on {card.credit}"] if card.credit else []
    return [line for line in (*makes, *mass, *based) if line]


def _bottom(card: Card) -> list[tuple[str, list[str]]]:
    """Return what stands last: lines that could not be read, notes."""
    notes = [f"{card.measures[:1].upper()}{card.measures[1:]}."] if card.measures and card.units != "metric" else []
    notes += list(card.notes)
    found = [(HEADINGS["unread"], list(card.unread)), (HEADINGS["notes"], notes)]
    return [(heading, lines) for heading, lines in found if lines]


def _part_title(name: str, mass: str, nameless: str) -> str:
    return " ".join(each for each in (inline(name) or nameless, f"({mass})" if mass else "") if each)


def _by_part(card: Card) -> Iterator[tuple[str, list[tuple[int, CardStep]]]]:
    """Return the steps, numbered through, by the part that their headings name; what follows a part is of all."""
    before = ""
    for name, steps in groupby(enumerate(card.steps, 1), key=lambda pair: pair[1].part):
        yield name or (AFTER_PARTS if before else ""), list(steps)
        before = name


def _first_up(text: str) -> str:
    return text[:1].upper() + text[1:]


def _html(text: str) -> str:
    return escape(inline(text), quote=True)


def _md(text: str) -> str:
    return _MARKDOWN.sub(lambda found: (found[3] or "") + "\\" + (found[1] or found[2] or found[4]), inline(text))
