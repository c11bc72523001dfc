"""The one picture of an estimate: a thin line for what is sure, a bar for what is likely, a dot for the likeliest.

Pages, prints and documents draw with these functions alone. The original is drawn broken with a hollow ring, a trial of
ours solid with a filled dot. Sizes are in percent of the axis, so that a picture stretches with its column; styling is
by class, as the pages allow no style attributes.
"""

from __future__ import annotations

from html import escape

from batchwright.base.estimate import Estimate
from batchwright.base.shown import shown_number, shown_range, shown_sure_range

HEIGHT = 28  # CSS px of one row's picture


def range_words(name: str, estimate: Estimate, unit: str = "%") -> str:
    """Return an estimate in words, the text equivalent of its picture: "sugar: likely 24 %, between 19 and 30"."""
    width = estimate.high - estimate.low
    said = f"{name}: likely {shown_number(estimate.likely, width)} {unit}".rstrip()
    if estimate.high - estimate.low > 0:
        said += f", between {shown_range(estimate.low, estimate.high, ' and ')}"
    if estimate.sure_low is not None and estimate.sure_high is not None:
        said += f"; surely {shown_sure_range(estimate.sure_low, estimate.sure_high, ' to ')}"
    return said


def range_svg(name: str, estimate: Estimate, axis_max: float, unit: str = "%", ours: bool = False) -> str:
    """Return an estimate drawn on an axis from 0 to `axis_max` [> 0, unit of the estimate] as SVG, with its words.

    ours: drawn as our own trial (solid line, filled dot) instead of the original (broken line, hollow ring).
    """
    middle = HEIGHT / 2
    kind = "ours" if ours else "original"
    parts = [
        f'<svg class="range {kind}" width="100%" height="{HEIGHT}" role="img" aria-label="'
        f'{escape(range_words(name, estimate, unit), quote=True)}" focusable="false">'
    ]
    parts.append(f'<line class="axis" x1="0" x2="100%" y1="{middle:g}" y2="{middle:g}"/>')
    if estimate.sure_low is not None and estimate.sure_high is not None:
        low, high = _place(estimate.sure_low, axis_max), _place(estimate.sure_high, axis_max)
        parts.append(f'<line class="sure" x1="{low}" x2="{high}" y1="{middle:g}" y2="{middle:g}"/>')
        for end in (low, high):
            parts.append(f'<line class="sure end" x1="{end}" x2="{end}" y1="{middle - 5:g}" y2="{middle + 5:g}"/>')
    low_percent, high_percent = _percent(estimate.low, axis_max), _percent(estimate.high, axis_max)
    wide = max(high_percent - low_percent, 0.4)
    parts.append(
        f'<rect class="likely" x="{low_percent:.2f}%" width="{wide:.2f}%" y="{middle - 5:g}" height="10" rx="2"/>'
    )
    parts.append(f'<circle class="likeliest" cx="{_place(estimate.likely, axis_max)}" cy="{middle:g}" r="5"/></svg>')
    return "".join(parts)


def axis_svg(axis_max: float, unit: str = "%") -> str:
    """Return the scale above a column of ranges: its two ends and its middle, from 0 to `axis_max` [> 0]."""
    marks = (("0", "start", "0"), (f"{axis_max / 2:g}", "middle", "50%"), (f"{axis_max:g} {unit}", "end", "100%"))
    texts = "".join(f'<text x="{x}" y="12" text-anchor="{anchor}">{escape(text)}</text>' for text, anchor, x in marks)
    return f'<svg class="scale" width="100%" height="16" aria-hidden="true" focusable="false">{texts}</svg>'


def ghost_svg(low_percent: float, likely_percent: float, high_percent: float) -> str:
    """Return what an empty page shows where a range will stand, on an axis to 60 %: no figures, no words."""
    estimate = Estimate(likely_percent, low_percent, high_percent)
    drawn = range_svg("", estimate, 60.0)
    return drawn.replace(drawn[drawn.index(' role="img"') : drawn.index(' focusable=')], ' aria-hidden="true"')


def _percent(value: float, axis_max: float) -> float:
    return 100.0 * min(1.0, max(0.0, value / axis_max))


def _place(value: float, axis_max: float) -> str:
    return f"{_percent(value, axis_max):.2f}%"
