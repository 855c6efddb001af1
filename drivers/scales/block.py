"""A scale that tells one reading in several lines."""

from __future__ import annotations

from typing import Self

from drivers.contract import LineFault, Reading
from drivers.framing import LineFramer, Overlong
from drivers.profile import ProfileError
from drivers.scales.line_reading import LineReader
from drivers.scales.scale_profile import ScaleLine, ScaleProfile

_LINES_CAP = 32


class BlockScale:
    """Reads blocks: from a line marked ``place = "first"`` to one marked ``place = "last"``.

    The fields of all lines of a block are taken together, so that the weight may stand in one line and the state in
    another. A line that fits nothing ends the block, and nothing of it is taken.

    Parameters
    ----------
    profile : ScaleProfile
        What the scale sends.

    Raises
    ------
    ProfileError
        If no line is marked as the first or none as the last.
    """

    def __init__(self, profile: ScaleProfile) -> None:
        places = {line.place for line in profile.line}
        for place in ("first", "last"):
            if place not in places:
                wanted = f'one line with place = "{place}"'
                raise ProfileError(where=profile.name, field="line", found="no such mark", wanted=wanted)
        self._profile = profile
        frame = profile.frame
        # Lines before the first whole block are passed over anyway, so none needs to be dropped.
        self._framer = LineFramer(
            end=frame.end.encode("latin-1"), start=frame.start.encode("latin-1"), drop_first=frame.drop_first
        )
        self._reader = LineReader(profile)
        self._fields: dict[str, str] = {}
        self._weight: ScaleLine | None = None
        self._lines: list[bytes] = []

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
        taken = (self._take(line, at_ns) for line in self._framer.feed(chunk))
        return [item for item in taken if item is not None]

    def link_lost(self) -> None:
        """Forget an unfinished block: what comes next is a new stream."""
        self._framer.reset()
        self._forget()

    def _forget(self) -> None:
        self._fields, self._weight, self._lines = {}, None, []

    def _take(  # noqa: PLR0911 - each way a block can go on or end is told where it happens
        self, line: bytes | Overlong, at_ns: int
    ) -> Reading | LineFault | None:
        found = self._reader.match(line, at_ns)
        if isinstance(found, LineFault):
            self._forget()
            return found
        if found is None:
            return None
        fields, form, body = found
        if form.place == "first":
            self._forget()
        elif not self._lines:
            return None
        if len(self._lines) >= _LINES_CAP:
            self._forget()
            return LineFault(at_ns, body, f"a block of more than {_LINES_CAP} lines", "its last line before that")
        self._lines.append(body)
        if form.says != "nothing":
            self._weight = form
        self._fields.update(fields)
        if form.place != "last":
            return None
        raw = b"\n".join(self._lines)
        kept, weight = self._fields, self._weight
        self._forget()
        if weight is None:
            return LineFault(at_ns, raw[:128], "a block without a weight", "one line that says the weight")
        return self._reader.reading(kept, weight, raw, at_ns)
