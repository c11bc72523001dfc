"""Fit the prior of a decode to known formulas and write its tables.

    python benchmarks/fit_prior.py CASES.jsonl TRUTH.jsonl [--out src/batchwright/data]

CASES and TRUTH are records of the benchmark form: ingredients with kind and composition, and their true shares, water
loss and family. Writes prior_formulas.csv, prior_ingredients.csv and prior_parameters.csv.
"""

from __future__ import annotations

import argparse
import csv
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import minimize

from batchwright.original.bench_form import PANEL_NAMES
from batchwright.original.sampling.bank import STEPS, Bank, Formula, composition_place, title_stems
from batchwright.original.sampling.prior import (
    ALIKE,
    LENGTHS,
    LOSS_WEIGHTS,
    NO_LOSS,
    Kriging,
    Parameters,
    alike_parts,
    squared_distance,
)

LENGTH_VALUES = np.array([0.5, 1.3, 0.6, 0.6])  # tried by hand on cross-validated likelihood; flat around here
# What the survey names by a maker is called after its kind; these formulas' titles go by their sort alone.
MADE = ("cereals", "candies, m", "sweeteners", "syrup, ", "frozen novelties")
UNTITLED = frozenset(["F03-57124000", "F03-57243870", "F23-13140900", "F23-57123000", "F23-57308400", "F23-57344010"])
SOURCE = ("usda_fndds", "releases 2.0 (2003-2004) and 2021-2023, recipe file")


def formula_from(case: Mapping[str, Any], truth: Mapping[str, Any]) -> Formula:
    """Return one record of the benchmark form with its truth as a formula of the bank."""
    items = case["ingredients"]
    keys = {PANEL_NAMES[key][0]: key for key in PANEL_NAMES}
    content = np.array([[item["per_100g"].get(keys[key]) or 0.0 for item in items] for key in STEPS])
    water = np.array([item.get("water_g") or 0.0 for item in items])
    names = tuple(item["name"] for item in items)
    return Formula(
        names,
        tuple(item["kind"] for item in items),
        composition_place(content, water),
        title_stems(case["name"]),
        case["category"],
        np.array([truth["shares"][name] for name in names]),
        truth["water_loss"],
        truth["family"],
    )


def _kernels(bank: Bank, kind: str) -> list[np.ndarray]:
    at = bank.rows_of[kind]
    same = (bank.name_of[at][:, None] == bank.name_of[at][None]).astype(float)
    content = squared_distance(bank.place[at], bank.place[at])
    return alike_parts(bank.alike_within(bank.formula_of[at]), same, content, LENGTH_VALUES)


def fit_shares(bank: Bank, rounds: int = 40) -> dict[str, Any]:
    """Return weights, mean, scale and noise that make the bank's log shares likeliest, under weak priors."""
    kinds = list(bank.kinds)
    kernels = {kind: np.array(_kernels(bank, kind)) for kind in kinds}
    mean = {kind: float(bank.log_share[bank.rows_of[kind]].mean()) for kind in kinds}
    w = len(ALIKE)

    def cost(theta: np.ndarray) -> tuple[float, np.ndarray]:
        weights, scales, noises = np.exp(theta[:w]), np.exp(theta[w : w + len(kinds)]), np.exp(theta[w + len(kinds) :])
        total, slope = 0.0, np.zeros_like(theta)
        for k, kind in enumerate(kinds):
            rest = bank.log_share[bank.rows_of[kind]] - mean[kind]
            whole = np.tensordot(weights, kernels[kind], 1)
            covariance = scales[k] * whole + noises[k] * np.eye(len(rest))
            inverse = np.linalg.inv(covariance)
            solved = inverse @ rest
            total += 0.5 * rest @ solved + np.log(np.diag(np.linalg.cholesky(covariance))).sum()
            inner = 0.5 * (inverse - np.outer(solved, solved))
            slope[:w] += scales[k] * np.tensordot(kernels[kind], inner, 2) * weights
            slope[w + k] += (inner * whole).sum() * scales[k]
            slope[w + len(kinds) + k] += np.trace(inner) * noises[k]
        centres = np.concatenate([np.full(w, np.log(0.1)), np.zeros(len(kinds)), np.full(len(kinds), np.log(0.3))])
        widths = np.concatenate([np.full(w, 2.0), np.full(len(kinds), 0.5), np.full(len(kinds), 0.7)])
        off = (theta - centres) / widths
        return total + 0.5 * off @ off, slope + off / widths

    start = np.concatenate([np.full(w, np.log(0.1)), np.zeros(len(kinds)), np.full(len(kinds), np.log(0.3))])
    bounds = [(-9.0, 3.0)] * w + [(-3.0, 3.0)] * len(kinds) + [(-5.0, 2.0)] * len(kinds)
    best = minimize(cost, start, jac=True, method="L-BFGS-B", bounds=bounds, options={"maxiter": rounds}).x
    scales, noises = np.exp(best[w : w + len(kinds)]), np.exp(best[w + len(kinds) :])
    return {
        "weights": np.exp(best[:w]),
        "mean": mean,
        "scale": dict(zip(kinds, scales.tolist(), strict=True)),
        "noise": dict(zip(kinds, noises.tolist(), strict=True)),
    }


