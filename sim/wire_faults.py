"""What a bad line does to what is sent: damaged bytes, doubled lines, silences."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

_NOISE = b"0123456789+-. gwtx\x00\xff?#"


@dataclass(slots=True)
class WireFaults:
    """A line that is not perfect.

    Attributes
    ----------
    rng : np.random.Generator
        Source of chance.
    garbled : float
        Share of damaged lines.
    doubled : float
        Share of doubled lines.
    silent_until_s : float
        Nothing is sent before this moment of the simulated time. [s]
    """

    rng: np.random.Generator
    garbled: float = 0.0
    doubled: float = 0.0
    silent_until_s: float = 0.0

    def passed(self, line: bytes, at_s: float) -> bytes:
        """Return what arrives of a line.

        Parameters
        ----------
        line : bytes
            The line with its end.
        at_s : float
            When it is sent. [s]

        Returns
        -------
        bytes
            The line, a damaged one, two of them, or nothing.
        """
        if at_s < self.silent_until_s:
            return b""
        draw = float(self.rng.random())
        if draw < self.garbled:
            return self._damaged(line)
        if draw < self.garbled + self.doubled:
            return line + line
        return line

    def _damaged(self, line: bytes) -> bytes:
        place = int(self.rng.integers(len(line)))
        kind = int(self.rng.integers(3))
        if kind == 0:
            return line[:place] + line[place + 1 :]
        noise = bytes([_NOISE[int(self.rng.integers(len(_NOISE)))]])
        return line[:place] + noise + line[place + (1 if kind == 1 else 0) :]
