"""Nearest to an original: the distance as small as the rules allow, then the fewest and smallest changes.

The distance is a length (root of squares) over a mass. HiGHS takes straight lines only, so the length is closed in on
by its projections on ever more directions (Kelley 1960, J. SIAM 8, 703) until nothing nearer is left.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from batchwright.formula.fitting.solver import (
    LEAST_WHOLE,
    MOST_ROUNDS,
    Cone,
    Floats,
    Program,
    Solution,
    least_change,
    misses_of,
    run,
)

NEAR_DISTANCE = 3e-4  # of a distance: what closing in on it must gain
MOST_DIRECTIONS = 60
GIVEN_BACK_FRACTION, GIVEN_BACK = 0.02, 0.01
"""Of the distance gone, and at most so much distance: given back where that takes fewer or smaller changes, for it
would not be worth a trial (judgement)."""

Way = Callable[[Program, float, None, Cone], Solution | None]


def distance(program: Program, grams: Floats) -> float:
    """Return the distance of amounts (N,) [g]: root of the squared misses of the rows that add to it, of their share.

    0 where the program has none.
    """
    if program.far is None:
        return 0.0
    whole = max(float(_one_whole(program) @ grams), LEAST_WHOLE)
    return float(np.linalg.norm(program.far * misses_of(program, grams))) / whole


def _one_whole(program: Program) -> Floats:
    """Return what the rows that add to the distance are shares of (N,), as a multiple of the start's."""
    return np.asarray(program.bases[int(np.argmax(_far(program) > 0))])


def _far(program: Program) -> Floats:
    return np.zeros(len(program.rows)) if program.far is None else program.far


def nearest_in(program: Program) -> tuple[Floats, Cone] | None:
    """Return the amounts (N,) [g] of least distance that the rules allow, with the directions it took to find them.

    None without any. The quotient is handled as in `solver`: at the end nothing is nearer than the answer by more than
    NEAR_DISTANCE.
    """
    level = run(program, "any", np.inf)
    if level is None:
        return None
    best, least, whole = level.grams, distance(program, level.grams), _one_whole(program)
    cone = Cone(np.eye(len(program.rows))[_far(program) > 0], whole)
    for _ in range(MOST_DIRECTIONS):
        found = run(program, "far", least, cone=cone)
        if found is None:
            break
        lengths = _far(program) * misses_of(program, found.grams)
        length, here = float(np.linalg.norm(lengths)), max(float(whole @ found.grams), LEAST_WHOLE)
        seen = float(max(cone.directions @ lengths, default=0.0))
        if length / here < least:
            best, least = found.grams, length / here
        if length <= seen + NEAR_DISTANCE * here and seen - least * here >= -NEAR_DISTANCE * here:
            break
        cone = _wider(cone, lengths)
    return best, cone


def _wider(cone: Cone, lengths: Floats) -> Cone:
    """Return the cone with one direction more, that of some lengths (R,); the same where they are nothing."""
    size = float(np.linalg.norm(lengths))
    return Cone(np.vstack([cone.directions, lengths / size]), cone.whole) if size > 0 else cone


def solve_near(program: Program, within: float) -> Solution | None:
    """Return the fewest and smallest changes as near as the rules allow, but for a little that is given back.

    within: a distance [no unit] that is not to be given back, wherever the rules allow so little. None where the rules
    contradict each other.
    """
    return _near(program, within, least_change)


def roughly_near(program: Program, within: float) -> Solution | None:
    """Return changes as `solve_near` would, lines counted in part: quick, for choosing among very many lines.

    within: as there [no unit].
    """
    return _near(program, within, _rough)


def _near(program: Program, within: float, way: Way) -> Solution | None:
    """Return what a way finds within the least distance and what is given back of it.

    Directions are added where the answer is too far: those at the place where the straight way from it to the nearest
    comes into reach, which cuts deeper than those of the answer itself.
    """
    nearest = nearest_in(program)
    if nearest is None:
        return None
    best, cone = nearest
    least = distance(program, best)
    gone = max(0.0, distance(program, program.start) - least)
    budget = max(least + NEAR_DISTANCE, min(within, least + min(GIVEN_BACK_FRACTION * gone, GIVEN_BACK)))
    for each, rounds in ((_rough, MOST_DIRECTIONS), (way, MOST_ROUNDS)):
        for _ in range(rounds):
            found = each(program, budget, None, cone)
            if found is None or distance(program, found.grams) <= budget + NEAR_DISTANCE / 2.0:
                break
            cone = _wider(cone, _at_reach(program, best, found.grams, budget))
    if found is None or distance(program, found.grams) > budget + GIVEN_BACK:
        return Solution(best, 0.0, 0.0, proven=False)
    return found


def _rough(program: Program, budget: float, tilt: None, cone: Cone) -> Solution | None:
    return run(program, "rough", budget, tilt, cone)


def _at_reach(program: Program, near: Floats, far: Floats, budget: float) -> Floats:
    """Return the misses (R,) where the straight way from far to near amounts comes within the budget."""
    inside, outside = 0.0, 1.0
    for _ in range(20):
        middle = (inside + outside) / 2.0
        if distance(program, near + middle * (far - near)) <= budget:
            inside = middle
        else:
            outside = middle
    return _far(program) * misses_of(program, near + outside * (far - near))
