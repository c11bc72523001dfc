"""The application in a test: a book in a file, browsers that came in, each with its own cookie."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import httpx
from fastapi.testclient import TestClient

from batchwright.actions.opened import Opened, opened
from batchwright.web.app import make_app
from batchwright.web.guard import Bucket, csrf_of, token_hash
from batchwright.web.pages.joining import new_secret

PORT = 8462
HOST = f"127.0.0.1:{PORT}"
LABEL = "Ingredients: wheat flour, sugar, butter, salt."
RECIPE = "200 g flour\n100 g sugar\n120 g butter\n2 g salt"


def plenty() -> Bucket:
    """A limit that no test reaches."""
    return Bucket(1e9, 1e9)


@dataclass
class Served:
    """An application over a book; `browser` gives a client of one that came in, or of nobody."""

    opened: Opened
    secure: bool = False
    general: Bucket = field(default_factory=plenty)
    entering: Bucket = field(default_factory=plenty)

    def __post_init__(self) -> None:
        self.app = make_app(self.opened, [HOST], self.secure, "", "", self.general, self.entering)
        self.base = f"{'https' if self.secure else 'http'}://{HOST}"

    def nobody(self) -> TestClient:
        return TestClient(self.app, self.base, follow_redirects=False, headers={"origin": self.base})

    def browser(self, role: str = "keeper", rebuild_id: int | None = None, name: str = "Ada") -> TestClient:
        token = new_secret()
        self.opened.devices.add(name, role, rebuild_id, token_hash(token))
        client = self.nobody()
        client.cookies.set(f"{'__Host-' if self.secure else ''}door-{PORT}", token)
        client.csrf = csrf_of(token)  # type: ignore[attr-defined]
        return client

    def rebuild(self, name: str = "Shortbread", label: str = LABEL) -> int:
        things = [("brief", "Brief", {"deadline": "", "must": [], "nice": [], "drop": []}),
                  ("original", "Original", {"label": {"text": label}} if label else {})]  # fmt: skip
        return self.opened.book.new_rebuild(name, things, "Ada").id


def served(place: str, **options: object) -> Served:
    """Serve the book at a place; work is done in this process."""
    return Served(opened(place, workers=0), **options)  # type: ignore[arg-type]


def sent(client: TestClient, path: str, **fields: str) -> httpx.Response:
    """Send a form as our own page does."""
    return client.post(path, data={"csrf": client.csrf, **fields})  # type: ignore[attr-defined, no-any-return]


def csrf_in(text: str) -> str:
    """Return the hidden field that a page put into its forms."""
    found = re.search(r'name="csrf" value="([0-9a-f]{64})"', text)
    assert found
    return found[1]
