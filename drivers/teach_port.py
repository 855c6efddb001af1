"""Finds speed, parity and bits of a port by how plausible the bytes are that each setting gives.

Pure judgement: whoever has the port opens it with each setting of `settings_to_try`, listens for `dwell_s`, and
hands the bytes over.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from drivers.profile import PortSettings

_DWELL_S = 0.5
_SLOW_DWELL_S = 1.0
_SLOW_BAUD = 2400
CONFIRM_S = 1.0
"""How long to listen again at the first plausible setting. [s]"""
QUIET_S = 8.0
"""After so long without a byte the scale is called quiet. [s]"""
QUIET_REASONS = (
    "the scale sends only when its print key is pressed or when it is asked: set it to continuous output",
    "the cable has its data wires crossed, or not crossed, the wrong way",
    "this is another port than the scale's",
)
_PLAUSIBLE = 1.62
_FEWEST = 12
_FEWEST_LINES = 2
_ERRORS_ALLOWED = 2
_NUMBER = re.compile(rb"[0-9][.,][0-9]")
_BAUDS = (9600, 4800, 2400, 19200, 115200, 1200, 38400, 57600)


@dataclass(frozen=True, slots=True)
class Heard:
    """What a setting gave.

    Attributes
    ----------
    data : bytes
        The bytes.
    errors : int
        Framing and parity errors the port told of; 0 when it tells none.
    """

    data: bytes
    errors: int = 0


def dwell_s(setting: PortSettings) -> float:
    """Return how long to listen with a setting, so that a few lines can come.

    Parameters
    ----------
    setting : PortSettings
        The setting.

    Returns
    -------
    float
        Time to listen. [s]
    """
    return _SLOW_DWELL_S if setting.baud <= _SLOW_BAUD else _DWELL_S


def settings_to_try() -> Iterator[PortSettings]:
    """List the settings, the most usual first: every speed without parity, then with even, then with odd.

    Yields
    ------
    PortSettings
        A setting to listen with.
    """
    parities: tuple[Literal["none", "even", "odd"], ...] = ("none", "even", "odd")
    for parity in parities:
        for baud in _BAUDS:
            yield PortSettings(baud=baud, parity=parity)


def plausibility(heard: Heard) -> float:
    """Return how much bytes look like the lines of a scale.

    Parameters
    ----------
    heard : Heard
        What a setting gave.

    Returns
    -------
    float
        About 2 for clean lines, below 1.62 for anything else.
    """
    data = heard.data
    if len(data) < _FEWEST:
        return 0.0
    plain = bytes(byte & 0x7F for byte in data) if parity_in_top_bit(data) else data
    usual = sum(0x20 <= byte < 0x7F or byte in b"\r\n\t\x02\x03" for byte in plain) / len(plain)
    digits = sum(0x30 <= byte <= 0x39 for byte in plain) / len(plain)
    lines = [line for line in re.split(rb"[\r\n\x03]+", plain)[1:-1] if line]
    shapes = Counter(re.sub(rb"[0-9]", b"0", line) for line in lines)
    # An empty pan shows few digits among many blanks; then a number with decimals in nearly every line says the same.
    with_number = sum(_NUMBER.search(line) is not None for line in lines)
    numbered = len(lines) >= _FEWEST_LINES and with_number >= 0.8 * len(lines)
    repeated = sum(count for count in shapes.values() if count > 1) / max(1, shapes.total())
    errors = 2.0 * heard.errors / len(data)
    top_bit = 0.3 if plain is data and any(byte & 0x80 for byte in data) else 0.0
    return usual + (0.5 if digits > 0.15 or numbered else 0.0) + 0.5 * repeated - errors - top_bit


def is_plausible(heard: Heard) -> bool:
    """Tell whether a setting is worth confirming, or confirmed.

    Parameters
    ----------
    heard : Heard
        What it gave.

    Returns
    -------
    bool
        True when the bytes look like the lines of a scale.
    """
    # A right setting has an error or two where listening began in the middle of a character.
    few_errors = heard.errors <= max(_ERRORS_ALLOWED, len(heard.data) // 50)
    return few_errors and plausibility(heard) >= _PLAUSIBLE


def parity_in_top_bit(data: bytes) -> Literal["even", "odd"] | None:
    """Tell whether the top bits are the parity of seven-bit characters.

    Parameters
    ----------
    data : bytes
        Bytes read with eight bits and no parity.

    Returns
    -------
    Literal["even", "odd"] | None
        The parity; None when the top bits are data or never set.

    Examples
    --------
    >>> parity_in_top_bit(bytes([0xB1, 0xB2, 0x33, 0xB4]))
    'even'
    """
    if len({byte & 0x80 for byte in data}) < 2:
        return None
    ones = {byte.bit_count() & 1 for byte in data}
    if len(ones) != 1:
        return None
    return "odd" if ones.pop() else "even"


def settled(setting: PortSettings, heard: Heard) -> PortSettings:
    """Return the setting to keep: eight bits with a parity in the top bit are seven bits with parity.

    Parameters
    ----------
    setting : PortSettings
        What was listened with.
    heard : Heard
        What it gave.

    Returns
    -------
    PortSettings
        The setting for the profile.
    """
    parity = parity_in_top_bit(heard.data)
    if setting.parity == "none" and parity is not None:
        return setting.model_copy(update={"bits": 7, "parity": parity})
    return setting
