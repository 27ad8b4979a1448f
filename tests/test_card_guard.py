"""Who may speak to the card: its own host, its own origin, and who has come by the key."""

from collections.abc import Iterator

import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route
from starlette.testclient import TestClient

from proveout.card import guard
from proveout.card.guard import KEY, MOST_BODY, Guard, TooBig

HOST = "127.0.0.1:8765"
ORIGIN = {"origin": f"http://{HOST}"}


async def echo(request: Request) -> Response:
    return PlainTextResponse(f"{len(await request.body())}")


def too_big(_: Request, __: Exception) -> Response:
    return PlainTextResponse("too big", 413)


@pytest.fixture
def guarded() -> Guard:
    routes = [Route("/", echo, methods=["GET", "POST"])]
    return Guard(Starlette(routes=routes, exception_handlers={TooBig: too_big}), hosts={HOST}, port=8765)


@pytest.fixture
def client(guarded: Guard) -> TestClient:
    """A browser that has not been let in."""
    return TestClient(guarded, base_url=f"http://{HOST}", follow_redirects=False)


def let_in(client: TestClient, guarded: Guard) -> None:
    answer = client.get(f"/?{KEY}={guarded.fresh_key()}")
    assert answer.status_code == 303


def test_nobody_is_let_in_without_the_key(client: TestClient) -> None:
    answer = client.get("/")
    assert answer.status_code == 403
    assert "proveout card" in answer.text  # it says what to do


def test_the_key_gives_a_cookie_and_leaves_the_address(client: TestClient, guarded: Guard) -> None:
    """The key is not in the address that the browser ends at, so it is in no history and no bookmark."""
    answer = client.get(f"/?{KEY}={guarded.fresh_key()}")
    assert answer.headers["location"] == "/"
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie and "samesite=lax" in cookie.lower() and "proveout-8765" in cookie
    assert client.get("/").status_code == 200


def test_the_key_works_once(client: TestClient, guarded: Guard) -> None:
    key = guarded.fresh_key()
    client.get(f"/?{KEY}={key}")
    stranger = TestClient(guarded, base_url=f"http://{HOST}", follow_redirects=False)
    assert stranger.get(f"/?{KEY}={key}").status_code == 403
    assert stranger.get(f"/?{KEY}=").status_code == 403


def test_a_made_up_cookie_is_none(client: TestClient) -> None:
    client.cookies.set("proveout-8765", "guess")
    assert client.get("/").status_code == 403


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1", "127.0.0.1:80", "localhost:8765.evil.example", ""]
)
def test_another_host_is_refused(client: TestClient, guarded: Guard, host: str) -> None:
    """A page elsewhere that points its own name at this machine gets nothing."""
    let_in(client, guarded)
    assert client.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "https://127.0.0.1:8765", "http://127.0.0.1:1"]
)
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_another_origin_is_refused(client: TestClient, guarded: Guard, origin: str, method: str) -> None:
    let_in(client, guarded)
    assert client.request(method, "/", headers={"origin": origin}).status_code == 403


def test_what_changes_something_must_say_its_origin(client: TestClient, guarded: Guard) -> None:
    let_in(client, guarded)
    assert client.post("/").status_code == 403
    assert client.post("/", headers=ORIGIN).status_code == 200
    assert client.post("/", headers={**ORIGIN, "sec-fetch-site": "cross-site"}).status_code == 403


def test_every_answer_tells_the_browser_to_fetch_nothing_else(client: TestClient, guarded: Guard) -> None:
    """Refusals too."""
    refused = client.get("/")
    let_in(client, guarded)
    for answer in (refused, client.get("/")):
        assert "default-src 'self'" in answer.headers["content-security-policy"]
        assert "frame-ancestors 'none'" in answer.headers["content-security-policy"]
        assert answer.headers["x-content-type-options"] == "nosniff"


def test_a_body_that_says_it_is_too_big_is_not_read(client: TestClient, guarded: Guard) -> None:
    let_in(client, guarded)
    headers = {**ORIGIN, "content-length": str(MOST_BODY + 1)}
    assert client.post("/", content=b"x", headers=headers).status_code == 413
    assert client.post("/", content=b"x", headers={**ORIGIN, "content-length": "-1"}).status_code == 413


def test_a_body_that_never_says_how_big_it_is_is_read_up_to_the_bound(
    client: TestClient, guarded: Guard, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guard, "MOST_BODY", 1000)
    let_in(client, guarded)

    def endless() -> Iterator[bytes]:
        for _ in range(100):
            yield b"x" * 100

    assert client.post("/", content=endless(), headers=ORIGIN).status_code == 413


def test_no_sockets_are_spoken(guarded: Guard, client: TestClient) -> None:
    with pytest.raises(RuntimeError, match="HTTP only"), client.websocket_connect("/"):
        pass


def test_what_other_programs_at_this_host_have_stored_keeps_nobody_out(
    client: TestClient, guarded: Guard
) -> None:
    """Cookies are of a host, not of a port: some hold what the standard does not allow."""
    let_in(client, guarded)
    ours = "; ".join(f"{name}={value}" for name, value in client.cookies.items())
    for other in ('seen={"a": 1, "b": [2]}', "odd", "=", "a b=c", "\xe9=\xfc"):
        answer = client.get("/", headers=[(b"cookie", f"{other}; {ours}".encode("latin-1"))])
        assert answer.status_code == 200, other


def test_the_key_sends_nobody_to_another_host(client: TestClient, guarded: Guard) -> None:
    answer = client.get(f"http://{HOST}//elsewhere.example/?{KEY}={guarded.fresh_key()}")
    assert answer.headers["location"] == "/elsewhere.example/"


def test_looking_at_the_address_without_opening_it_does_not_use_it_up(
    client: TestClient, guarded: Guard
) -> None:
    key = guarded.fresh_key()
    assert client.head(f"/?{KEY}={key}").status_code == 403
    assert client.get(f"/?{KEY}={key}").status_code == 303


def test_a_length_that_no_number_holds_is_refused(client: TestClient, guarded: Guard) -> None:
    let_in(client, guarded)
    for length in ("9" * 5000, "+5", "1e3", "\u0661".encode().decode("latin-1")):
        headers = {**ORIGIN, "content-length": length}
        sent = [(name.encode(), value.encode("latin-1")) for name, value in headers.items()]
        assert client.post("/", content=b"x", headers=sent).status_code == 413
