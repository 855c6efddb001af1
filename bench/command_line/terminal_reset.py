"""Puts a terminal right that a program left in its own state."""

from __future__ import annotations

import sys
from typing import TextIO

RESET = (
    "\x1b[?1000l\x1b[?1002l\x1b[?1003l\x1b[?1006l\x1b[?1015l"  # mouse off
    "\x1b[?2004l\x1b[?1004l\x1b[?1049l\x1b[?25h\x1b[<u\x1b[0m\r\n"  # paste, focus, main screen, cursor, keys, colours
)


def put_right(stream: TextIO) -> None:
    """Send what turns everything off, and let the keyboard's line discipline echo and edit again.

    Parameters
    ----------
    stream : TextIO
        To the terminal.
    """
    stream.write(RESET)
    stream.flush()
    if sys.platform == "win32" or not sys.stdin.isatty():
        return
    import termios

    number = sys.stdin.fileno()
    mode = termios.tcgetattr(number)
    mode[0] |= termios.ICRNL | termios.BRKINT
    mode[1] |= termios.OPOST
    mode[3] |= termios.ECHO | termios.ICANON | termios.ISIG | termios.IEXTEN
    termios.tcsetattr(number, termios.TCSANOW, mode)
