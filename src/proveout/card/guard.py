"""Who may speak to the card: this machine's own browser, with the key that the card was opened with.

Checked of every request, streams included: the host that was asked for (a page elsewhere may point its own
name at this machine), the origin of whatever changes something, and a cookie that only the opened address
gives. Bodies are bounded before they are read.
"""

import hmac
import re
import secrets
from collections.abc import Collection
from typing import Final
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import PlainTextResponse, RedirectResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

KEY: Final = "key"  # of the opened address
MOST_BODY: Final = 64_000_000  # bytes of an upload; the largest drawings have half
SAFE: Final = ("GET", "HEAD")
_LENGTH: Final = re.compile(r"[0-9]{1,12}")
POLICY: Final = (
    "default-src 'self'; img-src 'self' data: blob:; object-src 'none'; base-uri 'none'; "
    "frame-ancestors 'none'; form-action 'self'"
)
HEADERS: Final = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}

WRONG_HOST: Final = "This address is not the card's own. Use the one that proveout card has printed.\n"
WRONG_ORIGIN: Final = "Another page asked for this. Only the card's own page may.\n"
NO_KEY: Final = (
    "This window was not opened by the card, or the card was started anew since. "
    "Use the window that is open, or run proveout card again and take the address that it prints.\n"
)


class Guard:
    """Answers only its own host and origin, and only who has come by the one-time address."""

    def __init__(self, app: ASGIApp, *, hosts: Collection[str], port: int) -> None:
        self._app = app
        self._hosts = frozenset(hosts)
        self._cookie = f"proveout-{port}"  # cookies don't know ports: two cards must not share one
        self._key: str | None = None
        self._session = secrets.token_urlsafe(32)

    def fresh_key(self) -> str:
        """A key for the opened address; it works once, and ends the one before it."""
        self._key = secrets.token_urlsafe(24)
        return self._key

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it in words."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":  # no sockets are spoken here
            raise RuntimeError(f"the card speaks HTTP only, not {scope['type']}")
        headers = Headers(scope=scope)
        answer = self._refusal(scope, headers) or self._entry(scope, headers)
        if answer is not None:
            await answer(scope, receive, _with_headers(send))
            return
        await self._app(scope, _bounded(receive), _with_headers(send))

    def _refusal(self, scope: Scope, headers: Headers) -> PlainTextResponse | None:
        host = headers.get("host", "")
        if host not in self._hosts:
            return PlainTextResponse(WRONG_HOST, 421)
        origin = headers.get("origin")
        changes = scope["method"] not in SAFE
        if (origin is not None or changes) and origin != f"http://{host}":
            return PlainTextResponse(WRONG_ORIGIN, 403)
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin") and changes:
            return PlainTextResponse(WRONG_ORIGIN, 403)
        length = headers.get("content-length", "0")
        if not _LENGTH.fullmatch(length) or int(length) > MOST_BODY:
            return PlainTextResponse(TooBig().words, 413)
        return None

    def _entry(self, scope: Scope, headers: Headers) -> PlainTextResponse | RedirectResponse | None:
        """Lets in who has the cookie; gives it, once, for the key."""
        if self._has_session(headers):
            return None
        given = parse_qs(scope["query_string"].decode("latin-1")).get(KEY, [""])[0]
        if self._key is None or not hmac.compare_digest(given.encode(), self._key.encode()):
            return PlainTextResponse(NO_KEY, 403)
        if scope["method"] != "GET":  # whoever only looks at the address does not use it up
            return PlainTextResponse(NO_KEY, 403)
        self._key = None
        answer = RedirectResponse("/" + scope["path"].lstrip("/\\"), 303)  # two slashes name another host
        answer.set_cookie(self._cookie, self._session, httponly=True, samesite="lax", path="/")
        return answer

    def _has_session(self, headers: Headers) -> bool:
        # Browsers send the cookies of every other program at this host along, whatever stands in them.
        cookie = cookie_parser(headers.get("cookie", "")).get(self._cookie, "")
        return hmac.compare_digest(cookie.encode("utf-8", "replace"), self._session.encode())


class TooBig(Exception):
    """A body that goes on beyond its bound."""

    def __init__(self, most: int = MOST_BODY) -> None:
        self.words = f"This is over {most // 1_000_000} MB, more than the card takes.\n"
        super().__init__(self.words)


def _bounded(receive: Receive) -> Receive:
    """The same messages, until a body that never said its length is too long."""
    taken = 0

    async def bounded() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > MOST_BODY:
            raise TooBig
        return message

    return bounded


def _with_headers(send: Send) -> Send:
    """Every answer says what a browser may do with it; one that says so itself is left alone."""

    async def told(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
        await send(message)

    return told
