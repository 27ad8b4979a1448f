"""The card's addresses: what each is asked for, and what it answers."""

import asyncio
import io
import json
import zipfile
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import Any, Final, Literal

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import (
    HTMLResponse,
    JSONResponse,
    PlainTextResponse,
    RedirectResponse,
    Response,
    StreamingResponse,
)
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from proveout.card import show
from proveout.card.answers import edits_of, error_record, error_records
from proveout.card.desk import Desk, NotProved, Refused, Which, never
from proveout.card.guard import TooBig
from proveout.card.pages import page
from proveout.card.shelf_of_jobs import EXAMPLES, Jobs
from proveout.finding import InputError, InputErrors
from proveout.quantity import System

Answer = Callable[[Request, Desk], Awaitable[Response]]

HEART: Final = 15.0  # s between signs of life on a stream
MOST_JSON: Final = 2_000_000  # bytes
MOST_DRAWING: Final = 40_000_000


def card_app(jobs: Jobs) -> Starlette:
    """The application; `Guard` stands before it."""
    return Starlette(
        routes=[
            Route("/", partial(_home, jobs)),
            Route("/new/{kind}", partial(_new, jobs), methods=["POST"]),
            Route("/job/{job}/", _of(jobs, _card)),
            Route("/job/{job}/events", _of(jobs, _events)),
            Route("/job/{job}/forms", _of(jobs, _forms)),
            Route("/job/{job}/numbers", _of(jobs, _numbers)),
            Route("/job/{job}/why", _of(jobs, _why)),
            Route("/job/{job}/plan.json", _of(jobs, _plan)),
            Route("/job/{job}/scene", _of(jobs, _scene)),
            Route("/job/{job}/proof.json", _of(jobs, _proof)),
            Route("/job/{job}/pack.zip", _of(jobs, _zip)),
            Route("/job/{job}/pack/{file:path}", _of(jobs, _pack_file)),
            Route("/job/{job}/after", _of(jobs, _after)),
            Route("/job/{job}/drawings", _of(jobs, _drawings)),
            Route("/job/{job}/drawing/{part:int}.svg", _of(jobs, _drawing)),
            Route("/job/{job}/edit", _of(jobs, _edit), methods=["POST"]),
            Route("/job/{job}/undo", _of(jobs, partial(_back, "undo")), methods=["POST"]),
            Route("/job/{job}/redo", _of(jobs, partial(_back, "redo")), methods=["POST"]),
            Route("/job/{job}/prove", _of(jobs, _prove), methods=["POST"]),
            Route("/job/{job}/stop", _of(jobs, _stop), methods=["POST"]),
            Route("/job/{job}/write-again", _of(jobs, _write_again), methods=["POST"]),
            Route("/job/{job}/write-pack", _of(jobs, _write_pack), methods=["POST"]),
            Route("/job/{job}/record", _of(jobs, _record), methods=["POST"]),
            Route("/job/{job}/coupon", _of(jobs, partial(_coupon, jobs)), methods=["POST"]),
            Mount("/static", StaticFiles(directory=Path(__file__).parent / "static")),
        ],
        exception_handlers={
            InputError: _told,
            InputErrors: _told,
            NotProved: _not_proved,
            TooBig: _too_big,
            404: _not_there,
            Exception: _failed,
        },
    )


# --- what every answer shares


class Told(JSONResponse):
    """An answer in JSON; what can't be written, as in the names of some files, is a question mark."""

    def render(self, content: object) -> bytes:
        """The body."""
        return json.dumps(content, ensure_ascii=False, allow_nan=False).encode("utf-8", "replace")


def _of(jobs: Jobs, answer: Answer) -> Callable[[Request], Awaitable[Response]]:
    """An answer about one job; jobs that nobody has opened are not there."""

    async def answered(request: Request) -> Response:
        desk = await run_in_threadpool(jobs.desk, request.path_params["job"])
        if desk is None:
            return _not_there(request, None)
        return await answer(request, desk)

    return answered


def _not_there(request: Request, _: Exception | None) -> Response:
    said = "There is no such page on the card. The first page has all jobs: /\n"
    if "text/html" in request.headers.get("accept", ""):
        return HTMLResponse(page("missing.html"), 404)
    return PlainTextResponse(said, 404)


def _told(_: Request, error: Exception) -> Response:
    assert isinstance(error, InputError)
    errors = error.errors if isinstance(error, InputErrors) else (error,)
    return Told({"errors": [error_record(one) for one in errors]}, 422)


def _failed(_: Request, error: Exception) -> Response:
    """What should never happen: the page says so, and the terminal where."""
    return Told({"errors": [error_record(never(error))]}, 500)


