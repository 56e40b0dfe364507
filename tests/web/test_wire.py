"""Over a real socket: faults reach the client that is still sending, and what HTTP/1.1 asks for is kept."""

from __future__ import annotations

import json
import socket
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from tests.served import run, serving

from gradewright.db import migrate
from gradewright.web.problems import Problem

TEN_MEGABYTES = b'{"name": "' + b"x" * 10_000_000 + b'"}'
JSON = {"Content-Type": "application/json"}


@pytest.fixture(scope="module")
def url(tmp_path_factory: pytest.TempPathFactory) -> str:
    """One database for this file."""
    made = f"sqlite:///{tmp_path_factory.mktemp('wire')}/gw.sqlite"
    migrate.upgrade(made)
    return made


@pytest.fixture(scope="module")
def port(url: str) -> Iterator[int]:
    """The port of a server."""
    with serving(url) as (found, _):
        yield found


@pytest.fixture(scope="module")
def client(url: str, port: int) -> Iterator[httpx.Client]:
    """A client with a maintainer's key."""
    key = run(url, "keys", "create", "--handle", "sedge", "--role", "maintainer").stdout.strip()
    headers = {"Authorization": f"Bearer {key}"}
    with httpx.Client(base_url=f"http://127.0.0.1:{port}", headers=headers, timeout=30) as made:
        yield made


def test_ten_megabytes_are_told_to_be_too_many(client: httpx.Client) -> None:
    """The refusal arrives although the client was still sending when it was made."""
    response = client.post("/v1/regions", content=TEN_MEGABYTES, headers=JSON)
    assert response.status_code == 413
    assert Problem.model_validate_json(response.content).type == "/problems/payload-too-large"


def test_ten_megabytes_in_pieces_are_told_to_be_too_many(client: httpx.Client) -> None:
    """The same for a body that does not tell its length."""

    def pieces() -> Iterator[bytes]:
        for start in range(0, len(TEN_MEGABYTES), 65_536):
            yield TEN_MEGABYTES[start : start + 65_536]

    response = client.post("/v1/regions", content=pieces(), headers=JSON)
    assert response.status_code == 413


@pytest.mark.parametrize(
    ("path", "headers", "status"),
    [
        pytest.param("/v1/regions", {"Authorization": "Bearer gw_none"}, 401, id="without a key"),
        pytest.param("/v1/nope", {}, 404, id="to nowhere"),
        pytest.param("/v1/regions/XO", {}, 405, id="to what takes none"),
        pytest.param("/v1/regions", {"Accept": "text/html"}, 406, id="for another answer"),
    ],
)
def test_an_early_refusal_arrives(
    client: httpx.Client, path: str, headers: dict[str, str], status: int
) -> None:
    """A refusal that needs no body arrives when a large one was sent; the connection can be used again."""
    response = client.post(path, content=TEN_MEGABYTES, headers={**JSON, **headers})
    assert response.status_code == status
    assert client.get("/healthz").status_code == 200


def test_head_has_the_length_and_no_body(client: httpx.Client) -> None:
    """After HEAD the next answer on the connection is not mistaken for its body."""
    whole, head, again = client.get("/v1/regions"), client.head("/v1/regions"), client.get("/v1/regions")
    assert head.headers["content-length"] == str(len(whole.content))
    assert (head.content, again.content) == (b"", whole.content)


def test_a_client_that_hangs_up_does_no_harm(client: httpx.Client, port: int) -> None:
    """A connection that ends in the middle of a body leaves the service answering, and stores nothing."""
    body = json.dumps({"code": "XQ", "name": "Q", "currency": "USD", "unit": "lb"}).encode()
    with socket.create_connection(("127.0.0.1", port), timeout=5) as line:
        head = f"POST /v1/regions HTTP/1.1\r\nHost: x\r\nContent-Length: {len(body) + 10}\r\n"
        key = f"Authorization: {client.headers['Authorization']}\r\nContent-Type: application/json\r\n\r\n"
        line.sendall((head + key).encode() + body)
    assert client.get("/v1/regions/XQ").status_code == 404
    assert client.get("/healthz").status_code == 200


def test_a_write_survives_the_server(tmp_path: Path) -> None:
    """What one server has acknowledged, the next one answers with."""
    url = f"sqlite:///{tmp_path}/gw.sqlite"
    migrate.upgrade(url)
    key = run(url, "keys", "create", "--handle", "sedge", "--role", "maintainer").stdout.strip()
    region = {"code": "XO", "name": "Orvale", "parent": None, "currency": "USD", "unit": "lb"}
    with serving(url) as (port, printed):
        address = f"http://127.0.0.1:{port}/v1/regions"
        made = httpx.post(address, json=region, headers={"Authorization": f"Bearer {key}"})
        assert made.status_code == 201
    assert "Traceback" not in printed[0]
    with serving(url) as (port, _):
        assert httpx.get(f"http://127.0.0.1:{port}/v1/regions").json() == {"regions": [region]}
