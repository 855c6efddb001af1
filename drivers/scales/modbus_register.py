"""A scale or indicator whose weight is read from Modbus registers.

Bytes are the answers of Modbus RTU: address, function, byte count, registers high byte first, and the check (low byte
first). A link over TCP writes its answers in the same form, so that one driver, one recording and one test serve both.

Source: Modbus application protocol V1.1b3, functions 3 and 4, and Modbus over serial line V1.02, RTU framing (from
memory).
"""

from __future__ import annotations

import math
import struct
from decimal import Decimal
from typing import Self

from drivers.checks import check_value
from drivers.contract import Condition, LineFault, Reading
from drivers.profile import ProfileError
from drivers.scales.scale_profile import ModbusRegisters, ScaleProfile
from drivers.showing import shown_bytes

_FORMS = {"int16": ">h", "int32": ">i", "float32": ">f"}


def rtu_answer(*, address: int, function: int, registers: bytes) -> bytes:
    """Write an answer as Modbus RTU does.

    Parameters
    ----------
    address : int
        Address of the device.
    function : int
        3 or 4.
    registers : bytes
        The registers, high byte first.

    Returns
    -------
    bytes
        The answer with its check.
    """
    body = bytes([address, function, len(registers)]) + registers
    return body + check_value(body, "crc16 modbus").to_bytes(2, "little")


class ModbusRegisterScale:
    """Reads answers that hold a weight.

    Parameters
    ----------
    profile : ScaleProfile
        Must have a [modbus].

    Raises
    ------
    ProfileError
        If the profile has no registers or no unit.
    """

    def __init__(self, profile: ScaleProfile) -> None:
        if profile.modbus is None or not profile.unit:
            wanted = "a [modbus] with address, register and number, and a unit"
            raise ProfileError(where=profile.name, field="modbus", found="nothing", wanted=wanted)
        self._profile = profile
        self._registers: ModbusRegisters = profile.modbus
        self._length = 5 + 2 * self._registers.count
        self._head = bytes([self._registers.address, self._registers.function, 2 * self._registers.count])
        self._rest = b""
        self._in_step = True

    @classmethod
    def from_profile(cls, profile: ScaleProfile) -> Self:
        """Make the driver, as the registry does.

        Parameters
        ----------
        profile : ScaleProfile
            Must have a [modbus].

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
            Answers, cut anywhere.
        at_ns : int
            Monotonic moment of arrival. [ns]

        Returns
        -------
        list[Reading | LineFault]
            What the bytes completed, oldest first; one fault for each stretch that is out of step.
        """
        data, at = self._rest + chunk, 0
        items: list[Reading | LineFault] = []
        while len(data) - at >= self._length:
            answer = data[at : at + self._length]
            if self._whole(answer):
                items.append(self._reading(answer, at_ns))
                at += self._length
                self._in_step = True
                continue
            if self._in_step:
                wanted = (
                    f"an answer of {self._length} bytes that begins {shown_bytes(self._head)}, with a check that holds"
                )
                items.append(LineFault(at_ns, answer, shown_bytes(answer), wanted))
                self._in_step = False
            begin = data.find(self._head[:1], at + 1)
            at = begin if begin >= 0 else len(data)
        self._rest = data[at:]
        return items

    def link_lost(self) -> None:
        """Forget an unfinished answer."""
        self._rest = b""
        self._in_step = True

    def _whole(self, answer: bytes) -> bool:
        check = int.from_bytes(answer[-2:], "little")
        return answer.startswith(self._head) and check_value(answer[:-2], "crc16 modbus") == check

    def _reading(self, answer: bytes, at_ns: int) -> Reading:
        wanted, body = self._registers, answer[3:-2]
        size = struct.calcsize(_FORMS[wanted.number])
        digits = body[:size]
        if wanted.low_word_first:
            digits = b"".join(digits[at : at + 2] for at in range(size - 2, -2, -2))
        (number,) = struct.unpack(_FORMS[wanted.number], digits)
        status = int.from_bytes(body[size : size + 2], "big") if wanted.status else 0
        condition = Condition.OVERLOAD if status & wanted.overload_mask else Condition.WEIGHT
        value: Decimal | None = None
        if not math.isfinite(number):
            condition = Condition.NO_NUMBER
        elif condition is Condition.WEIGHT:
            value = self._decimal(number)
        steady = bool(status & wanted.steady_mask) if wanted.steady_mask else None
        return Reading(at_ns, value, self._profile.unit, condition, steady, None, answer)

    def _decimal(self, number: float) -> Decimal:
        places = self._registers.places
        if isinstance(number, int):
            return Decimal(number).scaleb(-places)
        return Decimal(f"{number:.{places}f}")
