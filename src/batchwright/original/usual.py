"""What is usual of minor ingredients, laid over the prior: common practice, never a demand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from batchwright.original.prior import Prior
from batchwright.original.problem import Floats

INNER = 1.6449  # standard deviations of a normal from its middle to the end of its inner 90 %
WELL_KNOWN = ("salt", "leavening", "yeast", "spice")  # kinds of which the bank holds enough formulas to know better


def with_usual_amounts(prior: Prior, usual: Floats, kinds: Sequence[str]) -> Prior:
    """Return the prior with the usual amounts of minor ingredients (emulsifiers, colours, acids, vitamins ...) in it.

    usual: (n, 2) ends as fractions of the mass as added, nan where nothing is usual: taken as the inner 90 % of a
    log-normal. kinds: n coarse kinds; where the bank knows the kind well, its own centre and spread stay.
    """
    told = np.isfinite(usual).all(axis=1) & ~np.isin(np.asarray(kinds), WELL_KNOWN)
    if not told.any():
        return prior
    low, high = np.log(np.maximum(usual[told], 1e-6)).T
    mean, sd = np.array(prior.mean, dtype=float), np.array(prior.sd, dtype=float)
    mean[told] = (low + high) / 2
    sd[told] = np.maximum((high - low) / (2 * INNER), 0.3)
    return replace(prior, mean=mean, sd=sd)
