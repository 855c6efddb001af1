"""Invented line formats of scales, composed from parts, for the tests of the teacher.

It prints its own bytes and knows nothing of the drivers' way to read them.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from decimal import Decimal


@dataclass(frozen=True)
class Composition:
    """The parts of one format."""

    places: int = 1
    decimal: str = "."
    implied: bool = False
    backwards: bool = False
    thousands: str = ""
    pad: str = "blank"  # blank, zero, none
    width: int = 8
    sign: str = "before"  # before, left, field, after, parentheses
    plus: bool = False
    states: tuple[str, str] | None = None  # steady, moving
    state_last: bool = True
    kinds: tuple[str, str] | None = None  # net, gross
    unit: str = "g"  # as sent; empty when none
    unit_gap: str = " "
    separator: str = " "
    label: str = ""
    counter: str = ""  # "", "digits", "clock", "date"
    both: str = ""  # "", "line" (gross and net in one line), "block" (a line each)
    start: str = ""
    tail: str = "\r\n"
    before_tail: str = ""
    check: str = ""  # "", xor, sum, negative, crc
    unit_when_moving: bool = True

    @property
    def symbol(self) -> str:
        return {"": "g", "gr": "g", "GRAM": "g"}.get(self.unit, self.unit)


def _digits(value: Decimal, form: Composition) -> str:
    magnitude = f"{abs(value):.{form.places}f}"
    if form.thousands:
        whole, _, behind = magnitude.partition(".")
        groups = f"{int(whole):,}".replace(",", "\x00")
        magnitude = groups + "." + behind
    if form.implied:
        magnitude = magnitude.replace(".", "")
    magnitude = magnitude.replace(".", form.decimal).replace("\x00", form.thousands)
    return magnitude[::-1] if form.backwards else magnitude


def _number(value: Decimal, form: Composition) -> str:
    digits = _digits(value, form)
    negative = value < 0
    mark = "-" if negative else ("+" if form.plus else "")
    room = form.width - 1
    if form.pad == "zero" and not form.thousands:
        digits = digits.ljust(room, "0") if form.backwards else digits.rjust(room, "0")
    if form.sign == "before":
        text = mark + digits if form.pad != "zero" else (mark or ("0" if not form.plus else "+")) + digits
        return text.rjust(form.width) if form.pad != "none" else text
    if form.sign == "left":
        return (mark or " ") + digits.rjust(room)
    if form.sign == "field":
        return ("-" if negative else "+") + form.separator + digits.rjust(room)
    if form.sign == "after":
        text = digits + ("-" if negative else ("+" if form.plus else " "))
        return text.rjust(form.width) if form.pad != "none" else text.rstrip()
    text = f"({digits})" if negative else f" {digits} "
    return text.rjust(form.width + 1) if form.pad != "none" else text.strip()


def _check(body: bytes, kind: str) -> bytes:
    if not kind:
        return b""
    if kind == "xor":
        total = 0
        for byte in body:
            total ^= byte
        return b"%02X" % total
    if kind == "sum":
        return b"%02X" % (sum(body) % 256)
    if kind == "negative":
        return b"%02X" % ((256 - sum(body) % 256) % 256)
    if kind == "decimal":
        return b"%03d" % (sum(body) % 256)
    crc = 0xFFFF
    for byte in body:
        crc ^= byte
        for _ in range(8):
            low = crc & 1
            crc >>= 1
            if low:
                crc ^= 0xA001
    return b"%04X" % crc


@dataclass(frozen=True)
class Moment:
    """What a scale knows when it sends."""

    gross: Decimal
    tare: Decimal
    steady: bool
    count: int

    @property
    def shown(self) -> Decimal:
        return self.gross - self.tare


def sent(form: Composition, moment: Moment) -> bytes:
    """Return what goes over the wire for one reading."""
    if form.both == "block":
        lines = [
            "GROSS" + form.separator + _number(moment.gross, form) + form.unit_gap + form.unit,
            "TARE" + form.separator + _number(moment.tare, form) + form.unit_gap + form.unit,
            "NET" + form.separator + _number(moment.shown, form) + form.unit_gap + form.unit,
        ]
        return b"".join(_framed(line, form) for line in lines)
    unit = form.unit if form.unit_when_moving or moment.steady else " " * len(form.unit)
    number = _number(moment.shown, form) + form.unit_gap + unit
    if form.both == "line":
        number = f"G{form.separator}{_number(moment.gross, form)}{form.separator}N{form.separator}" + number
    parts = [form.label] if form.label else []
    if form.counter == "digits":
        parts.append(f"{moment.count:05d}")
    elif form.counter == "clock":
        parts.append(f"{moment.count // 3600 % 24:02d}:{moment.count // 60 % 60:02d}:{moment.count % 60:02d}")
    elif form.counter == "date":
        parts.append(f"20{moment.count % 70 + 10}-{moment.count % 12 + 1:02d}-{moment.count % 28 + 1:02d}")
    state = [form.states[0 if moment.steady else 1]] if form.states else []
    kind = [form.kinds[0 if moment.tare else 1]] if form.kinds else []
    parts += [number, *kind, *state] if form.state_last else [*state, *kind, number]
    return _framed(form.separator.join(parts), form)


def _framed(line: str, form: Composition) -> bytes:
    body = (line + form.before_tail).encode("latin-1")
    return form.start.encode("latin-1") + body + _check(body, form.check) + form.tail.encode("latin-1")


def capture(form: Composition, rng: random.Random, moments: list[Moment]) -> bytes:
    """Return a capture that begins and ends in the middle of something."""
    stream = b"".join(sent(form, moment) for moment in moments)
    first = len(sent(form, moments[0]))
    return stream[rng.randrange(1, first) :]


def division(form: Composition) -> Decimal:
    return Decimal(1).scaleb(-form.places)


def at_rest(form: Composition, rng: random.Random, *, gross: Decimal, tare: Decimal, lines: int) -> list[Moment]:
    return [
        Moment(
            gross + division(form) * rng.choice((0, 0, 0, 0, 0, 0, 1, -1)) * (gross != 0),
            tare,
            True,
            rng.randrange(86400),
        )
        for _ in range(lines)
    ]


def on_the_move(form: Composition, rng: random.Random, *, to: Decimal, lines: int) -> list[Moment]:
    moments: list[Moment] = []
    for at in range(lines):
        share = Decimal(rng.randrange(5, 96)) / 100
        gross = (to * share).quantize(division(form))
        moments.append(Moment(gross, Decimal(0), at >= lines - 1 and lines > 6, rng.randrange(86400)))
    return moments


def random_part(form: Composition, rng: random.Random) -> Decimal:
    """Return a weight whose digits are no palindrome and not alike."""
    while True:
        # A part below a thousand cannot show how thousands are grouped; a longer number is then a fault, never wrong.
        whole = rng.randrange(1000 if form.thousands else 100, 3000)
        part = Decimal(whole) + Decimal(rng.randrange(10**form.places)) * division(form)
        digits = str(part).replace(".", "")
        if digits != digits[::-1] and len(set(digits)) > 2:
            return part


_PLAIN = Composition()
_STATES = ("calm", "busy")
FORMATS: dict[str, Composition] = {
    "bare": replace(_PLAIN, unit=""),
    "bare two places": replace(_PLAIN, unit="", places=2),
    "with unit": _PLAIN,
    "kilograms": replace(_PLAIN, unit="kg", places=3, width=10),
    "unit close": replace(_PLAIN, unit_gap=""),
    "unit in words": replace(_PLAIN, unit="GRAM"),
    "no pad": replace(_PLAIN, pad="none"),
    "zero pad": replace(_PLAIN, pad="zero"),
    "zero pad plus": replace(_PLAIN, pad="zero", plus=True),
    "plus shown": replace(_PLAIN, plus=True),
    "sign left": replace(_PLAIN, sign="left"),
    "sign left plus": replace(_PLAIN, sign="left", plus=True),
    "sign field comma": replace(_PLAIN, sign="field", separator=","),
    "sign field semicolon": replace(_PLAIN, sign="field", separator=";"),
    "sign field bar": replace(_PLAIN, sign="field", separator="|"),
    "sign after": replace(_PLAIN, sign="after"),
    "sign after plus": replace(_PLAIN, sign="after", plus=True),
    "sign after close": replace(_PLAIN, sign="after", pad="none"),
    "parentheses": replace(_PLAIN, sign="parentheses"),
    "parentheses close": replace(_PLAIN, sign="parentheses", pad="none"),
    "decimal comma": replace(_PLAIN, decimal=","),
    "decimal comma two places": replace(_PLAIN, decimal=",", places=2, unit=""),
    "decimal comma in semicolons": replace(_PLAIN, decimal=",", separator=";", states=_STATES),
    "implied point": replace(_PLAIN, implied=True, pad="zero"),
    "implied point two places": replace(_PLAIN, implied=True, places=2, pad="zero", unit=""),
    "backwards": replace(_PLAIN, backwards=True, pad="none", label="=", unit="", sign="after"),
    "apostrophe groups": replace(_PLAIN, thousands="'"),
    "comma groups": replace(_PLAIN, thousands=",", width=10),
    "point groups, decimal comma": replace(_PLAIN, thousands=".", decimal=",", width=10),
    "state last": replace(_PLAIN, states=_STATES),
    "state first": replace(_PLAIN, states=_STATES, state_last=False),
    "state letter": replace(_PLAIN, states=("S", "D"), state_last=False),
    "state mark": replace(_PLAIN, states=("*", "?")),
    "state only at rest": replace(_PLAIN, states=("OK", "  ")),
    "state only when moving": replace(_PLAIN, states=("", "~")),
    "state in commas": replace(_PLAIN, states=_STATES, state_last=False, separator=","),
    "state and kind": replace(_PLAIN, states=_STATES, kinds=("net", "gro"), state_last=False, separator=","),
    "kind": replace(_PLAIN, kinds=("N", "B")),
    "kind first": replace(_PLAIN, kinds=("NT", "GS"), state_last=False),
    "kind and state last": replace(_PLAIN, kinds=("nt", "br"), states=("ok", "mv")),
    "label": replace(_PLAIN, label="weight:"),
    "label equals": replace(_PLAIN, label="w=", pad="none"),
    "channel": replace(_PLAIN, label="CH1"),
    "counter": replace(_PLAIN, counter="digits"),
    "counter in commas": replace(_PLAIN, counter="digits", separator=","),
    "clock": replace(_PLAIN, counter="clock"),
    "date": replace(_PLAIN, counter="date", separator=";"),
    "clock and state": replace(_PLAIN, counter="clock", states=_STATES, separator=";"),
    "gross and net": replace(_PLAIN, both="line"),
    "gross and net in commas": replace(_PLAIN, both="line", separator=","),
    "block": replace(_PLAIN, both="block"),
    "block in colons": replace(_PLAIN, both="block", separator=": "),
    "line feed": replace(_PLAIN, tail="\n"),
    "carriage return": replace(_PLAIN, tail="\r", states=_STATES),
    "line feed first": replace(_PLAIN, tail="\n\r"),
    "start and end of text": replace(_PLAIN, start="\x02", tail="\x03"),
    "start of text": replace(_PLAIN, start="\x02", tail="\r\n", states=_STATES),
    "start, end, line end": replace(_PLAIN, start="\x02", before_tail="\x03", tail="\r\n"),
    "end of text": replace(_PLAIN, tail="\x03"),
    "check xor": replace(_PLAIN, check="xor", separator=","),
    "check sum": replace(_PLAIN, check="sum", states=_STATES),
    "check negative": replace(_PLAIN, check="negative", start="\x02", tail="\x03"),
    "check crc": replace(_PLAIN, check="crc"),
    "check decimal": replace(_PLAIN, check="decimal", before_tail=" "),
    "check and start": replace(_PLAIN, check="xor", start="\x02", tail="\r\n", states=_STATES),
    "trailing blanks": replace(_PLAIN, before_tail="   "),
    "unit only at rest": replace(_PLAIN, unit_when_moving=False),
    "commas and blanks": replace(_PLAIN, separator=", ", states=_STATES, kinds=("net", "gross")),
    "wide": replace(_PLAIN, width=14, separator="  ", states=("steady", "moving")),
    "whole grams": replace(_PLAIN, places=0),
}


def composed(rng: random.Random) -> Composition:
    """Return a random composition."""
    decimal = rng.choice("..,")
    separators = [" ", ";", "|", "  ", " ; "] + ([","] if decimal == "." else [])
    start, before_tail, tail = rng.choice(
        [("", "", "\r\n")] * 4
        + [("", "", "\n"), ("", "", "\r"), ("\x02", "", "\x03"), ("\x02", "\x03", "\r\n"), ("\x02", "", "\r")]
    )
    sign = rng.choice(["before", "before", "before", "left", "field", "after", "parentheses"])
    separator = rng.choice(separators)
    if sign == "field" and not separator.strip():
        sign = "left"
    implied = rng.random() < 0.1
    both = rng.choice(["", "", "", "", "", "line", "block"])
    return Composition(
        places=rng.choice((1, 1, 2)),
        decimal=decimal,
        implied=implied and not both,
        pad=rng.choice(("blank", "zero", "none")) if not implied else "zero",
        width=rng.choice((8, 9, 10, 12)),
        sign=sign,
        plus=rng.random() < 0.3,
        states=rng.choice([None, ("S", "U"), ("calm", "busy"), ("st", "us"), ("*", "?"), ("OK", "--"), ("0", "1")][:6]),
        state_last=rng.random() < 0.5,
        kinds=rng.choice([None, None, ("N", "G"), ("net", "gross"), ("NT", "GS")]),
        unit=rng.choice(("g", "g", "gr", "GRAM", "kg", "")),
        unit_gap=rng.choice((" ", "")),
        separator=separator,
        label=rng.choice(("", "", "w:", "W=", "scale", "@")),
        counter=rng.choice(("", "", "", "digits", "clock", "date")),
        both=both,
        start=start,
        tail=tail,
        before_tail=before_tail,
        check=rng.choice(("", "", "", "xor", "sum", "negative", "crc")) if tail != "\x03" or start else "",
        unit_when_moving=rng.random() < 0.9,
    )
