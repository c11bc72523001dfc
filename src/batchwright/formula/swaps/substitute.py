"""Swaps: a factory's ingredient for a shop's, or one diet's for another's, with the rest of the recipe rebalanced.

Amounts come from composition: what is named in the table (fat and water of a fat, dry sugar and water of a syrup) is
held for the recipe as a whole, the water being taken from or given to its own water where it has some. Every answer is
untested.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.base.tables import rows
from batchwright.formula.composition import composition_of
from batchwright.formula.contents import PLACE, Floats, contents_of, contents_of_line, match_of
from batchwright.formula.formula import flat_lines, rewritten
from batchwright.formula.processes import changed, figures_of
from batchwright.formula.records import Formula, Line, Written
from batchwright.formula.swaps.amounts import amounts
from batchwright.formula.swaps.records import UNTESTED, WISHES, Changed, Choice, Moved, Swapped
from batchwright.pantry.allergens import WORDS, allergens_of, has_allergen_row
from batchwright.pantry.shelf import match

BROWNED = " (browned)"
OWN_KEYS = ("fat_g", "sugars_g", "protein_g", "water_g", "starch_g")  # held for a choice that the table does not know
SHOWN = {"water_g": "water", "fat_g": "fat", "saturated_fat_g": "saturated fat", "sugars_g": "sugars",
         "starch_g": "starch", "protein_g": "protein", "salt_g": "salt"}  # fmt: skip
LEAST_MOVE_G, LEAST_MOVE_FRACTION = 0.5, 0.01  # less than this on a home batch is not worth a line (our choice)
LEAST_SALT_MOVE_G = 0.1
FIRST_KEY_WEIGHT = 1e3  # what a choice is reckoned by is held before its water is, where both cannot be (our choice)
MOST_EXCESS_FRACTION = 0.02  # of the whole mix: water that nothing can give back; beyond, a choice stands back
LEAST_LINE_G = 0.05  # a kitchen scale for small amounts shows a tenth of a gram


@cache
def _table() -> Mapping[str, tuple[Choice, ...]]:
    """Return each ingredient's choices, best first."""
    found: dict[str, list[tuple[int, Choice]]] = {}
    for row in rows("formula_swaps"):
        instead = _cells(row["with"])
        ratios = [cell.strip() for cell in row["ratio"].split(";")] if row["ratio"] else []
        ratios += [""] * (len(instead) - len(ratios))
        choice = Choice(instead, tuple(float(cell) if cell else None for cell in ratios), _cells(row["keys"]),
                        _cells(row["balance"]), _cells(row["suits"]), row["why"], row["moves"], row["source"],
                        row["basis"])  # fmt: skip
        for what in _cells(row["what"]):
            found.setdefault(what, []).append((int(row["rank"]), choice))
    return {what: tuple(choice for _, choice in sorted(each, key=lambda pair: pair[0])) for what, each in found.items()}


def _cells(cell: str) -> tuple[str, ...]:
    return tuple(each.strip() for each in cell.split(";") if each.strip())


def choices_for(ingredient: str, wish: str = "") -> tuple[Choice, ...]:
    """Return what may stand for an ingredient of the shelf, best first; those that suit a wish where one is given.

    ingredient: a name of the shelf; wish: one of WISHES, or empty. Raises InputError for another wish.
    """
    if wish and wish not in WISHES:
        raise InputError([Fault("--for", wish, ", ".join(WISHES))])
    return tuple(choice for choice in _table().get(ingredient, ()) if not wish or wish in choice.suits)


@dataclass(frozen=True, slots=True)
class _Place:
    """One line to be swapped: its place in `flat_lines`, its part, the line, its grams."""

    at: int
    part: str
    line: Line
    mass_g: float


def lines_of(formula: Formula, what: str) -> tuple[int, ...]:
    """Return the places in `flat_lines` of the lines that are an ingredient: by the shelf's name, else by their words.

    what: any name of it. Raises InputError, with what the recipe holds, where no line is.
    """
    wanted = match(what).ingredient
    lines = flat_lines(formula)
    found = tuple(place for place, each in enumerate(lines) if wanted and match_of(each.line).ingredient == wanted)
    if not found:
        words = what.casefold().strip()
        found = tuple(place for place, each in enumerate(lines) if words and words in each.line.item.casefold())
    if not found:
        holds = ", ".join(dict.fromkeys(each.line.item or each.line.text for each in lines))
        raise InputError([Fault("INGREDIENT", what, "an ingredient of the recipe", f"It has: {holds}.")])
    return found