def fit_loss(bank: Bank, rounds: int = 600) -> np.ndarray:
    """Return the 15 parameters of the loss: weights for "none", for "how much", and the shape.

    Each formula is foretold from all others but those of its own family.
    """
    lists = bank.alike_within(np.arange(len(bank.known)))
    lists["count"] = -lists["count"]
    lists["water"] = (bank.with_water[:, None] == bank.with_water[None]).astype(float)
    table = np.array([lists[name] for name in LOSS_WEIGHTS])
    family = np.array([f.family for f in bank.known])
    kin = family[:, None] == family[None]
    none, loss = bank.loss < NO_LOSS, bank.loss

    def cost(theta: np.ndarray) -> float:
        pulls = np.where(kin, -np.inf, np.tensordot(theta[:6], table, 1))
        weight = np.exp(pulls - pulls.max(axis=1, keepdims=True))
        few = np.exp(theta[12])
        chance = np.clip((weight @ none + few * none.mean()) / (weight.sum(axis=1) + few), 0.01, 0.99)
        pulls = np.where(kin | none[None], -np.inf, np.tensordot(theta[6:12], table, 1))
        weight = np.exp(pulls - pulls.max(axis=1, keepdims=True))
        few = np.exp(theta[13])
        centre, spread, total = loss[~none].mean(), loss[~none].var(), weight.sum(axis=1) + few
        mean = (weight @ loss + few * centre) / total
        squares = (weight * (loss[None] - mean[:, None]) ** 2).sum(axis=1)
        variance = (squares + few * (spread + (mean - centre) ** 2)) / total * np.exp(theta[14]) + 1e-4
        some = np.log(1.0 - chance) - 0.5 * (loss - mean) ** 2 / variance - 0.5 * np.log(variance)
        return float(-np.where(none, np.log(chance), some).mean() + 1e-4 * (theta**2).sum())

    start = np.array([4.0, 7.0, 2.5, 0.6, 0.5, 0.2, 5.0, 6.0, 1.3, 1.0, 0.5, 0.2, -3.0, -4.0, 0.0])
    found = minimize(cost, start, method="Powell", options={"maxfev": rounds}).x
    return np.asarray(found)


def fit(known: Sequence[Formula]) -> Parameters:
    """Return all parameters fitted to the formulas given."""
    bank = Bank(known)
    shares, loss = fit_shares(bank), fit_loss(bank)
    return Parameters(
        shares["weights"],
        LENGTH_VALUES,
        shares["mean"],
        shares["scale"],
        shares["noise"],
        loss[:6],
        loss[6:12],
        loss[12:],
    )


def fitted(known: Sequence[Formula]) -> Kriging:
    """Return the formulas as a bank with the parameters fitted to them."""
    return Kriging(Bank(known), fit(known))


