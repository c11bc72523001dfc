"""Panel figures with a digit lost or a decimal point shifted: what they may have been."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from batchwright.base.errors import InputError
from batchwright.original.panels.rounding import printed_interval
from batchwright.original.region.bounds import ratio_bounds, region
from batchwright.original.region.problem import PanelRow, Problem
from batchwright.original.region.slip import Slip, with_figure
from batchwright.original.region.strain import contents, figure_width, fits

FIGURE = re.compile(r"\d{1,9}(?:[.,]\d{1,9})?")


def digit_slips(problem: Problem, conflict: frozenset[str], often: float) -> Iterator[Slip]:
    """Yield panel figures of a conflict with a digit lost or a decimal point shifted.

    often: the chance of such a slip, shared out over the panel [-, > 0].
    """
    scale = printed_scale(problem)
    count = len(problem.panel)
    for figure in problem.panel:
        if figure.line not in conflict:
            continue
        without = replace(problem, panel=tuple(one for one in problem.panel if one is not figure))
        if not fits(region(without)):
            continue
        low, high = _possible(without, figure)
        for value, share in _readings(figure):
            least_value, most_value = _stands_for(figure, value, scale[figure.line])
            if most_value < low or least_value > high:
                continue
            words = f"{figure.line}: was a digit or a decimal point lost ({value:g})?"
            mended = with_figure(problem, figure, least_value, most_value)
            yield Slip("digit", (figure.line,), words, often * share / count, mended)


def _possible(without: Problem, figure: PanelRow) -> tuple[float, float]:
    """Return the range per 100 g finished that the rest of the label allows a figure."""
    n, width = without.n, without.n + without.m
    parts = figure.parts or tuple(range(without.m))
    inside = np.isin(np.asarray(without.part_of), parts)
    finished = np.zeros(width)
    finished[[n + part for part in parts]] = 1.0
    numerators = np.zeros((2, width))
    shift = 0.0 if figure.nutrient in without.nutrients else 100.0
    for row, content in zip(numerators, contents(without, figure), strict=True):
        row[:n] = np.where(inside, content - shift, 0.0)
        row[n:] = shift * finished[n:]
    low, high = ratio_bounds(without, numerators, finished)
    return float(low[0]), float(high[1])


def printed_scale(problem: Problem) -> dict[str, float]:
    """Return, by panel line, the amount per 100 g that one printed unit stands for, where it can be read."""
    own: dict[str, float] = {}
    for figure in problem.panel:
        number = FIGURE.search(figure.line)
        value = float(number.group().replace(",", ".")) if number else 0.0
        if value > 0.0 and np.isfinite(figure.high) and figure.high > 0.0:
            own[figure.line] = (figure.low + figure.high) / 2.0 / value
    usual = float(np.median(list(own.values()))) if own else 1.0
    return {
        figure.line: own[figure.line] if figure_width(figure) < 0.3 * figure.high and figure.line in own else usual
        for figure in problem.panel
    }


def _readings(figure: PanelRow) -> Iterator[tuple[float, float]]:
    """Yield what a printed figure may have been before the slip, with its share of the chance."""
    number = FIGURE.search(figure.line)
    if number is None or not np.isfinite(figure.high):
        return
    text = number.group().replace(",", ".")
    value = float(text)
    shifted = {value * 10.0: 0.2, value / 10.0: 0.1} if value else {}
    options = {text[:place] + digit + text[place:] for place in range(len(text) + 1) for digit in "0123456789"}
    if text.startswith("0."):  # the lost digit stood where the nought stands
        options |= {digit + text[1:] for digit in "123456789"}
    if "." not in text:
        options |= {f"{text}.{digit}" for digit in "123456789"}
    values = {float(option) for option in options if not re.match(r"0\d", option)} - {value, *shifted}
    yield from shifted.items()
    for other in sorted(values):
        yield other, (1.0 - sum(shifted.values())) / len(values)


def _stands_for(figure: PanelRow, value: float, scale: float) -> tuple[float, float]:
    """Return the interval per 100 g that another printed value stands for: as the US rules round, else as given."""
    half = figure_width(figure) / 2.0
    low, high = max(value * scale - half, 0.0), value * scale + half
    try:
        rounded = printed_interval("US", figure.nutrient, f"{value:g}")
    except InputError:  # a nutrient without rounding rules
        return low, high
    return (rounded.low * scale, rounded.high * scale) if rounded.lawful else (low, high)
