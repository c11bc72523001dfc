"""A computed answer with its range and what it rests on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value that is not known exactly.

    `low`..`high` is the likely range (90 %) and `likely` its middle; `sure_low`..`sure_high` is what cannot be
    otherwise, absent where nothing guarantees it. All five are in `unit`.
    """

    likely: float
    low: float
    high: float
    sure_low: float | None = None
    sure_high: float | None = None
    unit: str = ""
    method: str = ""
    sources: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return the five numbers, and the words where there are any."""
        numbers: dict[str, Any] = {
            "likely": self.likely,
            "low": self.low,
            "high": self.high,
            "sure_low": self.sure_low,
            "sure_high": self.sure_high,
        }
        for name in ("unit", "method"):
            if getattr(self, name):
                numbers[name] = getattr(self, name)
        for name in ("sources", "notes"):
            if getattr(self, name):
                numbers[name] = list(getattr(self, name))
        return numbers

    @classmethod
    def from_json(cls, document: dict[str, Any]) -> Estimate:
        """Read back what `to_json` wrote."""
        words: dict[str, Any] = {name: tuple(document.get(name, ())) for name in ("sources", "notes")}
        return cls(**{**document, **words})

    def scaled(self, factor: float, unit: str) -> Estimate:
        """Return the same estimate times `factor` [> 0], in another unit."""
        if factor <= 0:
            raise ValueError(f"factor: got {factor!r}; allowed: above 0")
        sure = [None if end is None else end * factor for end in (self.sure_low, self.sure_high)]
        return Estimate(self.likely * factor, self.low * factor, self.high * factor, sure[0], sure[1], unit,
                        self.method, self.sources, self.notes)