def _not_proved(_: Request, __: Exception) -> Response:
    return PlainTextResponse(f"{NotProved()}\n", 409)


def _too_big(_: Request, error: Exception) -> Response:
    return PlainTextResponse(error.words if isinstance(error, TooBig) else str(error), 413)


def _units(request: Request, desk: Desk) -> System:
    """In which this window reads numbers: as it asks, else as the job's owner does."""
    asked = request.query_params.get("units")
    if asked in ("mm", "in"):
        return "in" if asked == "in" else "mm"
    return desk.now.job.units if desk.now.job else "mm"


async def _json(request: Request) -> dict[str, Any]:
    body = await _body(request, MOST_JSON)
    try:
        given = json.loads(body)
        json.dumps(given, ensure_ascii=False).encode()  # half a character is text that nothing can hold
    except (ValueError, RecursionError):
        raise InputError("The page sent something that is not JSON. Load it anew.") from None
    if not isinstance(given, dict):
        raise InputError("The page sent something that the card does not understand. Load it anew.")
    return given


async def _body(request: Request, most: int) -> bytes:
    taken = bytearray()
    async for chunk in request.stream():
        taken += chunk
        if len(taken) > most:
            raise TooBig(most)
    return bytes(taken)


def _which(given: Mapping[str, Any]) -> Which:
    return "shop" if given.get("file") == "shop" else "job"


def _refused(desk: Desk, refused: Refused) -> Response:
    shop = desk.shop.path if desk.shop else None
    told = {
        "errors": error_records(refused.errors, desk.job.path, shop),
        "conflict": refused.conflict,
    }
    return Told(told, 409 if refused.conflict else 422)


def _text(given: Mapping[str, Any], name: str, most: int = 300) -> str:
    value = given.get(name)
    return value[:most] if isinstance(value, str) else ""


# --- the first page, and jobs that begin


async def _home(jobs: Jobs, request: Request) -> Response:
    return HTMLResponse(page("home.html", recent=jobs.recent(), examples=EXAMPLES, root=str(jobs.root)))


async def _new(jobs: Jobs, request: Request) -> Response:
    kind = request.path_params["kind"]
    if kind == "drawing":
        content = await _body(request, MOST_DRAWING)
        query = request.query_params
        asked = query.get("units")
        units: System | None = "in" if asked == "in" else "mm" if asked == "mm" else None
        begin = partial(
            jobs.from_drawing,
            Path(query.get("name", "drawing")[:200]).name,
            content,
            known=query.get("known", "")[:100] or None,
            units=units,
        )
    else:
        given = await _json(request)
        if kind == "pattern":
            begin = partial(jobs.from_pattern, _text(given, "name", 60), _text(given, "pattern"))
        elif kind == "example":
            begin = partial(jobs.from_example, _text(given, "example"))
        else:
            return _not_there(request, None)
    opened = await run_in_threadpool(begin)
    return Told({"open": f"/job/{opened}/"})


# --- what a job's page shows


async def _card(request: Request, desk: Desk) -> Response:
    if not request.url.path.endswith("/"):
        return RedirectResponse(request.url.path + "/")
    units = _units(request, desk)
    return HTMLResponse(await run_in_threadpool(show.card_page, desk, request.path_params["job"], units))


async def _forms(request: Request, desk: Desk) -> Response:
    return Told(await run_in_threadpool(show.forms, desk))


async def _numbers(request: Request, desk: Desk) -> Response:
    return Told(await run_in_threadpool(show.numbers, desk, _units(request, desk)))


async def _why(request: Request, desk: Desk) -> Response:
    name = request.query_params.get("name", "")[:300]
    told = await run_in_threadpool(show.why, desk, name, _units(request, desk))
    return HTMLResponse(told) if told else _not_there(request, None)


async def _plan(request: Request, desk: Desk) -> Response:
    """The plan; null until there is one."""
    return Told(await run_in_threadpool(show.plan, desk))


async def _scene(_: Request, desk: Desk) -> Response:
    proved = desk.now.proved
    if proved is None:
        return PlainTextResponse("There is no proof yet.\n", 404)
    return Response(proved.scene, media_type="application/octet-stream")


async def _proof(request: Request, desk: Desk) -> Response:
    told = show.proof(desk)
    return Told(told) if told is not None else PlainTextResponse("There is no proof yet.\n", 404)


