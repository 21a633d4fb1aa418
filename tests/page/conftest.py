"""One page over a casebook of its own, and clients that behave as browsers do."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest

pytest.importorskip("starlette")
pytest.importorskip("httpx")

from starlette.testclient import TestClient

from tracer.page.app import application
from tracer.page.site import Site

OWN = {"origin": "http://testserver"}


@pytest.fixture
def site(base, tmp_path):
    return Site(base, tmp_path / "casebook.sqlite", address="http://testserver")


@pytest.fixture
def browser(site):
    """Makes a browser with its own cookies."""
    app = application(site)
    return lambda: TestClient(app, headers=OWN)


@pytest.fixture
def leader(browser):
    return browser()


def example(client, name="container_damp"):
    answer = client.post("/lots/example", data={"name": name})
    assert answer.status_code == 200, answer.text
    return int(str(answer.url).rsplit("/", 1)[1])


def at_once(act, number):
    """Run `act` for every number below, each in a thread of its own; what one of them raises fails the test."""
    with ThreadPoolExecutor(number) as pool:
        list(pool.map(act, range(number)))
