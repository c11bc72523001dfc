"""Who may come in: an invitation lets one device in, once, in time; a device shut out stays out."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import Engine

from batchwright.base.errors import InputError
from batchwright.store.book import Book
from batchwright.store.devices import Devices
from tests.store.test_book import begun


def in_minutes(minutes: float) -> str:
    return (datetime.now(UTC) + timedelta(minutes=minutes)).isoformat(timespec="microseconds")


def test_a_device_is_known_by_its_secret_until_shut_out(engine: Engine, book: Book) -> None:
    devices = Devices(engine)
    rebuild_id, _ = begun(book)
    keeper = devices.add("Flour\ttin", "keeper", None, "a" * 64)
    guest = devices.add("", "guest", rebuild_id, "b" * 64)
    assert (keeper.name, guest.name) == ("Flour tin", "guest")
    assert devices.by_token("a" * 64) == keeper
    assert devices.by_token("c" * 64) is None
    assert devices.all() == (guest, keeper)
    devices.seen(keeper.id)
    found = devices.by_token("a" * 64)
    assert found is not None
    assert found.seen > keeper.seen
    devices.shut_out(guest.id)
    assert devices.by_token("b" * 64) is None
    assert [device.shut_out for device in devices.all()] == [True, False]
    with pytest.raises(InputError):
        devices.shut_out(10**20)


@pytest.mark.parametrize(("role", "has_rebuild"), [("keeper", True), ("guest", False), ("owner", False)])
def test_a_role_and_its_rebuild_go_together(engine: Engine, book: Book, role: str, has_rebuild: bool) -> None:
    rebuild_id, _ = begun(book)
    with pytest.raises(InputError, match="role"):
        Devices(engine).add("x", role, rebuild_id if has_rebuild else None, "a" * 64)


def test_a_guest_of_no_rebuild_is_refused(engine: Engine) -> None:
    with pytest.raises(InputError, match="rebuild"):
        Devices(engine).add("x", "guest", 7, "a" * 64)
    with pytest.raises(InputError, match="rebuild"):
        Devices(engine).invite(7, "a" * 64, in_minutes(15))
    assert Devices(engine).all() == ()


def test_an_invitation_is_used_by_one_of_many(engine: Engine, book: Book) -> None:
    devices = Devices(engine)
    rebuild_id, _ = begun(book)
    made = devices.invite(rebuild_id, "a" * 64, in_minutes(15))
    assert devices.invitations() == (made,)
    with ThreadPoolExecutor(8) as pool:
        taken = [each for each in pool.map(lambda _: devices.take("a" * 64), range(8)) if each]
    assert [(each.id, each.rebuild_id, each.used) for each in taken] == [(made.id, rebuild_id, True)]
    assert devices.invitations() == ()
    assert devices.take("b" * 64) is None


def test_an_invitation_is_over_in_time(engine: Engine, book: Book) -> None:
    devices = Devices(engine)
    rebuild_id, _ = begun(book)
    devices.invite(rebuild_id, "a" * 64, in_minutes(-0.001))
    assert devices.invitations() == ()
    assert devices.take("a" * 64) is None