def ingredient_of(formula: Formula, what: str) -> str:
    """Return the shelf's name of the lines that `what` means; raises InputError where the shelf does not know them."""
    line = flat_lines(formula)[lines_of(formula, what)[0]].line
    found = match_of(line).ingredient
    if found is None:
        hint = "Only an ingredient whose composition is known can be swapped; mend its name."
        raise InputError([Fault("INGREDIENT", what, "an ingredient the shelf knows", hint)])
    return found


def swapped(formula: Formula, what: str, instead: str = "", wish: str = "") -> Swapped:
    """Return a recipe with every line of one ingredient swapped and the rest rebalanced.

    what: any name of the ingredient. instead: the choice, by its name or first ingredient, or any other ingredient
    of the shelf, whose amount is then reckoned from composition alone; the best one where empty. wish: one of WISHES.
    Raises InputError where the recipe has no such line, the line no grams, or nothing is known to take.
    """
    name = ingredient_of(formula, what)
    if not instead:
        known = ranked(formula, what, wish)
        if known:
            return known[0]
    choice = _chosen(name, instead, wish)
    lines = flat_lines(formula)
    places = [_Place(at, lines[at].part_name, lines[at].line, grams.likely) for at in lines_of(formula, what)
              if (grams := lines[at].line.grams) is not None and grams.likely > 0]  # fmt: skip
    if not places:
        raise InputError([Fault("INGREDIENT", what, "a line with an amount", "Write how much of it goes in.")])
    mass_g = sum(each.mass_g for each in places)
    new_g, balance_g = _solved(formula, [each.line for each in places], mass_g, choice)
    new, changes = _rebuilt(formula, places, choice, new_g / mass_g, balance_g)
    gained, gone, packs = _allergens(name, choice)
    before, after = composition_of(formula), composition_of(new)
    moved = tuple(
        _moved(before.whole.mixed, before.whole.mixed_g.likely, after.whole.mixed, after.whole.mixed_g.likely)
    )
    notes = (*_unknown_allergens(choice), *_notes(choice, wish, moved))
    return Swapped(what, choice, changes, moved, gained, gone, packs, new, notes)


def ranked(formula: Formula, what: str, wish: str = "") -> tuple[Swapped, ...]:
    """Return the recipe with each choice of the table in turn, best first.

    The order is the table's, save that a choice which brings water that the recipe cannot give back stands behind the
    others. Raises InputError as `swapped` does; none where the table knows nothing for the ingredient and the wish.
    """
    done = [swapped(formula, what, choice.name, wish) for choice in choices_for(ingredient_of(formula, what), wish)]
    return tuple(sorted(done, key=_excess))


def _excess(done: Swapped) -> bool:
    """Whether a swap leaves more water in the recipe than its dough can be expected to bear."""
    whole = next(each.before_g for each in done.moved if each.what == "all")
    water = next((each.after_g - each.before_g for each in done.moved if each.what == "water"), 0.0)
    return "water_g" in done.choice.keys and water > MOST_EXCESS_FRACTION * whole


def _unknown_allergens(choice: Choice) -> tuple[str, ...]:
    """Return a note for what has no allergens on record."""
    names = [each for each in choice.instead if not has_allergen_row(each.removesuffix(BROWNED))]
    return (f"No allergens are on record for {', '.join(names)}: read the pack.",) if names else ()


def _chosen(name: str, instead: str, wish: str) -> Choice:
    """Return the choice a cook means."""
    known = choices_for(name, wish)
    if not instead:
        if not known:
            hint = "Name what to take: batchwright swap RECIPE INGREDIENT WITH"
            allowed = "an ingredient with a known swap" + (f" for {wish}" if wish else "")
            raise InputError([Fault("INGREDIENT", name, allowed, hint)])
        return known[0]
    wanted = instead.casefold().strip()
    if wanted in ("nothing", "none", "leave it out", "leave out"):
        wanted = "leave it out"
    means = match(instead.replace(BROWNED, "")).ingredient if "brown" not in wanted else None
    for choice in choices_for(name):
        first = choice.instead[0] if choice.instead else ""
        if wanted == choice.name.casefold() or (means and first == means):
            return choice
        if first.endswith(BROWNED) and "brown" in wanted and "butter" in wanted:
            return choice
    found = match(instead)
    if found.ingredient is None or found.how in ("class", "unknown"):
        allowed = "; ".join(choice.name for choice in choices_for(name)) or "an ingredient of the shelf"
        raise InputError([Fault("WITH", instead, allowed)])
    if found.ingredient == name:
        raise InputError([Fault("WITH", instead, f"another ingredient than {name}")])
    taken = "" if found.how in ("name", "synonym") else f", taken as {found.ingredient}"
    why = f"your own choice{taken}: reckoned from composition alone"
    return Choice(
        (found.ingredient,), (None,), OWN_KEYS, ("water",), (), why, "", "trade_practice", "calculated", False
    )


