"""The tear-down: a few pieces weighed, measured and scraped apart -> shares, sizes and water with honest ranges."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from batchwright.base.errors import Fault, InputError
from batchwright.base.estimate import Estimate
from batchwright.original.panels.values import read_value
from batchwright.original.small_sample import SURE_TIMES, around, half_width_90, mean_estimate, spread_table
from batchwright.original.teardown_records import Part, TearDown

PIECE_KEYS = {"pieces_weighed_g", "pieces_g", "piece_g", "piece_mass_g", "piece_weights_g", "weights_g", "whole_g"}
RESIDUE_KEYS = {"knife_g", "residue_g", "left_on_knife_g", "knife_residue_g", "on_the_knife_g"}
COUNT_KEYS = ("pieces", "count", "pieces_counted")
TOTAL_KEYS = ("total_g", "pieces_total_g", "all_pieces_g", "net_g")
PART_ENDS = ("_scraped_g", "_weighed_g", "_mass_g", "_g")
THIN = re.compile(r"thick|height|wall|layer|depth|relief|sheet")
WHOLE = {"", "piece", "whole", "all"}
AGAIN = "Weigh or measure it again, or leave it out."
LONGEST_LIST = 10_000
MOST_RESIDUE = 5 / 3  # of the stated 3 %: common practice gives 2 to 5 %
SHARES = "weighed parts, residue either way"


@dataclass
class _Bench:
    """What was found on the bench, before anything is worked out."""

    pieces: list[float] = field(default_factory=list)
    parts: dict[str, list[float]] = field(default_factory=dict)
    residue: list[float] = field(default_factory=list)
    sizes: dict[str, list[float]] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)
    water: dict[str, list[float]] = field(default_factory=dict)
    brix: dict[str, list[float]] = field(default_factory=dict)
    total: float | None = None
    count: int | None = None
    named: list[str] = field(default_factory=list)
    refused: list[Fault] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def read_teardown(mapping: Mapping[str, Any]) -> TearDown:
    """Return shares, sizes and water of the original from a few measurements.

    mapping: `pieces_g` = list of piece weights; `parts_g` = {name = list} or keys such as `filling_scraped_g`;
    `knife_g` what stayed on the knife; keys ending `_mm` or `_cm` sizes; whole numbers counts; `moisture_percent`,
    `filling_moisture_percent`, `filling_brix`; `pieces` with `total_g` for pieces weighed together. Each holds one
    number or a list; three pieces are enough. Ranges: Student's t, a stated spread of the trade counting for two
    readings; part shares sum to 100 and are widened by the residue either way. Raises InputError for what cannot be
    (a weight of 0, Brix above 100), all faults together. Example: pieces of 18.2, 17.9 and 18.1 g.
    """
    if not isinstance(mapping, Mapping):
        raise InputError([Fault("teardown", mapping, "keys and readings, such as pieces_g = [18.2, 17.9]")])
    bench = _Bench()
    for key, value in mapping.items():
        _take(bench, str(key).strip().lower()[:80] or "a key without a name", value)
    if bench.refused:
        raise InputError(bench.refused)
    return _worked_out(bench)


def _take(bench: _Bench, key: str, value: Any) -> None:
    if key in ("parts_g", "parts") and isinstance(value, Mapping):
        for name, readings in value.items():
            _keep(bench, bench.parts, str(name).strip().lower()[:60], f"{key}.{name}", readings)
    elif key == "parts" and isinstance(value, (list, tuple)):
        bench.named = [str(name).strip().lower()[:60] for name in value[:50]]
    elif key in ("moisture_percent", "water_percent", "brix") and isinstance(value, Mapping):
        store = bench.brix if key == "brix" else bench.water
        for name, readings in value.items():
            _keep(bench, store, str(name).strip().lower()[:60], f"{key}.{name}", readings, 100.0)
    elif key == "counts" and isinstance(value, Mapping):
        for name, count in value.items():
            _count(bench, str(name), count)
    elif isinstance(value, str) and not re.match(r"\s*[-<]?\s*[0-9.,]+\s*[a-z%]{0,4}\s*$", value[:40].lower()):
        bench.notes.append(f"{key}: {value[:200]}")
    else:
        _take_readings(bench, key, value)


def _take_readings(bench: _Bench, key: str, value: Any) -> None:
    if key in PIECE_KEYS:
        bench.pieces.extend(_readings(bench, key, value))
    elif key in RESIDUE_KEYS:
        bench.residue.extend(_readings(bench, key, value, least=0.0))
    elif key in TOTAL_KEYS:
        bench.total = next(iter(_readings(bench, key, value)), None)
    elif key in COUNT_KEYS and isinstance(value, int):
        found = _readings(bench, key, value)
        bench.count = int(found[0]) if found else None
    elif match := re.fullmatch(r"(.*?)_?(?:moisture|water)(?:_percent|_pct)?", key):
        _keep(bench, bench.water, match[1], key, value, 100.0)
    elif match := re.fullmatch(r"(.*?)_?brix", key):
        _keep(bench, bench.brix, match[1], key, value, 100.0)
    elif key.endswith(("_mm", "_cm")):
        factor = 10.0 if key.endswith("_cm") else 1.0
        sizes = [reading * factor for reading in _readings(bench, key, value)]
        if sizes:
            bench.sizes[key[:-3]] = sizes
    elif end := next((end for end in PART_ENDS if key.endswith(end)), None):
        _keep(bench, bench.parts, key[: -len(end)], key, value)
    elif isinstance(value, int) and not isinstance(value, bool):
        _count(bench, key, value)
    else:
        bench.notes.append(f"not used: {key}")


def _count(bench: _Bench, name: str, value: Any) -> None:
    if isinstance(value, int) and not isinstance(value, bool) and value >= 0:
        bench.counts[name[:60]] = value
    else:
        bench.refused.append(Fault(name or "counts", value, "a whole number, 0 or more"))


def _keep(
    bench: _Bench, store: dict[str, list[float]], name: str, key: str, value: Any, top: float | None = None
) -> None:
    readings = _readings(bench, key, value, top)
    if readings:
        store.setdefault("" if name in WHOLE else name, []).extend(readings)


def _readings(bench: _Bench, key: str, value: Any, top: float | None = None, least: float | None = None) -> list[float]:
    """Return the readings of one key; what cannot be is told and left out."""
    items = list(value) if isinstance(value, (list, tuple)) else [value]
    if len(items) > LONGEST_LIST:
        bench.refused.append(Fault(key, f"{len(items)} readings", f"up to {LONGEST_LIST} readings"))
        return []
    found: list[float] = []
    for place, item in enumerate(items):
        name = key if len(items) == 1 else f"{key}[{place}]"
        read = read_value(name, item)
        if isinstance(read, Fault):
            bench.refused.append(Fault(name, item, "a figure above 0, such as 18.2", AGAIN))
        elif read.kind not in ("number", "percent"):
            bench.refused.append(Fault(name, item, "a number"))
        else:
            number = float(read.percent_dv if read.kind == "percent" and read.percent_dv is not None else read.number)
            if (number < least if least is not None else number <= 0) or (top is not None and number > top):
                allowed = f"above 0 and at most {top:g}" if top is not None else "above 0"
                bench.refused.append(Fault(name, item, allowed, AGAIN))
            else:
                found.append(number)
    return found


def _worked_out(bench: _Bench) -> TearDown:
    spread = spread_table()
    piece = None
    if bench.pieces:
        piece = mean_estimate(bench.pieces, spread["piece_mass"], "g", "mean of weighed pieces, Student's t")
        _odd_ones(bench, "pieces_g", bench.pieces)
    elif bench.total and bench.count:
        mean = bench.total / bench.count
        half = 1.645 * spread["piece_mass"] * mean / bench.count**0.5
        piece = around(mean, half, "g", "pieces weighed together, stated spread", bench.count)
    sizes = {}
    for name, readings in bench.sizes.items():
        kind = "thickness" if THIN.search(name) else "length"
        sizes[name] = mean_estimate(readings, spread[kind], "mm", "mean of measurements, Student's t")
        _odd_ones(bench, name, readings)
    water = {name: _instrument(readings, spread["moisture"], "%") for name, readings in bench.water.items()}
    brix = {name: _instrument(readings, spread["brix"], "°Bx") for name, readings in bench.brix.items()}
    parts = _parts(bench, piece, water, brix)
    for name in (*water, *brix):
        if name and all(part.name != name for part in parts):
            bench.notes.append(f"{name}: measured, but the part itself was not weighed")
    return TearDown(piece, parts, sizes, dict(bench.counts), water.get(""), brix.get(""), tuple(bench.faults),
                    tuple(bench.notes))  # fmt: skip


def _odd_ones(bench: _Bench, field_name: str, readings: Sequence[float]) -> None:
    """Tell of a reading far from the others: a slipped decimal point widens every range."""
    middle = float(np.median(readings))
    for reading in readings:
        if len(readings) > 2 and not 0.5 * middle <= reading <= 2.0 * middle:
            hint = "A slipped decimal point, or a broken piece? It was kept."
            bench.faults.append(Fault(field_name, reading, f"near the others ({middle:g})", hint))


def _instrument(readings: Sequence[float], error: float, unit: str) -> Estimate:
    """Return a measured percentage: its mean, with the instrument's own error beside the spread of the readings."""
    half = error
    if len(readings) > 1:
        half = float(np.hypot(error, half_width_90(readings, 0.0)))
    return around(
        float(np.mean(readings)), half, unit, "measured; error of the instrument as stated", len(readings), 100.0
    )


