"""A recipe card: a formula and a method put into the words and the order that a stranger can cook from."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.formula.composition_records import Composition
from batchwright.formula.kitchen.records import Writing, WrittenLine
from batchwright.formula.records import Formula, Line, Step, Yield
from batchwright.writeup.allergen_line import allergen_line
from batchwright.writeup.cautions import cautions_of
from batchwright.writeup.method import card_steps
from batchwright.writeup.records import UNITS, Card, CardLine, CardPart, CardStep

LEAST_WHOLE_G = 10.0  # lighter is printed to half a gram, as spoons of leavening ask; common practice
LEAST_HALF_G = 1.0  # lighter is printed to a tenth
NAMELESS = "Recipe"
_OVEN = re.compile(r"\b(?:bak(?:e|es|ed|ing)|oven|roast\w*|broil\w*)\b", re.I)
PRINTED_FILLINGS = ("packed", "heaped", "scant")
PRINTED_MARKS = ("divided", "optional", "to taste", "for serving", "plus more")


def card_of(
    formula: Formula,
    steps: Sequence[Step] = (),
    writing: Writing | None = None,
    composition: Composition | None = None,
    units: str = "both",
    confirmed_by: str = "",
    credit: str = "",
) -> Card:
    """Return the card of a formula; nothing of it is dropped.

    steps: the method, else the formula's own. writing: its kitchen measures, line for line as the formula has them;
    without it the amounts stand as the recipe wrote them. composition: for what it weighs when finished.
    units: one of UNITS; temperatures stand in both scales always. confirmed_by: who checked every line against its
    pack. credit: the base recipe, else what the formula says of it. Raises InputError for other units, or for a formula
    without a line.
    """
    if units not in UNITS:
        raise InputError([Fault("--units", units, ", ".join(UNITS))])
    if not any(part.lines for part in formula.parts):
        raise InputError([Fault("RECIPE", formula.name, "at least one ingredient line",
                                "A card needs its ingredients: one to a line, amount first.")])  # fmt: skip
    own = tuple(steps) or formula.method
    made = _in_parts(card_steps(own), formula)
    told, heat = [step.text for step in own], _heat(own)
    notes, todo = list(formula.notes), []
    if any("was one time" in note for step in made for note in step.notes):
        notes.append(
            "A time written as one figure is printed as a range for other ovens: a tenth or a minute each way."
        )
    notes += [f"Step {place}: {note}." for place, step in enumerate(made, 1) for note in step.notes
              if "was one time" not in note]  # fmt: skip
    if not made:
        todo.append("No method was given: add one with --method FILE.")
    if not (credit or formula.credit):
        todo.append("The base recipe is not named: give it with --credit.")
    return Card(
        formula.name.strip() or NAMELESS, _makes(formula, composition, heat), _mass(formula, composition, heat),
        _parts(formula, writing), made, allergen_line(formula, told, confirmed_by), cautions_of(formula, told),
        " ".join((credit or formula.credit).split()), writing.convention_text if writing else "", units, tuple(notes),
        formula.unread, formula, tuple(todo),
    )  # fmt: skip


def _heat(steps: Sequence[Step]) -> str:
    """Return how the food is finished by its method: "baked", or "cooked" where no oven is named."""
    return "baked" if not steps or any(_OVEN.search(step.text) for step in steps) else "cooked"


def _in_parts(steps: Sequence[CardStep], formula: Formula) -> tuple[CardStep, ...]:
    """Return steps with the headings of their parts spelled as the ingredients' are."""
    names = {_plain(part.name): part.name for part in formula.parts if part.name.strip()}
    return tuple(replace(step, part=names.get(_plain(step.part), step.part[:1].upper() + step.part[1:]))
                 for step in steps)  # fmt: skip


def _plain(name: str) -> str:
    """Return the name of a part without "for the", capitals and colon."""
    return re.sub(r"^(?:for\s+)?(?:the\s+)?", "", name.strip(" :").lower())


def _parts(formula: Formula, writing: Writing | None) -> tuple[CardPart, ...]:
    """Return the parts in order of use; raises ValueError where the writing is not of this formula."""
    written: Iterator[WrittenLine | None]
    count = sum(1 for part in formula.parts for line in part.lines for _ in _flat(line, 0))
    if writing is not None and len(writing.lines) != count:
        raise ValueError(f"writing: got {len(writing.lines)} lines; allowed: {count}, those of the formula")
    written = iter(writing.lines) if writing is not None else iter([None] * count)
    parts = []
    for part in formula.parts:
        lines = tuple(_line(one, next(written), depth > 0)
                      for line in part.lines for one, depth in _flat(line, 0))  # fmt: skip
        grams = [one.grams for line in part.lines for one, _ in _flat(line, 0) if one.grams is not None]
        mass = f"{sum(each.likely for each in grams):.0f} g" if grams and len(formula.parts) > 1 else ""
        parts.append(CardPart(part.name, lines, mass))
    return tuple(parts)


def _flat(line: Line, depth: int) -> Iterator[tuple[Line, int]]:
    """Return a line and after it the further ingredients of it, with how deep each stands [count]."""
    yield line, depth
    for further in line.also:
        yield from _flat(further, depth + 1)


