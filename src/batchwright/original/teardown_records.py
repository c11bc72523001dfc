"""The torn-down piece: what it weighs, how its mass is split between parts, how large it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from batchwright.base.errors import Fault
from batchwright.base.estimate import Estimate


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the finished piece: its share of the piece [percent], its mass [g], water [percent] and Brix.

    `brix` is degrees Brix of the part's syrup; `water_percent` a measured moisture. Both None where not measured.
    """

    name: str
    share_percent: Estimate
    mass_g: Estimate | None = None
    water_percent: Estimate | None = None
    brix: Estimate | None = None

    def to_json(self) -> dict[str, Any]:
        """Return the part with its estimates."""
        document: dict[str, Any] = {"name": self.name, "share_percent": self.share_percent.to_json()}
        for name in ("mass_g", "water_percent", "brix"):
            value = getattr(self, name)
            document[name] = value.to_json() if value is not None else None
        return document

    @classmethod
    def from_json(cls, document: Mapping[str, Any]) -> Part:
        """Read back what `to_json` wrote."""
        rest = {name: _estimate(document.get(name)) for name in ("mass_g", "water_percent", "brix")}
        return cls(document["name"], Estimate.from_json(document["share_percent"]), **rest)


@dataclass(frozen=True, slots=True)
class TearDown:
    """What scale, caliper and refractometer say of the original.

    `parts` have shares whose likely values sum to 100; empty where no part was weighed. `sizes_mm` by name, `counts` as
    counted (sheets, layers, holes). `water_percent` and `brix` speak of the whole piece.
    """

    piece_mass_g: Estimate | None = None
    parts: tuple[Part, ...] = ()
    sizes_mm: Mapping[str, Estimate] = field(default_factory=dict)
    counts: Mapping[str, int] = field(default_factory=dict)
    water_percent: Estimate | None = None
    brix: Estimate | None = None
    faults: tuple[Fault, ...] = ()
    notes: tuple[str, ...] = ()

    def part(self, name: str) -> Part | None:
        """Return a part by name, None where it was not weighed."""
        return next((part for part in self.parts if part.name == name), None)

    def to_json(self) -> dict[str, Any]:
        """Return everything measured, as estimates."""
        return {
            "piece_mass_g": self.piece_mass_g.to_json() if self.piece_mass_g else None,
            "parts": [part.to_json() for part in self.parts],
            "sizes_mm": {name: size.to_json() for name, size in self.sizes_mm.items()},
            "counts": dict(self.counts),
            "water_percent": self.water_percent.to_json() if self.water_percent else None,
            "brix": self.brix.to_json() if self.brix else None,
            "faults": [fault.to_json() for fault in self.faults],
            "notes": list(self.notes),
        }

    @classmethod
    def from_json(cls, document: Mapping[str, Any]) -> TearDown:
        """Read back what `to_json` wrote."""
        return cls(
            _estimate(document.get("piece_mass_g")),
            tuple(Part.from_json(part) for part in document.get("parts", ())),
            {name: Estimate.from_json(size) for name, size in document.get("sizes_mm", {}).items()},
            dict(document.get("counts", {})),
            _estimate(document.get("water_percent")),
            _estimate(document.get("brix")),
            tuple(Fault(**fault) for fault in document.get("faults", ())),
            tuple(document.get("notes", ())),
        )


def _estimate(document: Mapping[str, Any] | None) -> Estimate | None:
    return Estimate.from_json(dict(document)) if document is not None else None
