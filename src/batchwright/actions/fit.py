"""Fit a recipe: to targets the cook writes, toward a decoded original, or less sweet with the same body."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from batchwright.actions.compare import band_of
from batchwright.actions.original import decode_file
from batchwright.base.errors import Fault, InputError
from batchwright.formula.fitting.asked import asked_targets, read_bounds, read_grams, read_prices
from batchwright.formula.fitting.filling import less_sweet
from batchwright.formula.fitting.fit import fit
from batchwright.formula.fitting.lines import bench_of
from batchwright.formula.fitting.records import Fitted, Rules
from batchwright.formula.fitting.toward import fit_toward
from batchwright.formula.recipes.file import formula_from_text
from batchwright.formula.records import Formula

FILE_KEYS = ("targets", "prices", "steps", "bounds", "locks", "free", "on_hand", "keep", "part")


@dataclass(frozen=True, slots=True)
class Asked:
    """What a cook asks of a fit, as written: see `fit_asked` for the forms. `on_hand` is one text with commas.

    `less_sweet_percent`: 0 = not asked. `own_only`: nothing the label names may enter.
    """

    targets: tuple[str, ...] = ()
    locks: tuple[str, ...] = ()
    free: tuple[str, ...] = ()
    bounds: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    prices: tuple[str, ...] = ()
    on_hand: str = ""
    keep: str = ""
    part: str = ""
    less_sweet_percent: float = 0.0
    same_body: bool = False
    own_only: bool = False


def fit_text(text: str, asked: Asked, original: str = "", convention: str = "") -> Fitted:
    """Return a recipe fitted to what is asked.

    text: any recipe the program reads; asked: targets and rules; original: a label file, to go toward it;
    convention: whose cups the recipe means. Raises InputError with every fault: nothing asked, targets that name
    nothing, rules that contradict each other.
    """
    formula = formula_from_text(text, convention)
    rules = rules_of(asked)
    if asked.same_body and not asked.less_sweet_percent:
        raise InputError([Fault("--same-body", "alone", "together with --less-sweet", "Say how much: --less-sweet 20")])
    if original:
        if asked.targets or asked.less_sweet_percent:
            hint = "Ask for one at a time: fit toward the original first, then its result to the target."
            raise InputError([Fault("--toward", "with targets", "alone", hint)])
        return fit_toward(formula, band_of(decode_file(original)), rules, not asked.own_only)
    if asked.less_sweet_percent:
        wider = replace(rules, no_sweeter=True)
        wishes = asked_targets(asked.targets, bench_of(formula, wider), wider, _pieces(formula))
        return less_sweet(formula, asked.less_sweet_percent, rules, asked.same_body, wishes)
    if not asked.targets:
        raise InputError([Fault("target", None, "at least one wish", 'For example: --target "fat 18..22"')])
    return fit(formula, asked_targets(asked.targets, bench_of(formula, rules), rules, _pieces(formula)), rules)


def rules_of(asked: Asked) -> Rules:
    """Return the rules that a cook wrote; raises InputError with every one that cannot be read."""
    faults: list[Fault] = []
    read: dict[str, Any] = {}
    for key, reader, given in (("bounds", read_bounds, asked.bounds), ("prices", read_prices, asked.prices),
                               ("steps", lambda texts: read_grams("step", texts), asked.steps)):  # fmt: skip
        try:
            read[key] = reader(given)
        except InputError as error:
            faults += error.faults
    if faults:
        raise InputError(faults)
    extras = tuple(each.strip() for each in re.split(r"[,;\n]", asked.on_hand) if each.strip())
    return Rules(asked.keep, asked.locks, read["bounds"], read["steps"], extras, asked.free, asked.part,
                 prices=read["prices"])  # fmt: skip


def asked_from_toml(text: str, asked: Asked) -> Asked:
    """Return what is asked with a file's wishes and rules put before those given at the terminal.

    text: TOML with [targets], [prices] (per kg), [steps], [bounds] as tables of names, and the lists locks, free and
    on_hand. Raises InputError for broken TOML and for keys it does not know.
    """
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise InputError([Fault("rules file", str(fault)[:200], "TOML")]) from fault
    faults = [Fault(f"rules file, {key}", value, ", ".join(FILE_KEYS)) for key, value in document.items()
              if key not in FILE_KEYS]  # fmt: skip
    faults += [Fault(f"rules file, {key}", document[key], f"a table [{key}]") for key in ("targets", "prices", "steps",
               "bounds") if not isinstance(document.get(key, {}), Mapping)]  # fmt: skip
    faults += [Fault(f"rules file, {key}", document[key], f'a list: {key} = ["..."]') for key in ("locks", "free",
               "on_hand") if not isinstance(document.get(key, []), list)]  # fmt: skip
    if faults:
        raise InputError(faults)
    tables = {key: document.get(key, {}) for key in ("targets", "prices", "steps", "bounds")}
    on_hand = ", ".join([*map(str, document.get("on_hand", [])), *([asked.on_hand] if asked.on_hand else [])])
    return replace(
        asked,
        targets=(*(f"{name} {_limits(value)}" for name, value in tables["targets"].items()), *asked.targets),
        prices=(*(f"{name}={value}" for name, value in tables["prices"].items()), *asked.prices),
        steps=(*(f"{name}={value}" for name, value in tables["steps"].items()), *asked.steps),
        bounds=(*(f"{name}={_limits(value)}" for name, value in tables["bounds"].items()), *asked.bounds),
        locks=(*_texts(document, "locks"), *asked.locks), free=(*_texts(document, "free"), *asked.free),
        on_hand=on_hand, keep=asked.keep or str(document.get("keep", "")),
        part=asked.part or str(document.get("part", "")),
    )  # fmt: skip


def _texts(document: Mapping[str, Any], key: str) -> Sequence[str]:
    return [str(each) for each in document.get(key, [])]


def _limits(value: Any) -> str:
    """Return limits given as text, a figure or a pair as text."""
    return f"{value[0]}..{value[1]}" if isinstance(value, list) and len(value) == 2 else str(value)


def _pieces(formula: Formula) -> float | None:
    """Return how many pieces the recipe makes, the middle of its range; None where it does not say."""
    makes = formula.makes
    if makes is None or makes.low is None:
        return None
    return (makes.low + (makes.high if makes.high is not None else makes.low)) / 2.0