def _per_gram(name: str) -> Floats:
    """Return what a gram of an ingredient as it is weighed brings to the mix; of browned butter after the pan."""
    plain = name.removesuffix(BROWNED)
    held = contents_of(plain).likely
    if name == plain:
        return held
    line = Line(plain, plain, Estimate(1, 1, 1, unit="g"), plain, "name", process="browned")
    figures = {key: ends[1] for key, ends in figures_of(line, contents_of(plain)).items()}
    return changed("browned", held, figures).contents


def _of_line(line: Line) -> Floats:
    """Return what a line brings to the mix [g], after its process."""
    contents = contents_of_line(line)
    figures = {key: ends[1] for key, ends in figures_of(line, contents).items()}
    held = changed(line.process, contents.likely, figures).contents if line.process else contents.likely
    return held * (line.grams.likely if line.grams is not None else 0.0)


def _solved(formula: Formula, old: Sequence[Line], mass_g: float, choice: Choice) -> tuple[Floats, dict[str, float]]:
    """Return the grams of each ingredient of the choice, and by how much each that balances changes [g]."""
    held = np.sum([_of_line(line) for line in old], axis=0)
    count = len(choice.instead)
    new = np.zeros(count)
    fixed = [place for place, ratio in enumerate(choice.ratios) if ratio is not None]
    for place in fixed:
        new[place] = (choice.ratios[place] or 0.0) * mass_g
        held = held - _per_gram(choice.instead[place]) * new[place]
    unknown = [place for place in range(count) if place not in fixed]
    if not choice.keys:
        return new, {}
    rows_of = [PLACE[key] for key in choice.keys]
    names = [choice.instead[place] for place in unknown] + list(choice.balance)
    scale = np.array([1e-3 if key.endswith("_mg") else 1.0 for key in choice.keys])
    scale[0] *= FIRST_KEY_WEIGHT
    columns = np.stack([_per_gram(name)[rows_of] * scale for name in names], axis=1)
    floors = [0.0] * len(unknown) + [-_on_hand(formula, name) for name in choice.balance]
    found = amounts(columns, held[rows_of] * scale, floors)
    new[unknown] = found[: len(unknown)]
    return new, dict(zip(choice.balance, found[len(unknown) :].tolist(), strict=True))


def _on_hand(formula: Formula, name: str) -> float:
    """Return how much of an ingredient the recipe has as lines of their own [g]."""
    return sum(each.line.grams.likely for each in flat_lines(formula)
               if each.line.grams is not None and match_of(each.line).ingredient == name)  # fmt: skip


def _rebuilt(
    formula: Formula, places: Sequence[_Place], choice: Choice, per_gram: Floats, balance_g: Mapping[str, float]
) -> tuple[Formula, tuple[Changed, ...]]:
    """Return the recipe with new lines in the old ones' places, and every line that changed."""
    changes: list[Changed] = []
    left = {name: grams for name, grams in balance_g.items() if abs(grams) >= LEAST_LINE_G}
    swap = {each.at: each for each in places}
    lines = flat_lines(formula)
    take: dict[int, float] = {}
    for at, each in enumerate(lines):
        name = match_of(each.line).ingredient or ""
        if at in swap or name not in left or each.line.grams is None or each.line.grams.likely <= 0:
            continue
        whole = _on_hand(formula, name)
        take[at] = left[name] * each.line.grams.likely / whole
    given = {match_of(lines[at].line).ingredient for at in take}
    place = -1

    def walk(line: Line, part: str) -> Iterator[Line]:
        nonlocal place
        place += 1
        here = place
        also = tuple(new for each in line.also for new in walk(each, part))
        if here in swap:
            made = list(_new_lines(line, choice, per_gram))
            changes.append(Changed(part, line.item, swap[here].mass_g, 0.0, "taken out"))
            changes.extend(
                Changed(part, one.item, 0.0, one.grams.likely if one.grams else 0.0, "instead") for one in made
            )
            share = swap[here].mass_g / sum(each.mass_g for each in places)
            for name in (name for name in left if name not in given):
                grams = left[name] * share
                made.append(_fresh(name, grams, line))
                changes.append(Changed(part, name, 0.0, grams, "keeps the balance"))
            yield from _kept(made, also)
        elif here in take and line.grams is not None:
            after = max(0.0, line.grams.likely + take[here])
            changes.append(Changed(part, line.item, line.grams.likely, after, "keeps the balance"))
            if after >= LEAST_LINE_G:
                yield replace(rewritten(line, _scaled(line.grams, after / line.grams.likely)), also=also)
            else:
                yield from also
        else:
            yield replace(line, also=also)

    parts = tuple(replace(part, lines=tuple(new for line in part.lines for new in walk(line, part.name)))
                  for part in formula.parts)  # fmt: skip
    return replace(formula, parts=parts), tuple(changes)


