"""The card at work: a server on this machine alone, and the browser that is sent to it."""

import os
import socket
import sys
import threading
import webbrowser
from pathlib import Path
from typing import Final

import uvicorn
from starlette.concurrency import run_in_threadpool

from proveout.card.app import card_app
from proveout.card.guard import KEY, Guard
from proveout.card.shelf_of_jobs import Jobs
from proveout.finding import InputError
from proveout.quantity import printable

LOOPBACK: Final = "127.0.0.1"
HTTP: Final = 80
USUAL_PORT: Final = 8765  # any that is free will do; the same again lets a bookmark live


def serve(job: Path | None, *, host: str = LOOPBACK, port: int | None = None, browse: bool = True) -> None:
    """Serve the card until it is interrupted.

    Args:
        job: to open; None: the page of new and recent jobs
        host: to bind to; other machines can reach the card only where this says so
        port: None: the usual one, or any that is free
        browse: open the browser
    Raises:
        InputError: no such job, or an address that can't be bound
    """
    jobs = Jobs(Path(os.path.realpath(job)).parent.parent if job else Path.cwd())
    opened = jobs.open(job) if job else ""
    bound = _bound(host, port)
    number = bound.getsockname()[1]
    guard = Guard(card_app(jobs), hosts=_hosts(host, number), port=number)
    address = f"http://{_named(host)}:{number}/{f'job/{opened}/' if opened else ''}?{KEY}={guard.fresh_key()}"
    print(f"The job card is at {address}", flush=True)
    print("The address works once, in one browser. Ctrl+C here ends the card.", flush=True)
    if browse:
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
    config = uvicorn.Config(
        guard,
        log_level="warning",
        access_log=False,
        ws="none",
        lifespan="off",
        server_header=False,
        timeout_graceful_shutdown=1,
    )
    try:
        _Server(config, jobs).run(sockets=[bound])
    finally:
        jobs.close()


class _Server(uvicorn.Server):
    """A server that lets go of its jobs first: streams to windows never end by themselves."""

    def __init__(self, config: uvicorn.Config, jobs: Jobs) -> None:
        super().__init__(config)
        self._jobs = jobs

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End."""
        await run_in_threadpool(self._jobs.close)
        await super().shutdown(sockets)


def _bound(host: str, port: int | None) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    tries = [port] if port is not None else [USUAL_PORT, 0]
    for number in tries:
        found = socket.socket(family, socket.SOCK_STREAM)
        try:
            if sys.platform != "win32":
                found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            found.bind((host, number))
            found.listen()  # before anybody is told of it: a browser may be quicker than the server
            return found
        except (OSError, OverflowError, ValueError, TypeError) as error:  # names and numbers that are none
            found.close()
            if number == tries[-1]:
                reason = getattr(error, "strerror", None) or error
                raise InputError(
                    f"The card can't be served at {printable(host)}, port {number}: {reason}. "
                    "Name another with --port, or leave it out."
                ) from None
    raise AssertionError("there is always a last try")


def _hosts(host: str, port: int) -> set[str]:
    """The names under which the card answers."""
    names = {LOOPBACK, "localhost", "[::1]", _named(host).lower()}
    told = {f"{name}:{port}" for name in names}
    return told | names if port == HTTP else told  # browsers leave the usual one out


def _named(host: str) -> str:
    return f"[{host}]" if ":" in host else host
