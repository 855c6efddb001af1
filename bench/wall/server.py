"""The wall's pages and its stream of moments."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncGenerator, AsyncIterator, Callable
from contextlib import asynccontextmanager
from importlib.resources import files
from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.responses import PlainTextResponse, Response, StreamingResponse
from starlette.routing import Route

from bench.wall.guard import COOKIE, Doors, Guard
from bench.wall.moments import Moment
from bench.wall.pairing import KEY_LASTS_S, Pairing

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.types import ASGIApp

LOOK_S = 0.02
BEAT_S = 1.0
MOST_SCREENS = 24
LONGEST_CODE = 200
_TYPES = {"html": "text/html", "css": "text/css", "js": "text/javascript"}


class Feed:
    """Looks for new moments once for all screens.

    Parameters
    ----------
    look : Callable[[], Moment | None]
        Gives the newest; None when the bench does not run.
    """

    def __init__(self, look: Callable[[], Moment | None]) -> None:
        self._look = look
        self._newest = ""
        self._number = 0
        self._changed = asyncio.Event()
        self.screens = 0

    async def run(self) -> None:
        """Look until cancelled; rarely while no screen is there."""
        last: Moment | None = None
        began = False
        while True:
            now = self._look()
            if now != last or not began:
                began, last = True, now
                self._newest = json.dumps({"running": now is not None, **(now or {})})
                self._number += 1
                changed, self._changed = self._changed, asyncio.Event()
                changed.set()
            await asyncio.sleep(LOOK_S if self.screens else 10 * LOOK_S)

    async def moments(self) -> AsyncIterator[str]:
        """Stream moments to one screen.

        Yields
        ------
        str
            As server-sent events: the newest moment at once, then each newer one, and a beat every second.
        """
        self.screens += 1
        try:
            yield "retry: 400\n\n"
            sent = 0
            while True:
                changed = self._changed
                if sent != self._number:
                    sent = self._number
                    yield f"event: moment\ndata: {self._newest}\n\n"
                    continue
                try:
                    await asyncio.wait_for(changed.wait(), BEAT_S)
                except TimeoutError:
                    yield "event: beat\ndata: 1\n\n"
        finally:
            self.screens -= 1


def _file(name: str) -> Response:
    body = files("bench.wall").joinpath("page", name).read_bytes()
    return Response(body, media_type=_TYPES[name.rpartition(".")[2]])


async def _pair(request: Request, pairing: Pairing) -> Response:
    address = request.client.host if request.client else ""
    if pairing.is_locked(address):
        return PlainTextResponse("locked after too many wrong codes: try again in a quarter of an hour", 429)
    body = b""
    async for part in request.stream():
        body += part
        if len(body) > LONGEST_CODE:
            return PlainTextResponse("that is no code", status_code=413)
    key = pairing.pair(address, body.decode("utf-8", "replace"))
    if key is None:
        return PlainTextResponse("not the code that the bench shows now", status_code=403)
    answer = PlainTextResponse("paired")
    answer.set_cookie(COOKIE, key, max_age=int(KEY_LASTS_S), path="/", httponly=True, samesite="strict")
    return answer


def wall_app(look: Callable[[], Moment | None], doors: Doors) -> ASGIApp:
    """Return the wall as an application for any ASGI server.

    Parameters
    ----------
    look : Callable[[], Moment | None]
        Gives the newest moment.
    doors : Doors
        Who is let in.

    Returns
    -------
    ASGIApp
        Guarded.
    """
    feed = Feed(look)

    @asynccontextmanager
    async def looking(_app: Starlette) -> AsyncGenerator[None]:
        task = asyncio.create_task(feed.run())
        try:
            yield
        finally:
            task.cancel()

    async def stream(_request: Request) -> Response:
        if feed.screens >= MOST_SCREENS:
            return PlainTextResponse("too many screens", status_code=503)
        return StreamingResponse(feed.moments(), media_type="text/event-stream")

    async def pair(request: Request) -> Response:
        if request.method == "GET" or doors.pairing is None:
            return _file("pair.html")
        return await _pair(request, doors.pairing)

    def page(name: str) -> Callable[[Request], Response]:
        return lambda _request: _file(name)

    routes = [
        Route("/", page("wall.html")),
        *(Route(f"/{name}", page(name)) for name in ("wall.css", "wall.js", "pair.js")),
        Route("/moments", stream),
        Route("/pair", pair, methods=["GET", "POST"]),
    ]
    return Guard(Starlette(routes=routes, lifespan=looking), doors)
