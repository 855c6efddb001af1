"""Bytes and text from outside, made fit to stand in a message."""

from __future__ import annotations

SHOWN_CAP = 60
"""Longest piece of outside text in a message. [characters]"""


def shown_text(text: str) -> str:
    r"""Return a text with everything that is not plainly printable written as an escape.

    Parameters
    ----------
    text : str
        Text from outside.

    Returns
    -------
    str
        At most a line's worth of printable characters.

    Examples
    --------
    >>> shown_text("wt \x1b[2J 5")
    '"wt \\x1b[2J 5"'
    """
    cut = text[:SHOWN_CAP]
    body = "".join(letter if letter.isprintable() else _escape(letter) for letter in cut)
    more = f" … ({len(text)} characters)" if len(text) > SHOWN_CAP else ""
    return f'"{body}"{more}'


def plain_words(text: str, *, cap: int = 160) -> str:
    r"""Return what an operating system said, without quotes and with everything unprintable written as an escape.

    Parameters
    ----------
    text : str
        Text from outside.
    cap : int
        Most characters of it that are kept.

    Returns
    -------
    str
        One line.

    Examples
    --------
    >>> plain_words("could not open port\n")
    'could not open port\\x0a'
    """
    return "".join(letter if letter.isprintable() else _escape(letter) for letter in text[:cap])


def shown_bytes(data: bytes) -> str:
    r"""Return bytes as ASCII, everything else written as ``\xNN``.

    Parameters
    ----------
    data : bytes
        Bytes from outside.

    Returns
    -------
    str
        At most a line's worth of printable ASCII.

    Examples
    --------
    >>> shown_bytes(b"12.3\xb5g")
    '"12.3\\xb5g"'
    """
    cut = data[:SHOWN_CAP]
    body = "".join(chr(byte) if 0x20 <= byte < 0x7F else f"\\x{byte:02x}" for byte in cut)
    more = f" … ({len(data)} bytes)" if len(data) > SHOWN_CAP else ""
    return f'"{body}"{more}'


def _escape(letter: str) -> str:
    code = ord(letter)
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"


def shown_size(count: int) -> str:
    """Return a number of bytes as people say it.

    Parameters
    ----------
    count : int
        Bytes.

    Returns
    -------
    str
        Bytes below a thousand, then kB and MB of 1,024 each, three digits.

    Examples
    --------
    >>> shown_size(26_214_400), shown_size(65_536), shown_size(80)
    ('25 MB', '64 kB', '80 bytes')
    """
    if count < 1000:
        return f"{count} bytes"
    if count < 1000 * 1024:
        return f"{count / 1024:.3g} kB"
    return f"{count / 1024**2:.4g} MB"
