"""A scale that sends line after line by itself."""

from __future__ import annotations

from typing import Self

from drivers.contract import LineFault, Reading
from drivers.framing import LineFramer
from drivers.scales.line_reading import LineReader
from drivers.scales.scale_profile import ScaleProfile


class StreamingScale:
    r"""Reads a stream of lines, each of which stands for itself.

    Parameters
    ----------
    profile : ScaleProfile
        What the scale sends.
    """

    def __init__(self, profile: ScaleProfile) -> None:
        self._profile = profile
        frame = profile.frame
        self._framer = LineFramer(
            end=frame.end.encode("latin-1"), start=frame.start.encode("latin-1"), drop_first=frame.drop_first
        )
        self._reader = LineReader(profile)

    @classmethod
    def from_profile(cls, profile: ScaleProfile) -> Self:
        """Make the driver, as the registry does.

        Parameters
        ----------
        profile : ScaleProfile
            What the scale sends.

        Returns
        -------
        Self
            A driver that has seen no byte yet.
        """
        return cls(profile)

    @property
    def profile_name(self) -> str:
        """Name of the profile this driver was made from."""
        return self._profile.name

    def feed(self, chunk: bytes, at_ns: int) -> list[Reading | LineFault]:
        """Take bytes as they come and return what they complete.

        Parameters
        ----------
        chunk : bytes
            Bytes in the order they arrived; any cut is fine.
        at_ns : int
            Monotonic moment of arrival. [ns]

        Returns
        -------
        list[Reading | LineFault]
            What the bytes completed, oldest first.
        """
        return self._reader.read_all(self._framer.feed(chunk), at_ns)

    def link_lost(self) -> None:
        """Forget an unfinished line: what comes next is a new stream."""
        self._framer.reset()
