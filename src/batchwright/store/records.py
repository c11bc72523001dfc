"""What the book holds: rebuilds, the things in them, their revisions, pictures, and who may come in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

KINDS = ("brief", "original", "formula")
ONCE = ("brief", "original")  # what every rebuild has one of
ROLES = ("keeper", "guest")
PICTURE_TYPES = ("image/jpeg", "image/png", "image/webp")  # a browser draws these and runs nothing in them


@dataclass(frozen=True, slots=True)
class Rebuild:
    """One packaged food being rebuilt. Times are ISO 8601 in UTC; `set_aside` hides it from the list, nothing more."""

    id: int
    name: str
    made: str
    changed: str
    set_aside: bool = False

    def to_json(self) -> dict[str, Any]:
        """Return all fields."""
        return {"id": self.id, "name": self.name, "made": self.made, "changed": self.changed,
                "set_aside": self.set_aside}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing of a rebuild that has a history: its brief, its original, one of its formulas (KINDS)."""

    id: int
    rebuild_id: int
    kind: str
    name: str

    def to_json(self) -> dict[str, Any]:
        """Return all fields."""
        return {"id": self.id, "rebuild_id": self.rebuild_id, "kind": self.kind, "name": self.name}


@dataclass(frozen=True, slots=True)
class Revision:
    """One whole document of a thing, never changed afterwards. `parent_id` is the revision it was made from.

    `frozen` is set once a trial used it; it then stays for good, and what is changed becomes a new revision as ever.
    """

    id: int
    thing_id: int
    parent_id: int | None
    document: Mapping[str, Any]
    who: str
    when: str
    frozen: bool = False

    def to_json(self) -> dict[str, Any]:
        """Return all fields."""
        return {"id": self.id, "thing_id": self.thing_id, "parent_id": self.parent_id, "document": dict(self.document),
                "who": self.who, "when": self.when, "frozen": self.frozen}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Saved:
    """What became of a save: the new revision, and the others that were saved meanwhile from the same parent."""

    revision: Revision
    beside: tuple[Revision, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return both."""
        return {"revision": self.revision.to_json(), "beside": [each.to_json() for each in self.beside]}


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture in the book, re-encoded and without metadata; `digest` is the SHA-256 of its bytes, in hex."""

    id: int
    rebuild_id: int
    name: str
    media_type: str
    width: int
    height: int
    size_bytes: int
    digest: str
    when: str

    def to_json(self) -> dict[str, Any]:
        """Return all fields."""
        return {"id": self.id, "rebuild_id": self.rebuild_id, "name": self.name, "media_type": self.media_type,
                "width": self.width, "height": self.height, "size_bytes": self.size_bytes, "digest": self.digest,
                "when": self.when}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Device:
    """A browser that may come in: the keeper's own, or a guest's, which sees one rebuild (`rebuild_id`)."""

    id: int
    name: str
    role: str
    rebuild_id: int | None
    made: str
    seen: str
    shut_out: bool = False

    def to_json(self) -> dict[str, Any]:
        """Return all fields."""
        return {"id": self.id, "name": self.name, "role": self.role, "rebuild_id": self.rebuild_id, "made": self.made,
                "seen": self.seen, "shut_out": self.shut_out}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Invitation:
    """A single-use way in to one rebuild, good until `expires`; `used` once a device came in by it."""

    id: int
    rebuild_id: int
    made: str
    expires: str
    used: bool = False

    def to_json(self) -> dict[str, Any]:
        """Return all fields."""
        return {"id": self.id, "rebuild_id": self.rebuild_id, "made": self.made, "expires": self.expires,
                "used": self.used}  # fmt: skip