def _parts(
    bench: _Bench, piece: Estimate | None, water: Mapping[str, Estimate], brix: Mapping[str, Estimate]
) -> tuple[Part, ...]:
    names = list(bench.parts)
    if not names:
        return ()
    means = {name: float(np.mean(readings)) for name, readings in bench.parts.items()}
    halves = {name: half_width_90(bench.parts[name], spread_table()["part_mass"]) for name in names}
    residue = float(np.mean(bench.residue)) if bench.residue else 0.0
    if len(names) == 1:
        if piece is None or piece.likely <= means[names[0]]:
            if piece is not None:
                bench.faults.append(
                    Fault(
                        names[0],
                        means[names[0]],
                        f"less than a piece ({piece.likely:g} g)",
                        "Is it the weight of one part of one piece?",
                    )
                )
            return ()
        rest = _name_of_rest(bench, names[0])
        names.append(rest)
        means[rest] = piece.likely - means[names[0]] - residue
        if means[rest] <= 0:
            return ()
        halves[rest] = float(np.hypot(halves[names[0]], piece.high - piece.likely))
        bench.notes.append(f"{rest}: what the piece weighs beyond {names[0]}")
    elif piece is not None:
        _account(bench, piece, sum(means.values()), residue)
    total = sum(means.values())
    found = []
    for name in names:
        share = means[name] / total
        stuck = residue / (total + residue) if bench.residue else spread_table()["residue"] * min(share, 1 - share)
        half = _share_half(bench, name, names, means, halves, total)
        wide = float(np.hypot(half, 0.9 * stuck))
        sure = SURE_TIMES * half + (stuck if bench.residue else stuck * MOST_RESIDUE)
        estimate = Estimate(
            100 * share, 100 * max(0.0, share - wide), 100 * min(1.0, share + wide),
            100 * max(0.0, share - max(sure, wide)), 100 * min(1.0, share + max(sure, wide)), "%", SHARES,
            ("nist_handbook", "trade_practice"), (_words(bench, residue),),
        )  # fmt: skip
        mass = around(means[name], float(np.hypot(halves[name], 0.9 * stuck * total)), "g", SHARES,
                      len(bench.parts.get(name, bench.pieces)) or 1)  # fmt: skip
        found.append(Part(name, estimate, mass, water.get(name), brix.get(name)))
    return tuple(found)