def _kept(made: list[Line], also: tuple[Line, ...]) -> Iterator[Line]:
    """Return new lines with the further ingredients of the old one behind them."""
    yield from made
    yield from also


def _new_lines(line: Line, choice: Choice, per_gram: Floats) -> Iterator[Line]:
    """Return what stands in the place of a line."""
    grams = line.grams.likely if line.grams is not None else 0.0
    for name, share in zip(choice.instead, per_gram.tolist(), strict=True):
        if share * grams >= LEAST_LINE_G / 5.0:
            yield _fresh(name, share * grams, line)


def _fresh(name: str, mass_g: float, old: Line) -> Line:
    """Return a new line in the place of an old one, as doubtful as that was."""
    plain = name.removesuffix(BROWNED)
    grams = _scaled(old.grams, mass_g / old.grams.likely) if old.grams is not None else None
    line = Line("", plain, grams, plain, "name", (Written(mass_g, mass_g, "gram"),), stage=old.stage,
                process="browned" if name != plain else "", preparation="browned" if name != plain else "")  # fmt: skip
    return rewritten(line, grams) if grams is not None else line


def _scaled(grams: Estimate, factor: float) -> Estimate:
    """Return an estimate times a factor [0 or more], the ends in proportion."""
    return Estimate(grams.likely * factor, grams.low * factor, grams.high * factor, unit="g")


def _moved(
    before: Mapping[str, Estimate], before_g: float, after: Mapping[str, Estimate], after_g: float
) -> Iterator[Moved]:  # fmt: skip
    """Return what the whole recipe holds more or less of, as mixed."""
    yield Moved("all", before_g, after_g)
    for key, name in SHOWN.items():
        old, new = before[key].likely * before_g / 100.0, after[key].likely * after_g / 100.0
        least = LEAST_SALT_MOVE_G if key == "salt_g" else LEAST_MOVE_G
        if abs(new - old) >= max(least, LEAST_MOVE_FRACTION * old):
            yield Moved(name, old, new)


def _allergens(name: str, choice: Choice) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Return (gained, no longer from it, read the pack) of the lines that change."""
    old = set(allergens_of(name)[0])
    new = {word for each in choice.instead for word in allergens_of(each.removesuffix(BROWNED))[0]}
    packs = {word for each in choice.instead for word in allergens_of(each.removesuffix(BROWNED))[1]} - new
    gained, gone, read = (tuple(word for word in WORDS if word in found) for found in (new - old, old - new, packs))
    return gained, gone, read


def _notes(choice: Choice, wish: str, moved: Sequence[Moved]) -> tuple[str, ...]:
    """Return what is to be said: what else changes, how well the balance closes, that it is untested."""
    notes = [f"{choice.moves[:1].upper()}{choice.moves[1:]}."] if choice.moves else []
    water = next((each for each in moved if each.what == "water"), None)
    if water is not None and "water_g" in choice.keys:
        more = water.after_g - water.before_g
        notes.append(f"{abs(more):.0f} g water {'more' if more > 0 else 'less'} than before: "
                     + ("no water line is left to take it from; bake longer or cut another liquid."
                        if more > 0 else "add it with another liquid."))  # fmt: skip
    if wish and wish != "shop":
        notes.append(f"Of this one ingredient only: whether the food is {wish} the other lines and every pack decide.")
    if choice.basis == "from_memory":
        notes.append("The exchange is from memory, no source at hand.")
    return (*notes, UNTESTED)
