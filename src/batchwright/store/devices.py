"""Who may come in: browsers let in, and invitations that let one in. Only digests of their secrets are kept."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Engine, insert, select, update

from batchwright.base.errors import Fault, InputError
from batchwright.store import tables as t
from batchwright.store.book import require_rebuild
from batchwright.store.engine import reading, writing
from batchwright.store.records import ROLES, Device, Invitation
from batchwright.store.revisions import new_key, now
from batchwright.store.text import plain

LONGEST_DEVICE = 80


def _device(row: Any) -> Device:
    return Device(row.id, row.name, row.role, row.rebuild_id, row.made, row.seen, bool(row.shut_out))


def _invitation(row: Any) -> Invitation:
    return Invitation(row.id, row.rebuild_id, row.made, row.expires, bool(row.used))


class Devices:
    """The browsers and invitations of one book; safe to call from several threads."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def add(self, name: str, role: str, rebuild_id: int | None, token_hash: str) -> Device:
        """Let a browser in that holds the secret of `token_hash` (SHA-256, hex); a guest names its one rebuild."""
        if role not in ROLES or (role == "guest") != (rebuild_id is not None):
            raise InputError([Fault("role", role, "keeper without a rebuild, or guest with one")])
        made, shown = now(), plain(name, LONGEST_DEVICE) or role
        values = {"name": shown, "role": role, "rebuild_id": rebuild_id,
                  "token_hash": token_hash, "made": made, "seen": made, "shut_out": False}  # fmt: skip
        with writing(self.engine) as connection:
            if rebuild_id is not None:
                require_rebuild(connection, rebuild_id)
            done = connection.execute(insert(t.device).values(values))
        return Device(new_key(done), shown, role, rebuild_id, made, made)

    def by_token(self, token_hash: str) -> Device | None:
        """Return the browser that holds a secret, None where there is none or it was shut out."""
        with reading(self.engine) as connection:
            row = connection.execute(select(t.device).where(t.device.c.token_hash == token_hash)).first()
        return None if row is None or row.shut_out else _device(row)

    def all(self) -> tuple[Device, ...]:
        """Return every browser ever let in, the last one first."""
        with reading(self.engine) as connection:
            return tuple(_device(row) for row in connection.execute(select(t.device).order_by(t.device.c.id.desc())))

    def seen(self, device_id: int) -> None:
        """Note that a browser was here just now."""
        with writing(self.engine) as connection:
            connection.execute(update(t.device).where(t.device.c.id == device_id).values(seen=now()))

    def shut_out(self, device_id: int) -> None:
        """Let a browser in no longer; raises InputError where there is none of that number."""
        with writing(self.engine) as connection:
            shut = update(t.device).where(t.device.c.id == device_id).values(shut_out=True)
            if not connection.execute(shut).rowcount:
                raise InputError([Fault("device", device_id, "a device that was let in")])

    def invite(self, rebuild_id: int, token_hash: str, expires: str) -> Invitation:
        """Keep an invitation to one rebuild, good once and until `expires` (ISO 8601, UTC)."""
        made = now()
        with writing(self.engine) as connection:
            require_rebuild(connection, rebuild_id)
            values = {"rebuild_id": rebuild_id, "token_hash": token_hash, "made": made, "expires": expires,
                      "used": False}  # fmt: skip
            done = connection.execute(insert(t.invitation).values(values))
        return Invitation(new_key(done), rebuild_id, made, expires)

    def take(self, token_hash: str) -> Invitation | None:
        """Use an invitation up and return it; None where there is none, it was used before, or its time is over.

        Two at once: one gets it.
        """
        fresh = (t.invitation.c.token_hash == token_hash) & t.invitation.c.used.is_(False)
        with writing(self.engine) as connection:
            taken = update(t.invitation).where(fresh, t.invitation.c.expires > now()).values(used=True)
            if not connection.execute(taken).rowcount:
                return None
            row = connection.execute(select(t.invitation).where(t.invitation.c.token_hash == token_hash)).one()
        return _invitation(row)

    def invitations(self) -> tuple[Invitation, ...]:
        """Return the invitations that are still good, the last one first."""
        asked = select(t.invitation).where(t.invitation.c.used.is_(False), t.invitation.c.expires > now())
        with reading(self.engine) as connection:
            return tuple(_invitation(row) for row in connection.execute(asked.order_by(t.invitation.c.id.desc())))