async def _events(request: Request, desk: Desk) -> Response:
    """A stream of what is new, until the window closes."""
    loop, fresh = asyncio.get_running_loop(), asyncio.Event()
    latest: dict[str, object] = {}  # the latest says all, and a window that is slow hears only that

    def take(news: dict[str, object]) -> None:
        nonlocal latest
        latest = latest if "ended" in latest else news
        fresh.set()

    def tell(news: dict[str, object]) -> None:
        with suppress(RuntimeError):  # the loop has ended, and every window with it
            loop.call_soon_threadsafe(take, news)

    async def told() -> AsyncIterator[str]:
        desk.subscribe(tell)
        try:
            while "ended" not in latest:
                try:
                    await asyncio.wait_for(fresh.wait(), HEART)
                except TimeoutError:
                    yield ": still here\n\n"
                    continue
                fresh.clear()
                if "ended" not in latest:
                    yield f"data: {json.dumps(latest)}\n\n"
        finally:
            desk.unsubscribe(tell)

    return StreamingResponse(told(), media_type="text/event-stream")


# --- changes


async def _edit(request: Request, desk: Desk) -> Response:
    given = await _json(request)
    edits = edits_of(given.get("edits"))
    told = await run_in_threadpool(
        desk.edit, _which(given), edits, _text(given, "seen"), _text(given, "says"), _text(given, "of")
    )
    return _refused(desk, told) if isinstance(told, Refused) else Told({"revision": told})


async def _back(way: Literal["undo", "redo"], request: Request, desk: Desk) -> Response:
    told = await run_in_threadpool(desk.back, way)
    return _refused(desk, told) if isinstance(told, Refused) else Told({"says": told})


async def _prove(_: Request, desk: Desk) -> Response:
    await run_in_threadpool(desk.prove)
    return Told({})


async def _stop(_: Request, desk: Desk) -> Response:
    await run_in_threadpool(desk.stop)
    return Told({})


async def _write_again(request: Request, desk: Desk) -> Response:
    await run_in_threadpool(desk.write_again)
    return Told({})


# --- the pack, and after the cut


async def _zip(_: Request, desk: Desk) -> Response:
    folder, files = desk.now.pack()
    headers = {"content-disposition": f'attachment; filename="{folder.name}.zip"'}
    archive = await run_in_threadpool(_zipped, files, folder.name)
    return Response(archive, media_type="application/zip", headers=headers)


def _zipped(files: Mapping[str, bytes], folder: str) -> bytes:
    """The pack as an archive; the same bytes for the same pack."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            info = zipfile.ZipInfo(f"{folder}/{name}", (1980, 1, 1, 0, 0, 0))
            archive.writestr(info, content, zipfile.ZIP_DEFLATED)  # else as the entry says: not at all
    return out.getvalue()


_KINDS: Final = {
    ".html": "text/html; charset=utf-8",
    ".pdf": "application/pdf",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".json": "application/json",
}
# A pack's own pages bring their styles with them and nothing else.
_ALONE: Final = (
    "default-src 'none'; img-src data:; style-src 'unsafe-inline'; frame-ancestors 'none'; sandbox"
)


# A sandbox would keep a browser's own reader of PDF out.
_READER: Final = "default-src 'self'; style-src 'unsafe-inline'; object-src 'self'"


async def _pack_file(request: Request, desk: Desk) -> Response:
    """A file of the pack by its name there; no path leads out of it, since none leads to the disk."""
    (_, files), name = desk.now.pack(), request.path_params["file"]
    if name not in files:
        return _not_there(request, None)
    suffix = Path(name).suffix
    kind = _KINDS.get(suffix, "text/plain; charset=us-ascii")
    headers = {"content-security-policy": _READER if suffix == ".pdf" else _ALONE}
    return Response(files[name], media_type=kind, headers=headers)


async def _write_pack(_: Request, desk: Desk) -> Response:
    return Told({"says": await run_in_threadpool(show.write_pack_of, desk)})


async def _after(_: Request, desk: Desk) -> Response:
    return HTMLResponse(await run_in_threadpool(show.after, desk))


async def _record(request: Request, desk: Desk) -> Response:
    given = await _json(request)
    told = await run_in_threadpool(show.record_of, desk, given)
    desk.wake()
    return Told({"says": list(told)})


async def _coupon(jobs: Jobs, _: Request, desk: Desk) -> Response:
    opened = await run_in_threadpool(show.coupon_of, desk, jobs)
    return Told({"open": f"/job/{opened}/"})


async def _drawing(request: Request, desk: Desk) -> Response:
    picture = await run_in_threadpool(show.drawing_picture, desk, request.path_params["part"])
    if not picture:
        return _not_there(request, None)
    return Response(picture, media_type="image/svg+xml", headers={"content-security-policy": _ALONE})


async def _drawings(request: Request, desk: Desk) -> Response:
    return HTMLResponse(await run_in_threadpool(show.drawings, desk, _units(request, desk)))
