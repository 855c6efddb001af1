"""A USB weighing device: the usual data report of the HID usage page for scales.

Source: USB-IF, HID Point of Sale Usage Tables, page 0x8D (scale): data report of report id, status, unit, power of ten
and weight; a status n is usage 0x70 + n, a unit n is usage 0x50 + n.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Self

from drivers.contract import Condition, LineFault, Reading
from drivers.scales.scale_profile import ScaleProfile
from drivers.showing import shown_bytes

REPORT_LENGTH = 6
_REPORT_ID = 3
_UNITS = {1: "mg", 2: "g", 3: "kg", 4: "ct", 6: "gn", 7: "dwt", 10: "oz t", 11: "oz", 12: "lb"}
_STATES: dict[int, tuple[Condition, bool | None, int]] = {
    1: (Condition.NO_NUMBER, None, 1),
    2: (Condition.WEIGHT, True, 1),
    3: (Condition.WEIGHT, False, 1),
    4: (Condition.WEIGHT, True, 1),
    5: (Condition.WEIGHT, None, -1),
    6: (Condition.OVERLOAD, None, 1),
    7: (Condition.NO_NUMBER, None, 1),
    8: (Condition.NO_NUMBER, None, 1),
}
_LARGEST_POWER = 4


class HidWeighingScale:
    """Reads data reports of six bytes.

    A report that begins with another id or has an impossible field is a fault, and reading goes on with the next
    byte, so that lost bytes put it out of step for one report only.

    Parameters
    ----------
    profile : ScaleProfile
        Its name is all that is used: the report says everything else.
    """

    def __init__(self, profile: ScaleProfile) -> None:
        self._name = profile.name
        self._rest = b""
        self._in_step = True

    @classmethod
    def from_profile(cls, profile: ScaleProfile) -> Self:
        """Make the driver, as the registry does.

        Parameters
        ----------
        profile : ScaleProfile
            Gives the name.

        Returns
        -------
        Self
            A driver that has seen no byte yet.
        """
        return cls(profile)

    @property
    def profile_name(self) -> str:
        """Name of the profile this driver was made from."""
        return self._name

    def feed(self, chunk: bytes, at_ns: int) -> list[Reading | LineFault]:
        """Take bytes as they come and return what they complete.

        Parameters
        ----------
        chunk : bytes
            Reports, cut anywhere.
        at_ns : int
            Monotonic moment of arrival. [ns]

        Returns
        -------
        list[Reading | LineFault]
            What the bytes completed, oldest first; one fault for each stretch that is out of step.
        """
        data, at = self._rest + chunk, 0
        items: list[Reading | LineFault] = []
        while len(data) - at >= REPORT_LENGTH:
            report = data[at : at + REPORT_LENGTH]
            reading = _reading(report, at_ns)
            if reading is not None:
                items.append(reading)
                at += REPORT_LENGTH
                self._in_step = True
                continue
            if self._in_step:
                wanted = "report 3 with status 1 to 8, a unit, and a power of ten from -4 to 4"
                items.append(LineFault(at_ns, report, shown_bytes(report), wanted))
                self._in_step = False
            # Nothing but the id can begin a report.
            begin = data.find(_REPORT_ID, at + 1)
            at = begin if begin >= 0 else len(data)
        self._rest = data[at:]
        return items

    def link_lost(self) -> None:
        """Forget an unfinished report."""
        self._rest = b""
        self._in_step = True


def _reading(report: bytes, at_ns: int) -> Reading | None:
    power = int.from_bytes(report[3:4], "little", signed=True)
    unit, state = _UNITS.get(report[2]), _STATES.get(report[1])
    if report[0] != _REPORT_ID or unit is None or state is None or abs(power) > _LARGEST_POWER:
        return None
    condition, steady, sign = state
    value = None
    if condition is Condition.WEIGHT:
        value = Decimal(sign * int.from_bytes(report[4:6], "little")).scaleb(power)
    return Reading(at_ns, value, unit, condition, steady, None, report)
