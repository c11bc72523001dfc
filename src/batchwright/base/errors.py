"""Faults of input: what is wrong, what was given, what is allowed, what to do."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with what was given.

    `field` names the place (a TOML key, a column, an argument), `value` is what stood there, `allowed` says in words
    what may stand there, `hint` what to do about it.
    """

    field: str
    value: Any
    allowed: str
    hint: str = ""

    def to_json(self) -> dict[str, Any]:
        """Return the fault with its four fields; a value that JSON cannot hold is given as text."""
        plain = self.value if isinstance(self.value, (str, int, float, bool, type(None))) else repr(self.value)
        if isinstance(plain, str) and len(plain) > 200:
            plain = plain[:200] + "…"
        return {"field": self.field, "value": plain, "allowed": self.allowed, "hint": self.hint}

    def __str__(self) -> str:
        shown = repr(self.value)
        shown = shown if len(shown) <= 80 else shown[:77] + "..."
        tail = f" {self.hint}" if self.hint else ""
        return f"{self.field}: got {shown}; allowed: {self.allowed}.{tail}"


class InputError(ValueError):
    """Input that cannot be used; carries every fault found in it, so that all are mended in one go."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))

    def __reduce__(self) -> tuple[type[InputError], tuple[tuple[Fault, ...]]]:
        """Come whole out of another process: with its faults, not with their words alone."""
        return type(self), (self.faults,)
