"""Who is at the door: the keeper of the book, or a guest invited to one rebuild."""

from __future__ import annotations

from dataclasses import dataclass

CSRF_FIELD = "csrf"
KEEPER, GUEST = "keeper", "guest"


@dataclass(frozen=True, slots=True)
class Door:
    """One browser that came in. A guest sees and works in `rebuild_id` alone; the keeper in all.

    `csrf` is what its forms carry; `name` signs its revisions.
    """

    role: str
    device_id: int
    name: str
    csrf: str
    rebuild_id: int | None = None

    def may_enter(self, rebuild_id: int) -> bool:
        """Whether this browser may see and change that rebuild."""
        return self.role == KEEPER or self.rebuild_id == rebuild_id
