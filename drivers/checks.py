"""Check characters at the end of a line: sums, exclusive or, and cyclic redundancy checks."""

from __future__ import annotations

from typing import Literal

CheckKind = Literal["xor", "sum", "negative sum", "crc16 modbus", "crc16 ccitt"]
CheckWriting = Literal["hex", "decimal", "low byte first hex"]


def _crc16_modbus(data: bytes) -> int:
    crc = 0xFFFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc >> 1) ^ 0xA001 if crc & 1 else crc >> 1
    return crc


def _crc16_ccitt(data: bytes) -> int:
    crc = 0xFFFF
    for byte in data:
        crc ^= byte << 8
        for _ in range(8):
            crc = ((crc << 1) ^ 0x1021) & 0xFFFF if crc & 0x8000 else crc << 1
    return crc


def check_value(data: bytes, kind: CheckKind) -> int:
    """Return the check value of some bytes.

    Parameters
    ----------
    data : bytes
        The bytes that are counted.
    kind : CheckKind
        Eight-bit "xor", "sum" or "negative sum" (sum and check give zero), or a 16-bit cyclic redundancy check.

    Returns
    -------
    int
        The check value.

    Notes
    -----
    Source: the check values of the two cyclic redundancy checks over the ASCII digits "123456789" are 0x4B37 and
    0x29B1 in the public catalogue of parametrised CRC algorithms (from memory).

    Examples
    --------
    >>> hex(check_value(b"123456789", "crc16 modbus")), hex(check_value(b"123456789", "crc16 ccitt"))
    ('0x4b37', '0x29b1')
    """
    match kind:
        case "xor":
            value = 0
            for byte in data:
                value ^= byte
            return value
        case "sum":
            return sum(data) & 0xFF
        case "negative sum":
            return -sum(data) & 0xFF
        case "crc16 modbus":
            return _crc16_modbus(data)
        case "crc16 ccitt":
            return _crc16_ccitt(data)


def check_length(kind: CheckKind, writing: CheckWriting) -> int:
    """Return how many characters the check takes.

    Parameters
    ----------
    kind : CheckKind
        How it is computed.
    writing : CheckWriting
        How it is written.

    Returns
    -------
    int
        Number of characters.
    """
    wide = kind.startswith("crc16")
    if writing == "decimal":
        return 5 if wide else 3
    return 4 if wide else 2


def check_holds(data: bytes, written: bytes, *, kind: CheckKind, writing: CheckWriting) -> bool:
    """Tell whether the check characters belong to the bytes.

    Parameters
    ----------
    data : bytes
        The bytes that are counted.
    written : bytes
        The check characters as sent.
    kind : CheckKind
        How they are computed.
    writing : CheckWriting
        How they are written; hexadecimal digits may be of either case.

    Returns
    -------
    bool
        True when they agree.
    """
    value = check_value(data, kind)
    length = check_length(kind, writing)
    if writing == "decimal":
        wanted = f"{value:0{length}d}"
    else:
        wanted = f"{value:0{length}X}"
        if writing == "low byte first hex" and length == 4:
            wanted = wanted[2:] + wanted[:2]
    return written.upper() == wanted.encode("ascii")
