"""Which one more measurement would narrow the answer most, and the width to expect after it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from batchwright.original.records import Narrowing
from batchwright.original.region.problem import Floats, Problem

# One standard deviation of each measurement as a kitchen makes it: common practice, stated with the answer.
PART_ERROR_FRACTION = 0.01  # of the piece, from three pieces weighed to 0.1 g
MOISTURE_ERROR_G = 0.5  # g per 100 g, oven dried to constant weight
BRIX_ERROR_G = 1.0  # g per 100 g dissolved solids of a part
FAT_RING_ERROR_G = 2.0  # g per 100 g, ring on paper against a known fat
SERVING_CHANGE = 1.6  # another pack's serving, as a multiple of this one
EU_STEPS = {"energy_kcal": 1.0, "fat_g": 0.1, "saturated_fat_g": 0.1, "carbohydrate_g": 0.5, "fiber_g": 0.1,
            "sugars_g": 0.1, "protein_g": 0.1, "sodium_mg": 4.0}  # fmt: skip
US_STEPS = {"energy_kcal": 10.0, "fat_g": 0.5, "saturated_fat_g": 0.5, "carbohydrate_g": 1.0, "fiber_g": 1.0,
            "sugars_g": 1.0, "added_sugars_g": 1.0, "protein_g": 1.0, "sodium_mg": 10.0, "cholesterol_mg": 5.0,
            "calcium_mg": 10.0, "iron_mg": 0.1, "potassium_mg": 10.0}  # fmt: skip
UNIFORM = 12.0**-0.5  # standard deviation of a uniform step of 1


@dataclass(frozen=True, slots=True)
class Measurement:
    """What a measurement would read for each draw (N, q), and the standard deviation (q,) of its error."""

    measure: str
    reads: Floats
    error: Floats


def measurements(
    problem: Problem,
    shares: Floats,
    finished: Floats,
    serving_g: float | None,
    weighed: bool,
    taken: Sequence[str] = (),
) -> list[Measurement]:
    """Return the measurements worth offering for a food.

    shares: (N, n) fractions as added; finished: (N, m); serving_g: weight of the printed serving [g], None where panels
    are per 100 g or missing; weighed: parts were weighed already; taken: words of what was measured already.
    """
    whole = finished.sum(axis=1)
    part_of = np.asarray(problem.part_of)
    offered: list[Measurement] = []
    if problem.m > 1 and not weighed:
        for part, name in enumerate(problem.part_names):
            reads = (finished[:, part] / whole)[:, None]
            offered.append(Measurement(f"weigh the parts ({name})", reads, np.array([PART_ERROR_FRACTION])))
        offered = offered[:1]
    water = (shares @ problem.water_typical - 100.0 * (1.0 - whole)) / whole
    doubt = np.sqrt(((shares.mean(0) * (problem.water_high - problem.water_low) / 4.0) ** 2).sum())
    if "moisture" not in taken:
        error = np.array([np.hypot(MOISTURE_ERROR_G, doubt)])
        offered.append(Measurement("moisture of the food", water[:, None], error))
    for part, name in enumerate(problem.part_names if problem.m > 1 else ()):
        inside = part_of == part
        mass = np.maximum(finished[:, part], 1e-9)
        wet = (shares[:, inside] @ (problem.water_typical[inside] - 100.0)) / mass + 100.0
        sugars = (shares[:, inside] @ problem.typical[problem.nutrients.index("sugars_g")][inside]) / mass
        if float(np.median(wet)) > 8.0 and float(np.median(sugars)) > 20.0 and "brix" not in taken:
            offered.append(Measurement(f"Brix of the {name}", (100.0 - wet)[:, None], np.array([2 * BRIX_ERROR_G])))
    fat = problem.nutrients.index("fat_g") if "fat_g" in problem.nutrients else None
    if fat is not None and "fat" not in taken:
        reads = (shares @ problem.typical[fat]) / whole
        offered.append(Measurement("fat ring on paper", reads[:, None], np.array([FAT_RING_ERROR_G])))
    offered.append(_panel("another panel of this food, per 100 g", problem, shares, whole, EU_STEPS, 1.0))
    if serving_g:
        scale = 100.0 / (serving_g * SERVING_CHANGE)
        offered.append(_panel("the panel of another serving size", problem, shares, whole, US_STEPS, scale))
    return offered


def _panel(
    measure: str, problem: Problem, shares: Floats, whole: Floats, steps: dict[str, float], scale: float
) -> Measurement:
    """Return what another panel would read per 100 g; its error is its rounding and what compositions leave open."""
    keys = [key for key in steps if key in problem.nutrients]
    places = [problem.nutrients.index(key) for key in keys]
    reads = (shares @ problem.typical[places].T) / whole[:, None]
    rounding = np.array([steps[key] * scale * UNIFORM for key in keys])
    lots = np.sqrt((shares.mean(0) ** 2) @ (problem.spread[places].T ** 2)) / whole.mean()
    return Measurement(measure, reads, np.hypot(rounding, lots))


def narrow_next(outputs: Floats, width_now: Floats, offered: Sequence[Measurement]) -> tuple[Narrowing, ...]:
    """Return the measurements, best first, with the mean likely width [points] now and the one to expect.

    outputs: (N, r) what is asked for, in percent; width_now: (r,) likely widths. Draws are conditioned linearly on the
    reading (joint normal approximation): the width of each output shrinks by the root of what the reading leaves
    unexplained. Exact for normal draws; on skewed ones a fair ranking, not a promise to the digit.
    """
    if len(outputs) < 3:
        return ()
    centred = outputs - outputs.mean(axis=0)
    variance = np.maximum((centred**2).mean(axis=0), 1e-18)
    found = []
    for one in offered:
        reads = one.reads - one.reads.mean(axis=0)
        scale = np.maximum(np.sqrt((reads**2).mean(axis=0) + one.error**2), 1e-12)
        reads, error = reads / scale, one.error / scale
        covariance = reads.T @ reads / len(reads) + np.diag(error**2) + 1e-9 * np.eye(len(error))
        cross = reads.T @ centred / len(reads)
        explained = (cross * np.linalg.solve(covariance, cross)).sum(axis=0)
        left = np.sqrt(np.clip(1.0 - explained / variance, 0.0, 1.0))
        found.append(Narrowing(one.measure, float(width_now.mean()), float((width_now * left).mean())))
    return tuple(sorted(found, key=lambda step: step.width_expected))