def _name_of_rest(bench: _Bench, known: str) -> str:
    """Return the name of the part that was not weighed, where the cook named it."""
    others = [name for name in bench.named if name != known]
    return others[0] if len(others) == 1 else "rest"


def _words(bench: _Bench, residue: float) -> str:
    if bench.residue:
        return f"{residue:.3g} g stayed on the knife; it may belong to either part"
    return "no residue was weighed: 3 % of the smaller part may sit on the other"


def _share_half(
    bench: _Bench,
    name: str,
    names: Sequence[str],
    means: Mapping[str, float],
    halves: Mapping[str, float],
    total: float,
) -> float:
    """Return the half width of a share [fraction]: from pieces taken apart one by one where all parts were, else from
    the parts' own ranges (first-order propagation of m / (m + others))."""
    columns = [bench.parts.get(other, []) for other in names]
    share = means[name] / total
    lengths = {len(column) for column in columns}
    if len(lengths) == 1 and min(lengths) >= 2:
        table = np.asarray(columns)
        shares = table[names.index(name)] / table.sum(axis=0)
        relative = spread_table()["part_mass"] * float(np.sqrt(2)) * (1 - share)
        return half_width_90([float(value) for value in shares], relative)
    others = float(np.sqrt(sum(halves[other] ** 2 for other in names if other != name)))
    return float(np.hypot((1 - share) * halves[name], share * others)) / total


def _account(bench: _Bench, piece: Estimate, parts: float, residue: float) -> None:
    """Tell whether the parts add up to the piece."""
    missing = piece.likely - parts - residue
    slack = 0.03 * piece.likely + (piece.high - piece.likely)
    if missing > slack:
        bench.notes.append(f"{missing:.3g} g of the piece is not accounted for: crumbs, or a part not weighed")
    elif -missing > slack:
        bench.faults.append(Fault("parts_g", round(parts, 3), f"together a piece ({piece.likely:.4g} g)",
                                  "The parts weigh more than the piece: check the scale."))  # fmt: skip
