"""Asks an ASGI application as a browser on another machine would, without a network."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass, field
from typing import Any

HOST = "192.168.7.4:8321"


@dataclass
class Answer:
    status: int
    headers: dict[str, str] = field(default_factory=dict)
    body: bytes = b""

    @property
    def key(self) -> str:
        return self.headers.get("set-cookie", "").partition("=")[2].partition(";")[0]


async def _ask(app: Any, scope: dict[str, Any], body: bytes, parts: int) -> Answer:
    answer = Answer(0)
    done = asyncio.Event()
    given = [{"type": "http.request", "body": body, "more_body": False}]

    async def receive() -> dict[str, Any]:
        if given:
            return given.pop()
        await done.wait()
        return {"type": "http.disconnect"}

    async def send(message: dict[str, Any]) -> None:
        nonlocal parts
        if message["type"] == "http.response.start":
            answer.status = message["status"]
            answer.headers = {name.decode(): value.decode() for name, value in message["headers"]}
        elif message["type"] == "http.response.body":
            answer.body += message.get("body", b"")
            parts -= 1
            if parts <= 0:
                done.set()
        else:
            answer.status = message.get("code", 0)

    await app(scope, receive, send)
    return answer


def ask(
    app: Any, path: str, *, method: str = "GET", headers: dict[str, str] | None = None, body: bytes = b"",
    client: str = "192.168.7.20", kind: str = "http", parts: int = 1000,
) -> Answer:  # fmt: skip
    every = {"host": HOST} | (headers or {})
    scope = {
        "type": kind, "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method, "scheme": "http",
        "path": path, "raw_path": path.encode(), "query_string": b"", "root_path": "",
        "headers": [(n.lower().encode(), v.encode()) for n, v in every.items() if v is not None],
        "client": (client, 50000), "server": ("192.168.7.4", 8321),
    }  # fmt: skip
    return asyncio.run(_ask(app, scope, body, parts))
