"""What each built-in profile's scale sends, with what it means; written by hand from the profile's description."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from drivers.contract import Condition, Reading


@dataclass(frozen=True)
class Meaning:
    value: str | None
    unit: str = "g"
    condition: Condition = Condition.WEIGHT
    steady: bool | None = None
    net: bool | None = None

    def fits(self, reading: Reading) -> bool:
        value = None if self.value is None else Decimal(self.value)
        same_digits = str(reading.value) == str(value)
        return same_digits and (reading.unit, reading.condition, reading.steady, reading.net) == (
            self.unit,
            self.condition,
            self.steady,
            self.net,
        )


def with_check(body: bytes) -> bytes:
    """Frame a line of the checked profile: exclusive or over the start mark and the line."""
    total = 0x02
    for byte in body:
        total ^= byte
    return b"\x02" + body + b"%02X" % total + b"\x03"


def answered(registers: bytes) -> bytes:
    """Write a Modbus RTU answer of device 1; the check is computed here bit by bit on its own."""
    body = bytes([1, 3, len(registers)]) + registers
    crc = 0xFFFF
    for byte in body:
        for bit in range(8):
            mixed = (crc ^ (byte >> bit)) & 1
            crc = (crc >> 1) ^ (0xA001 if mixed else 0)
    return body + bytes([crc & 0xFF, crc >> 8])


OVER = Condition.OVERLOAD
SCALES: dict[str, list[tuple[bytes, Meaning]]] = {
    "plain-stream": [
        (b"wt +00603.8 g still\r\n", Meaning("603.8", steady=True)),
        (b"wt -00000.1 g moves\r\n", Meaning("-0.1", steady=False)),
        (b"wt +------- g over\r\n", Meaning(None, condition=OVER)),
        (b"wt +01137.4 g still\r\n", Meaning("1137.4", steady=True)),
    ],
    "ask-and-answer": [
        (b"A; 603.80;g\r\n", Meaning("603.80", steady=True)),
        (b"B;-1.2;g\r\n", Meaning("-1.2", steady=False)),
        (b"O;------;g\r\n", Meaning(None, condition=OVER)),
        (b"A; 1.2046;kg\r\n", Meaning("1.2046", unit="kg", steady=True)),
    ],
    "print-key": [
        (b"  603,8 g\r\n", Meaning("603,8".replace(",", "."), steady=True)),
        (b"-12,30 g net\r\n", Meaning("-12.30", steady=True, net=True)),
    ],
    "checked-net-gross": [
        (with_check(b"G=   603.80g"), Meaning("603.80", steady=True, net=False)),
        (with_check(b"N~  -603.80g"), Meaning("-603.80", steady=False, net=True)),
        (with_check(b"G^ ------- g"), Meaning(None, condition=OVER, net=False)),
    ],
    "net-block": [
        (
            b"gross   812.0 g\r\ntare    208.2 g\r\nnet     603.8 g\r\npan rest\r\n",
            Meaning("603.8", steady=True, net=True),
        ),
        (
            b"gross     0.0 g\r\ntare    208.2 g\r\nnet    -208.2 g\r\npan swing\r\n",
            Meaning("-208.2", steady=False, net=True),
        ),
    ],
    "modbus-register": [
        (answered(bytes([0x00, 0x00, 0x17, 0x96, 0x00, 0x01])), Meaning("603.8", steady=True)),
        (answered(bytes([0xFF, 0xFF, 0xFF, 0xFF, 0x00, 0x00])), Meaning("-0.1", steady=False)),
        (answered(bytes([0x00, 0x00, 0x00, 0x00, 0x00, 0x02])), Meaning(None, condition=OVER, steady=False)),
    ],
    "hid-weighing": [
        (bytes([3, 4, 2, 0xFF, 0x96, 0x17]), Meaning("603.8", steady=True)),
        (bytes([3, 3, 11, 0xFE, 0x10, 0x00]), Meaning("0.16", unit="oz", steady=False)),
        (bytes([3, 6, 2, 0, 0, 0]), Meaning(None, condition=OVER)),
        (bytes([3, 5, 3, 0xFD, 0x05, 0x00]), Meaning("-0.005", unit="kg")),
    ],
}
KEYED = b"""RUN 3
SPEED 500 rpm
FRONT AMOUNT 12.34 g ANGLE 238.5 deg
REAR AMOUNT 4.10 g ANGLE 12.0 deg
END RUN
"""
TABLE = "Spin;Turns;Rear g;Rear at;Front g;Front at\r\n3;500;4,10;12,0;12,34;238,5\r\n4;510;1,1;12;2,2;7\r\n".encode(
    "cp1252"
)
COLUMNS = b"""run  pl    amount unit   deg
---- - --------- --- ------
3    A    412.34 gmm  238.5
3    B     84.10 gmm   12.0
4    A     12.00 gmm   90.0
4    B      4.00 gmm  180.0
"""
EXPORTS = {"keyed-block": KEYED, "delimited-table": TABLE, "fixed-columns": COLUMNS}
