"""What a formula holds, as mixed and as finished, for each part and the whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from batchwright.base.estimate import Estimate


def ends(estimate: Estimate) -> dict[str, float]:
    """Return low, likely and high of an estimate to four decimals."""
    return {name: round(getattr(estimate, name), 4) for name in ("low", "likely", "high")}


@dataclass(frozen=True, slots=True)
class Content:
    """One part, or the whole: masses [g] and what 100 g hold, as mixed and as finished.

    `mixed` and `finished` map the names of CONTENT_KEYS to estimates per 100 g; carbohydrate includes fibre. `baked` is
    False where nothing is lost between bowl and plate as far as is known.
    """

    name: str
    mixed_g: Estimate
    finished_g: Estimate
    loss_percent: Estimate
    mixed: Mapping[str, Estimate]
    finished: Mapping[str, Estimate]
    baked: bool = False

    def to_json(self) -> dict[str, Any]:
        """Return all fields; each estimate with low, likely and high."""
        return {
            "name": self.name,
            "mixed_g": ends(self.mixed_g),
            "finished_g": ends(self.finished_g),
            "loss_percent": ends(self.loss_percent),
            "mixed": {key: ends(value) for key, value in self.mixed.items()},
            "finished": {key: ends(value) for key, value in self.finished.items()},
            "baked": self.baked,
        }


@dataclass(frozen=True, slots=True)
class Mass:
    """Where a mass goes [g]: what was written, what processes add and take, what the oven takes, what is left."""

    what: str
    grams: float

    def to_json(self) -> dict[str, Any]:
        """Return both fields."""
        return {"what": self.what, "grams": round(self.grams, 3)}


@dataclass(frozen=True, slots=True)
class Composition:
    """Composition of a formula. `balance` begins with what was written, then gains (+) and losses (-), and ends with
    what is finished; its items sum to the last. `left_out` names the lines without grams."""

    whole: Content
    parts: tuple[Content, ...]
    balance: tuple[Mass, ...]
    left_out: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return all fields."""
        return {
            "whole": self.whole.to_json(),
            "parts": [part.to_json() for part in self.parts],
            "balance": [each.to_json() for each in self.balance],
            "left_out": list(self.left_out),
            "notes": list(self.notes),
        }
