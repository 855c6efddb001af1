"""`spinledger wall`: the bench on a wall screen or a tablet, to look only."""

from __future__ import annotations

import argparse
import contextlib
import ipaddress
import socket
from typing import TYPE_CHECKING

from bench.command_line.exit_codes import ExitCode
from bench.command_line.options import places_and_settings

if TYPE_CHECKING:
    from pathlib import Path

PORT = 8321
HELP = """\
Shows what the dashboard or `spinledger weigh` on this computer shows: start it beside them.
Without --listen only this computer can reach it. Beyond it, only with --pair: the bench shows a code to
scan, which lets one screen in for twelve hours. The page travels unencrypted: use it in the shop's own network.
"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the command's arguments.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The command's own.
    """
    parser.epilog = HELP
    parser.add_argument(
        "--listen",
        default="127.0.0.1",
        metavar="ADDRESS[:PORT]",
        help=f"this computer's address to be reached at (127.0.0.1, port {PORT})",
    )
    parser.add_argument("--pair", action="store_true", help="let screens in with a code that is shown here")
    parser.add_argument(
        "--name", action="append", default=[], metavar="HOST", help="another name that screens call this computer by"
    )
    parser.add_argument("--demo", action="store_true", help="show the demo's simulated bench")


def run(args: argparse.Namespace) -> int:
    """Run the command.

    Parameters
    ----------
    args : argparse.Namespace
        Parsed arguments.

    Returns
    -------
    int
        2 when it would be reached from outside without pairing, 3 when the port is taken.
    """
    from bench.command_line.say import talk

    places, _ = places_and_settings(args)
    host, port = address_of(args.listen)
    if not args.pair and not is_loopback(host):
        from bench.command_line.settings import SettingsError

        raise SettingsError(
            f"wall --listen {host}",
            found="an address that other machines reach, without pairing",
            wanted="--pair with it, or this computer's own 127.0.0.1",
        )
    try:
        door = socket.create_server((host, port), family=socket.AF_INET6 if ":" in host else socket.AF_INET)
    except OSError as fault:
        talk(f"wall: port {port} at {host} cannot be had ({fault.strerror}); close the other program, or give "
             "--listen ADDRESS:PORT with another one")  # fmt: skip
        return ExitCode.TRY_AGAIN
    with door:
        return _serve(args, door, host, (places.demo if args.demo else places).live)


def address_of(given: str) -> tuple[str, int]:
    """Return host and port of an address.

    Parameters
    ----------
    given : str
        "127.0.0.1", "192.168.7.4:9000", "[::1]:9000".

    Returns
    -------
    tuple[str, int]
        The host without brackets.

    Raises
    ------
    SettingsError
        When it is none.
    """
    from bench.command_line.settings import SettingsError

    host, colon, port = given.rpartition(":")
    if not colon or given.endswith("]") or (":" in host and not host.startswith("[")):
        host, port = given, str(PORT)
    host = host.removeprefix("[").removesuffix("]")
    host = "127.0.0.1" if host == "localhost" else host
    try:
        ipaddress.ip_address(host)
        number = int(port)
    except ValueError:
        number = -1
    if not 0 <= number <= 65535:
        raise SettingsError(
            "wall --listen", found=f"'{given[:60]}'", wanted="an address of this computer, with a port or without"
        )
    return host, number


def is_loopback(host: str) -> bool:
    """Return whether an address is reached from this computer only.

    Parameters
    ----------
    host : str
        A numeric address.

    Returns
    -------
    bool
        True for 127.0.0.0/8 and ::1.
    """
    return ipaddress.ip_address(host).is_loopback


def names_of(host: str, port: int, more: list[str]) -> list[str]:
    """Return the names with port that screens may call this computer by, the one to show first.

    Parameters
    ----------
    host : str
        Where it listens.
    port : int
        Its port.
    more : list[str]
        Names that a person gave.

    Returns
    -------
    list[str]
        In small letters, as they stand in an address.
    """
    given = ipaddress.ip_address(host)
    hosts = [*more]
    if given.is_unspecified:
        hosts += _own_addresses()
    else:
        hosts.append(f"[{host}]" if given.version == 6 else host)
    if given.is_loopback or given.is_unspecified:
        hosts += ["127.0.0.1", "localhost", "[::1]"]
    names = [f"{one.lower()}:{port}" for one in dict.fromkeys(hosts)]
    return names + ([name.removesuffix(":80") for name in names] if port == 80 else [])


def _own_addresses() -> list[str]:
    """Return this computer's addresses in the network, the one it would go out with first; nothing is sent."""
    found: list[str] = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe, contextlib.suppress(OSError):
        probe.connect(("192.0.2.1", 9))  # an address that belongs to nobody
        found.append(str(probe.getsockname()[0]))
    with contextlib.suppress(OSError):
        found += [str(info[4][0]) for info in socket.getaddrinfo(socket.gethostname(), None, family=socket.AF_INET)]
    return [*dict.fromkeys(found), socket.gethostname()]


def _serve(args: argparse.Namespace, door: socket.socket, host: str, live: Path) -> int:
    from bench.command_line.say import talk
    from bench.use_cases.errors import RefusedError

    try:
        import uvicorn

        from bench.wall.guard import Doors
        from bench.wall.live_file import LiveReader
        from bench.wall.pairing import Pairing
        from bench.wall.server import wall_app
    except ImportError as fault:
        raise RefusedError(
            "wall", found="the extra 'wall' is not installed", do="install it with: pip install 'spinledger[wall]'"
        ) from fault
    names = names_of(host, int(door.getsockname()[1]), args.name)
    pairing = Pairing(on_code=lambda code: _show_code(names[0], code)) if args.pair else None
    live.parent.mkdir(parents=True, exist_ok=True)
    app = wall_app(LiveReader(live).look, Doors(frozenset(names), pairing))
    talk(f"wall: http://{names[0]}/ ; Ctrl-C ends it")
    server = uvicorn.Server(
        uvicorn.Config(
            app,
            http="h11",
            ws="none",
            log_level="warning",
            access_log=False,
            server_header=False,
            proxy_headers=False,
            limit_concurrency=100,
            timeout_keep_alive=5,
            timeout_graceful_shutdown=1,
        )
    )
    server.run(sockets=[door])
    return ExitCode.FINE


def _show_code(name: str, code: str) -> None:
    import sys

    from bench.command_line.say import talk

    address = f"http://{name}/pair#{code}"
    if sys.stderr.isatty():
        import segno

        segno.make(address, error="m").terminal(out=sys.stderr, compact=True)
    talk(f"pair one screen: {address}")
