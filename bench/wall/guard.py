"""What is refused before anything is answered: other hosts, other origins, other methods, and who has no key."""

from __future__ import annotations

from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import TYPE_CHECKING

from starlette.responses import PlainTextResponse

from bench.wall.pairing import Pairing

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

COOKIE = "spinledger-wall"
OPEN_PATHS = frozenset({"/pair", "/wall.css", "/pair.js"})
"""What a machine without a key may see: the page that asks for the code, and its looks."""
HEADERS = {
    "content-security-policy": "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; "
    "img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; "
    "require-trusted-types-for 'script'; trusted-types",
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
    "cache-control": "no-store",
}


@dataclass(frozen=True, slots=True)
class Doors:
    """Who is let in.

    Attributes
    ----------
    hosts : frozenset[str]
        Names with port that this server is called by; any other name is someone else's that points here.
    pairing : Pairing | None
        None where only this machine can reach it.
    """

    hosts: frozenset[str]
    pairing: Pairing | None = None


class Guard:
    """Stands before the pages.

    Parameters
    ----------
    app : ASGIApp
        The pages.
    doors : Doors
        Who is let in.
    """

    def __init__(self, app: ASGIApp, doors: Doors) -> None:
        self._app, self._doors = app, doors

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or refuse; see the ASGI interface.

        Parameters
        ----------
        scope : Scope
            The request.
        receive : Receive
            Its body.
        send : Send
            The answer.
        """
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                kept = [(name, value) for name, value in message.get("headers", []) if name.decode() not in HEADERS]
                message["headers"] = kept + [(name.encode(), value.encode()) for name, value in HEADERS.items()]
            await send(message)

        refused = self._refusal(scope)
        if refused is not None:
            status, words = refused
            await PlainTextResponse(words, status_code=status)(scope, receive, with_headers)
            return
        await self._app(scope, receive, with_headers)

    def _refusal(self, scope: Scope) -> tuple[int, str] | None:  # noqa: PLR0911 one reason a line
        headers: dict[str, list[str]] = {}
        for name, value in scope["headers"]:
            headers.setdefault(name.decode("latin-1"), []).append(value.decode("latin-1"))
        hosts = headers.get("host", [])
        if len(hosts) != 1 or hosts[0].lower() not in self._doors.hosts:
            return 421, "this server is not called so"
        if any(origin.lower() != f"http://{hosts[0].lower()}" for origin in headers.get("origin", [])):
            return 403, "asked from another page"
        if any(site not in {"same-origin", "none"} for site in headers.get("sec-fetch-site", [])):
            return 403, "asked from another page"
        path, method = scope["path"], scope["method"]
        if method not in ({"GET", "POST"} if path == "/pair" else {"GET"}):
            return 405, "this page only shows"
        if self._doors.pairing is None:
            return (404, "nothing here") if path == "/pair" else None
        if path in OPEN_PATHS or self._doors.pairing.knows(_key_of(headers)):
            return None
        return 401, "open the address that the bench shows, or scan its code"


def _key_of(headers: dict[str, list[str]]) -> str:
    jar: SimpleCookie = SimpleCookie()
    for line in headers.get("cookie", [])[:4]:
        try:
            jar.load(line[:4096])
        except CookieError:
            continue
    return jar[COOKIE].value if COOKIE in jar else ""