def _write(path: Path, header: Sequence[str], lines: Sequence[Sequence[Any]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as handle:
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow([*header, "source", "locator", "basis"])
        writer.writerows(lines)


def _plain_names(content: Mapping[str, Sequence[tuple[str, list[float]]]]) -> dict[str, str]:
    """Return, for each ingredient of the survey, the name it goes by in the bank."""
    counts: dict[str, int] = {}
    names = {}
    for name in sorted(content):
        kind = content[name][0][0]
        if name.startswith(MADE) and name != "candies, marshmallows":
            counts[kind] = counts.get(kind, 0) + 1
            names[name] = f"packaged {kind.replace('_', ' ')} {counts[kind]}"
        else:
            names[name] = name
    return names


def write_tables(cases: Sequence[Mapping[str, Any]], truths: Sequence[Mapping[str, Any]], out: Path) -> None:
    """Write the bank and the parameters fitted to it."""
    content: dict[str, list[tuple[str, list[float]]]] = {}
    lines = []
    keys = {PANEL_NAMES[key][0]: key for key in PANEL_NAMES}
    for case in cases:
        for item in case["ingredients"]:
            figures = [float(item["per_100g"].get(keys[key]) or 0.0) for key in STEPS] + [float(item["water_g"] or 0.0)]
            content.setdefault(item["name"], []).append((item["kind"], figures))
    plain = _plain_names(content)
    for case, truth in zip(cases, truths, strict=True):
        title = case["category"].replace("_", " ") if case["id"] in UNTITLED else case["name"]
        shares = "; ".join(f"{plain[name]}={share:.5g}" for name, share in truth["shares"].items())
        lines.append([case["id"], title, case["category"], truth["family"], f"{truth['water_loss']:.5g}", shares,
                      SOURCE[0], f"{SOURCE[1]}, food {case['id']}", "calculated"])  # fmt: skip
    _write(out / "prior_formulas.csv", ["formula", "title", "sort", "family", "water_loss", "shares"], lines)
    ingredients = [
        [plain[name], found[0][0], *[f"{value:.5g}" for value in np.mean([f for _, f in found], axis=0)], SOURCE[0],
         "nutrient values of the recipe file's ingredient, mean of the releases", "calculated"]
        for name, found in sorted(content.items())
    ]  # fmt: skip
    _write(out / "prior_ingredients.csv", ["name", "kind", *STEPS, "water_g"], ingredients)
    best = fit([formula_from(case, truth) for case, truth in zip(cases, truths, strict=True)])
    groups: list[tuple[str, Mapping[str, float]]] = [
        ("weight", dict(zip(ALIKE, best.weights, strict=True))),
        ("length", dict(zip(LENGTHS, best.lengths, strict=True))),
        ("mean", best.mean),
        ("scale", best.scale),
        ("noise", best.noise),
        ("none", dict(zip(LOSS_WEIGHTS, best.none_weights, strict=True))),
        ("loss", dict(zip(LOSS_WEIGHTS, best.loss_weights, strict=True))),
        ("loss_shape", dict(zip(("none_count", "loss_count", "loss_factor"), best.loss_shape, strict=True))),
    ]
    fit_row = ["batchwright_fit", "benchmarks/fit_prior.py on prior_formulas.csv", "calculated"]
    figures = [[group, name, f"{value:.6g}", *fit_row] for group, values in groups for name, value in values.items()]
    _write(out / "prior_parameters.csv", ["group", "name", "value"], figures)


def main() -> None:
    """Read the two files and write the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("cases", type=Path)
    parser.add_argument("truth", type=Path)
    parser.add_argument("--out", type=Path, default=Path("src/batchwright/data"))
    given = parser.parse_args()
    cases = [json.loads(line) for line in given.cases.read_text(encoding="utf-8").splitlines()]
    truth = {record["id"]: record for record in map(json.loads, given.truth.read_text(encoding="utf-8").splitlines())}
    write_tables(cases, [truth[case["id"]] for case in cases], given.out)


if __name__ == "__main__":
    main()