def _line(line: Line, written: WrittenLine | None, indent: bool) -> CardLine:
    """Return one line in kitchen measure and grams; the words of the recipe where it has no grams."""
    before, after = line.prepared
    marks = [mark for mark in PRINTED_MARKS if mark in line.marks and mark not in after]
    after = ", ".join(each for each in (after, *marks) if each)
    grams = line.grams.likely if line.grams is not None else None
    if written is not None and written.wanted_g is not None:
        grams = written.wanted_g
    measure = written.text if written is not None else _as_written(line)
    item = (written.item if written is not None else "") or line.item or line.text
    if grams is None and ((not measure and not line.item) or (line.amounts and not indent)):
        return CardLine("", "", line.text, indent=indent)
    amounts = written.amounts if written is not None else line.amounts
    pinch = bool(amounts) and amounts[0].unit == "pinch"
    weigh_it = written is not None and written.weigh_it and grams is not None and not pinch
    counted = bool(measure and amounts and not amounts[0].unit)
    if line.filling in PRINTED_FILLINGS and line.filling not in before:
        before = " ".join(each for each in (line.filling, before) if each)
    weight = "" if grams is None else grams_text(grams)
    return CardLine(measure, weight, item, before, after, weigh_it, indent, counted)


def grams_text(mass_g: float) -> str:
    """Return a weight [g] as a card prints it: whole grams, below ten to a half, below one to a tenth."""
    if mass_g >= LEAST_WHOLE_G:
        return f"{mass_g:.0f} g"
    if mass_g >= LEAST_HALF_G:
        return f"{round(mass_g * 2) / 2:g} g"
    return f"{mass_g:.1f} g" if mass_g >= 0.05 else "less than 0.1 g"


def _as_written(line: Line) -> str:
    """Return the amounts of a line as it wrote them, in numbers and words."""
    first = [each for each in line.amounts if each.join in ("first", "plus")]
    said = []
    for each in first:
        ends = dict.fromkeys(f"{value:.3g}" for value in (each.low, each.high))
        many = "s" if each.unit and each.high > 1 and each.unit not in ("gram",) else ""
        unit = "g" if each.unit == "gram" else each.unit + many
        said.append(" ".join(word for word in (" to ".join(ends), unit) if word))
    return " plus ".join(said)


def _makes(formula: Formula, composition: Composition | None, heat: str) -> str:
    """Return the yield in words: the count and what a piece weighs, raw where the recipe is baked."""
    makes, mass = formula.makes, _mixed_g(formula)
    heated = composition is not None and composition.whole.baked
    raw = f" before {'baking' if heat == 'baked' else 'cooking'}" if heated else ""
    if makes is None:
        if formula.piece_g and mass:
            return f"about {mass / formula.piece_g:.0f} pieces of {grams_text(formula.piece_g)}{raw}"
        return ""
    count = _middle(makes)
    said = _count_text(makes) or re.sub(r"^(?:yields?|makes?)\s*:?\s*", "", makes.text.strip(), flags=re.I).rstrip(".")
    piece = formula.piece_g or (mass / count if mass and count and count > 1 else None)
    if piece and makes.what.strip().lower() not in ("serving", "servings", "portion", "portions", "people"):
        return f"{said}, about {grams_text(piece)} each{raw}"
    return said


def _middle(makes: Yield) -> float | None:
    if makes.low is None:
        return None
    return (makes.low + (makes.high or makes.low)) / 2.0


def _count_text(makes: Yield) -> str:
    what = makes.what or ("pieces" if re.search(r"\bdoz", makes.text, re.I) else "")
    if makes.low is None or not what:
        return ""
    ends = dict.fromkeys(f"{value:g}" for value in (makes.low, makes.high or makes.low))
    return f"{' to '.join(ends)} {what}"


def _mixed_g(formula: Formula) -> float:
    """Return what all lines weigh together [g]."""
    return sum(one.grams.likely for part in formula.parts for line in part.lines for one, _ in _flat(line, 0)
               if one.grams is not None)  # fmt: skip


def _mass(formula: Formula, composition: Composition | None, heat: str) -> str:
    """Return what the recipe weighs, as mixed and finished."""
    mixed = _mixed_g(formula)
    if not mixed:
        return ""
    said = f"about {mixed:.0f} g as mixed"
    if composition is not None and composition.whole.baked:
        said += f", {_range_text(composition.whole.finished_g)} {heat}"
    unweighed = sum(line.grams is None for part in formula.parts for line in part.lines)
    if unweighed:
        said += f"; {unweighed} {'lines without weight are' if unweighed > 1 else 'line without weight is'} not counted"
    return said


def _range_text(mass: Estimate) -> str:
    low, high = (f"{5 * round(end / 5):.0f}" for end in (mass.low, mass.high))
    return f"about {low} g" if low == high else f"{low} to {high} g"


def inline(text: str) -> str:
    """Return a text on one line without control characters: nothing typed can move a cursor or break a form."""
    return re.sub(r"\s+", " ", "".join(letter if letter.isprintable() else " " for letter in text)).strip()
