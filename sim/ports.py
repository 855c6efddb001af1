"""Ports of the simulated scale: loopback TCP and, where there is one, a pseudo-terminal. Both can be unplugged."""

from __future__ import annotations

import contextlib
import os
import socket
import tempfile
from pathlib import Path
from typing import Protocol


class PortError(Exception):
    """A port cannot be made.

    Parameters
    ----------
    wanted : str
        What was asked for.
    found : str
        Why it cannot be.
    """

    def __init__(self, wanted: str, found: str) -> None:
        super().__init__(f"port {wanted!r}: {found}; wanted tcp:127.0.0.1:PORT (0 for any free one) or pty")
        self.wanted = wanted
        self.found = found


class Port(Protocol):
    """Something that bytes can be sent through."""

    @property
    def url(self) -> str:
        """What the other side opens; it stays the same when the cable is pulled and plugged in again."""
        ...

    def look(self) -> bytes:
        """Let newcomers in and return what was received."""
        ...

    def send(self, data: bytes) -> None:
        """Send to whoever listens; nobody listening is no fault."""
        ...

    def pull(self) -> None:
        """Pull the cable out."""
        ...

    def plug(self) -> None:
        """Put the cable back."""
        ...

    def close(self) -> None:
        """Give everything back."""
        ...


class TcpPort:
    """A TCP server on the loopback address.

    Parameters
    ----------
    host : str
        A loopback address.
    port : int
        Its port; 0 for any free one.

    Raises
    ------
    PortError
        If the address is no loopback address or cannot be had.
    """

    def __init__(self, host: str, port: int) -> None:
        wanted = f"tcp:{host}:{port}"
        if host not in {"127.0.0.1", "localhost"}:
            raise PortError(wanted, f"{host} is not this machine's loopback address")
        self._clients: list[socket.socket] = []
        self._server: socket.socket | None = None
        self._port = port
        try:
            self.plug()
        except OSError as fault:
            raise PortError(wanted, f"it cannot be had ({fault.strerror})") from fault

    @property
    def url(self) -> str:
        """What the other side opens."""
        return f"socket://127.0.0.1:{self._port}"

    def look(self) -> bytes:
        """Let newcomers in and return what was received.

        Returns
        -------
        bytes
            Whatever came.
        """
        if self._server is None:
            return b""
        with contextlib.suppress(BlockingIOError):
            while True:
                client, _ = self._server.accept()
                client.setblocking(False)
                client.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
                self._clients.append(client)
        received = b""
        for client in list(self._clients):
            try:
                part = client.recv(4096)
            except BlockingIOError:
                continue
            except OSError:
                part = b""
            if part:
                received += part
            else:
                self._drop(client)
        return received

    def send(self, data: bytes) -> None:
        """Send to whoever listens; a listener that does not keep up loses bytes, as on a real line.

        Parameters
        ----------
        data : bytes
            What is sent.
        """
        for client in list(self._clients):
            try:
                client.send(data)
            except BlockingIOError:
                continue
            except OSError:
                self._drop(client)

    def pull(self) -> None:
        """Pull the cable out: listeners are cut off and nobody can come in."""
        for client in list(self._clients):
            self._drop(client)
        if self._server is not None:
            self._server.close()
            self._server = None

    def plug(self) -> None:
        """Put the cable back at the same address."""
        if self._server is not None:
            return
        server = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        try:
            if os.name == "posix":
                server.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            server.bind(("127.0.0.1", self._port))
            server.listen(8)
            server.setblocking(False)
        except OSError:
            server.close()
            raise
        self._port = int(server.getsockname()[1])
        self._server = server

    def close(self) -> None:
        """Give everything back."""
        self.pull()

    def _drop(self, client: socket.socket) -> None:
        self._clients.remove(client)
        client.close()


class PtyPort:
    """A pseudo-terminal behind a link in the file system that keeps its name.

    Raises
    ------
    PortError
        If this system has no pseudo-terminals.
    """

    _BACKLOG_BYTES = 1024

    def __init__(self) -> None:
        if os.name != "posix":
            raise PortError("pty", "this system has no pseudo-terminals")
        self._folder = tempfile.TemporaryDirectory(prefix="simulated-scale-")
        self._link = Path(self._folder.name) / "scale"
        self._ends: tuple[int, int] | None = None
        self.plug()

    @property
    def url(self) -> str:
        """What the other side opens."""
        return str(self._link)

    def look(self) -> bytes:
        """Return what was received.

        Returns
        -------
        bytes
            Whatever came.
        """
        if self._ends is None:
            return b""
        try:
            return os.read(self._ends[0], 4096)
        except OSError:
            return b""

    def send(self, data: bytes) -> None:
        """Send; what nobody reads is thrown away, as on a real line.

        Parameters
        ----------
        data : bytes
            What is sent.
        """
        if self._ends is None:
            return
        import fcntl
        import termios

        ours, theirs = self._ends
        waiting = int.from_bytes(fcntl.ioctl(theirs, termios.FIONREAD, b"\0\0\0\0"), "little")
        if waiting > self._BACKLOG_BYTES:
            termios.tcflush(theirs, termios.TCIFLUSH)
        with contextlib.suppress(BlockingIOError):
            os.write(ours, data)

    def pull(self) -> None:
        """Pull the cable out: the device vanishes."""
        if self._ends is None:
            return
        self._link.unlink(missing_ok=True)
        for end in self._ends:
            os.close(end)
        self._ends = None

    def plug(self) -> None:
        """Put the cable back: a device of the same name appears."""
        if self._ends is not None:
            return
        import pty
        import tty

        ours, theirs = pty.openpty()
        tty.setraw(theirs)
        os.set_blocking(ours, False)
        self._ends = (ours, theirs)
        self._link.symlink_to(os.ttyname(theirs))

    def close(self) -> None:
        """Give everything back."""
        self.pull()
        self._folder.cleanup()


def open_port(wanted: str) -> Port:
    """Make a port.

    Parameters
    ----------
    wanted : str
        ``tcp:127.0.0.1:0`` or ``pty``.

    Returns
    -------
    Port
        Ready to be opened by the other side.

    Raises
    ------
    PortError
        If it cannot be made.
    """
    if wanted == "pty":
        return PtyPort()
    match wanted.split(":"):
        case ["tcp", host, number] if number.isdecimal() and int(number) < 65536:
            return TcpPort(host, int(number))
        case _:
            raise PortError(wanted, "this cannot be read")
