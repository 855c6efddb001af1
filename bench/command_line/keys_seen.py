"""Shows what keys and pedals send, so that a pedal can be taught and a terminal that swallows keys is found."""

from __future__ import annotations

import os
import sys

from bench.command_line.exit_codes import ExitCode

NAMES = {
    b"\x1b[5~": "page up",
    b"\x1b[6~": "page down",
    b"\x1b[A": "up",
    b"\x1b[B": "down",
    b"\x1b[C": "right",
    b"\x1b[D": "left",
    b"\r": "enter",
    b"\n": "enter",
    b"\t": "tab",
    b" ": "space",
    b"\x7f": "backspace",
    b"\x1b": "escape",
}


def key_words(sent: bytes) -> str:
    """Return what a terminal sent, in words.

    Parameters
    ----------
    sent : bytes
        As read in one go.

    Returns
    -------
    str
        Name where it is known, and the bytes in hex; nothing that acts on a terminal.
    """
    name = NAMES.get(sent) or (f"'{sent.decode()}'" if sent.isascii() and sent.decode().isprintable() else "no name")
    many = " (several characters at once: a pedal or scanner that types)" if sent.isalnum() and len(sent) > 1 else ""
    return f"{name}: {sent.hex(' ')}{many}"


def show_keys() -> int:
    """Show what is pressed until q.

    Returns
    -------
    int
        2 where there is no terminal.
    """
    from bench.command_line.say import line, talk

    if sys.platform == "win32" or not sys.stdin.isatty():
        talk("keys can be shown in a terminal only")
        return ExitCode.USAGE
    import termios
    import tty

    number = sys.stdin.fileno()
    before = termios.tcgetattr(number)
    line("press keys or the pedal; q ends")
    try:
        tty.setcbreak(number)
        while (sent := os.read(number, 64)) not in {b"q", b""}:
            line(key_words(sent))
    finally:
        termios.tcsetattr(number, termios.TCSADRAIN, before)
    return ExitCode.FINE
