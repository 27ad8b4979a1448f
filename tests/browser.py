"""A real browser for the tests of pages: found on the machine, never fetched."""

import os
import shutil
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Final

import pytest
from playwright.sync_api import Browser, sync_playwright

NAMES: Final = ("chromium", "chromium-browser", "google-chrome", "chrome")
DEMANDED: Final = "PROVEOUT_NEEDS_BROWSER"  # set where a missing browser is a failure, not a reason to skip
STATIC: Final = Path(__file__).parents[1] / "src" / "proveout" / "card" / "static"

# Software rendering, so that pictures in three dimensions are drawn without a graphics card; no calls home.
ARGUMENTS: Final = (
    "--no-sandbox",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
)

_KINDS: Final = {
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".json": "application/json",
    ".svg": "image/svg+xml",
}


def chromium_found() -> str:
    """The path of a Chromium; the test is skipped, or fails where a browser is demanded, without one."""
    found = os.environ.get("PROVEOUT_BROWSER") or next(filter(None, map(shutil.which, NAMES)), None)
    if found:
        return found
    said = "no Chromium on this machine: install the package chromium, or set PROVEOUT_BROWSER to one"
    if os.environ.get(DEMANDED):
        pytest.fail(said)
    pytest.skip(said)


@contextmanager
def launched(path: str) -> Iterator[Browser]:
    """The browser, headless."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=list(ARGUMENTS))
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def serving(files: Mapping[str, bytes]) -> Iterator[str]:
    """A small server on loopback, its address: the given files by path, /static/ from the card's folder."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            path = self.path.split("?")[0]
            body = files.get(path)
            inside = STATIC / path.removeprefix("/static/")
            if body is None and path.startswith("/static/") and inside.is_file():
                body = inside.read_bytes()
            self.send_response(200 if body is not None else 404)
            self.send_header("Content-Type", _KINDS.get(Path(path).suffix, "application/octet-stream"))
            self.send_header("Content-Length", str(len(body or b"")))
            self.end_headers()
            self.wfile.write(body or b"")

        def log_message(self, *args: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
