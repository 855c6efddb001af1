"""A link to the database that can be cut, or go silent without a word, as a bad cable or a switch does."""

from __future__ import annotations

import asyncio
import threading
from pathlib import Path


class CutLink:
    """Listens on loopback and hands on to the database's unix socket."""

    def __init__(self, socket_path: Path) -> None:
        self._path = socket_path
        self._loop = asyncio.new_event_loop()
        self._writers: set[asyncio.StreamWriter] = set()
        self._speaking = asyncio.Event()
        self._speaking.set()
        self.cuts = 0
        ready = threading.Event()
        self.port = 0

        self._ending = asyncio.Event()

        async def serve() -> None:
            server = await asyncio.start_server(self._joined, "127.0.0.1", 0)
            self.port = server.sockets[0].getsockname()[1]
            ready.set()
            await self._ending.wait()
            server.close()
            for writer in list(self._writers):
                writer.transport.abort()
            await asyncio.sleep(0.2)

        def run() -> None:
            self._loop.run_until_complete(serve())
            self._loop.close()

        self._thread = threading.Thread(target=run, daemon=True)
        self._thread.start()
        ready.wait()

    async def _joined(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        try:
            there, back = await asyncio.open_unix_connection(str(self._path))
        except OSError:
            writer.close()
            return
        self._writers |= {writer, back}
        await asyncio.gather(self._pass(reader, back), self._pass(there, writer))
        self._writers -= {writer, back}

    async def _pass(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        try:
            while data := await reader.read(65536):
                await self._speaking.wait()
                writer.write(data)
                await writer.drain()
        except OSError:
            pass
        finally:
            writer.close()

    def cut(self) -> None:
        """Every connection ends in this moment, in the middle of whatever it carries."""
        self.cuts += 1

        def now() -> None:
            for writer in list(self._writers):
                writer.transport.abort()

        self._loop.call_soon_threadsafe(now)

    def silence(self, on: bool) -> None:
        """Nothing is handed on and nobody is told."""
        self._loop.call_soon_threadsafe(self._speaking.clear if on else self._speaking.set)

    def close(self) -> None:
        self._loop.call_soon_threadsafe(self._ending.set)
        self._thread.join(timeout=5)
