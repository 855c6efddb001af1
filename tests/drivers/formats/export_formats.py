"""Invented layouts of balancing machines' texts, for the tests of the teacher. It writes its own text."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True)
class Run:
    """What a machine measured."""

    number: int
    speed: int
    front: tuple[Decimal, Decimal]
    rear: tuple[Decimal, Decimal]

    @property
    def planes(self) -> list[tuple[str, Decimal, Decimal]]:
        return [("front", *self.front), ("rear", *self.rear)]


def random_run(rng: random.Random, number: int) -> Run:
    figures: set[Decimal] = set()
    while len(figures) < 4:
        figures.add(Decimal(rng.randrange(100, 9000)) / 100)
        figures.add(Decimal(rng.randrange(10, 3599)) / 10)
    amounts = [figure for figure in figures if figure.as_tuple().exponent == -2]
    del amounts
    front = (Decimal(rng.randrange(101, 9000)) / 100, Decimal(rng.randrange(11, 3599)) / 10)
    rear = (Decimal(rng.randrange(101, 9000)) / 100, Decimal(rng.randrange(11, 3599)) / 10)
    if len({*front, *rear}) < 4:
        return random_run(rng, number)
    return Run(number, rng.choice((350, 500, 650)), front, rear)


Writer = Callable[[list[Run]], bytes]


def keyed(
    *,
    begin: str = "RUN {n}",
    line: str = "{plane} AMOUNT {amount} g ANGLE {angle} deg",
    end: str = "END",
    names: tuple[str, str] = ("FRONT", "REAR"),
    speed: str = "SPEED {speed} rpm",
    decimal: str = ".",
    head: str = "",
    tail: str = "\r\n",
    encoding: str = "utf-8",
) -> Writer:
    def write(runs: list[Run]) -> bytes:
        lines = [head] if head else []
        for run in runs:
            lines.append(begin.format(n=run.number))
            if speed:
                lines.append(speed.format(speed=run.speed))
            for (plane, amount, angle), name in zip(run.planes, names, strict=True):
                lines += [
                    part.format(
                        plane=name,
                        amount=f"{amount:.2f}".replace(".", decimal),
                        angle=f"{angle:.1f}".replace(".", decimal),
                    )
                    for part in line.split("\n")
                ]
                del plane
            lines.append(end)
        return (tail.join(lines) + tail).encode(encoding)

    return write


def table(
    *,
    delimiter: str = ";",
    headings: tuple[str, ...] = ("Run", "Speed", "Front g", "Front deg", "Rear g", "Rear deg"),
    decimal: str = ".",
    names: tuple[str, str] | None = None,
    head: str = "",
    quote: bool = False,
    swap: bool = False,
    encoding: str = "utf-8",
) -> Writer:
    """Write a row a run, or with names a row a plane."""

    def cell(text: str) -> str:
        return f'"{text}"' if quote else text

    def write(runs: list[Run]) -> bytes:
        lines = [head] if head else []
        lines.append(delimiter.join(cell(heading) for heading in headings))
        for run in runs:
            figures = [
                [f"{amount:.2f}".replace(".", decimal), f"{angle:.1f}".replace(".", decimal)][:: -1 if swap else 1]
                for _, amount, angle in run.planes
            ]
            lead = [str(run.number), str(run.speed)]
            if names is None:
                rows = [[*lead, *figures[0], *figures[1]]]
            else:
                rows = [[*lead, name, *pair] for name, pair in zip(names, figures, strict=True)]
            lines += [delimiter.join(cell(text) for text in row[: len(headings)]) for row in rows]
        return ("\r\n".join(lines) + "\r\n").encode(encoding)

    return write


def fixed(
    *,
    names: tuple[str, str] | None = ("A", "B"),
    heads: tuple[str, ...] = ("pl     amount    angle",),
    row: str = "{plane:<4}{amount:>9}{angle:>9}",
    decimal: str = ".",
) -> Writer:
    """Write a row a plane, or without names a row a run."""

    def write(runs: list[Run]) -> bytes:
        lines = list(heads)
        for run in runs:
            figures = [
                (f"{amount:.2f}".replace(".", decimal), f"{angle:.1f}".replace(".", decimal))
                for _, amount, angle in run.planes
            ]
            if names is None:
                (a, b), (c, d) = figures
                lines.append(row.format(a=a, b=b, c=c, d=d))
            else:
                lines += [row.format(plane=n, amount=a, angle=b) for n, (a, b) in zip(names, figures, strict=True)]
        return ("\n".join(lines) + "\n").encode()

    return write


LONG = ("Run", "Speed", "Plane", "Grams", "Degrees")
LAYOUTS: dict[str, Writer] = {
    "keyed": keyed(),
    "keyed comma": keyed(decimal=","),
    "keyed small words": keyed(
        begin="spin no {n}", line="{plane}: {amount} g at {angle}", end="done", names=("front", "rear")
    ),
    "keyed letters": keyed(line="{plane} {amount} {angle}", names=("L", "R"), end="--"),
    "keyed equals": keyed(line="{plane} g={amount} deg={angle}", names=("P1", "P2")),
    "keyed colons": keyed(line="{plane}: {amount} / {angle}", begin="Test: {n}", end="End of test"),
    "keyed angle first": keyed(line="{plane} {angle} deg {amount} g"),
    "keyed two lines": keyed(line="{plane} amount {amount}\n{plane} angle {angle}"),
    "keyed two lines equals": keyed(line="{plane}.a = {amount}\n{plane}.w = {angle}", names=("one", "two")),
    "keyed no speed": keyed(speed=""),
    "keyed head": keyed(head="BALANCE BENCH 4"),
    "keyed dots": keyed(line="{plane} ...... {amount} g  ...... {angle} deg"),
    "keyed bars": keyed(line="| {plane} | {amount} | {angle} |", begin="+-- run {n}", end="+--"),
    "keyed stars": keyed(begin="*** RUN {n}", end="***"),
    "keyed line feed": keyed(tail="\n"),
    "keyed carriage return": keyed(tail="\r"),
    "keyed cp1252": keyed(line="{plane} {amount} g {angle} °", encoding="cp1252"),
    "keyed utf-8 degree": keyed(line="{plane} {amount} g {angle} °"),
    "keyed utf-16": keyed(encoding="utf-16"),
    "keyed right-aligned": keyed(begin="Run  {n:>4}", line="{plane:<8}{amount:>9} g {angle:>8} deg"),
    "keyed right-aligned comma": keyed(
        line="{plane:<7}{amount:>8} g{angle:>9} deg", decimal=",", names=("vorn", "hinten")
    ),
    "keyed right-aligned two lines": keyed(line="{plane} amount{amount:>10} g\n{plane} angle {angle:>10} deg"),
    "keyed units close": keyed(line="{plane} {amount}g {angle}deg"),
    "keyed at": keyed(line="{plane} {amount} @ {angle}"),
    "keyed in words": keyed(
        line="unbalance of the {plane} plane is {amount} g at {angle} degrees", names=("front", "rear")
    ),
    "keyed brackets": keyed(line="{plane} [{amount}; {angle}]"),
    "keyed speed word": keyed(speed="n = {speed} 1/min", end="ok"),
    "table": table(),
    "table comma": table(decimal=","),
    "table commas": table(delimiter=","),
    "table tabs": table(delimiter="\t"),
    "table bars": table(delimiter="|"),
    "table quoted": table(quote=True),
    "table quoted comma": table(quote=True, decimal=",", delimiter=","),
    "table swapped": table(swap=True, headings=("Run", "Speed", "F deg", "F g", "R deg", "R g")),
    "table head": table(head="saved by the bench"),
    "table cp1252": table(headings=("Run", "Speed", "Front g", "Front °", "Rear g", "Rear °"), encoding="cp1252"),
    "table long": table(headings=LONG, names=("front", "rear")),
    "table long comma": table(headings=LONG, names=("V", "H"), decimal=","),
    "table long tabs": table(headings=LONG, names=("1", "2"), delimiter="\t"),
    "table long commas": table(headings=LONG, names=("A", "B"), delimiter=","),
    "table long swapped": table(headings=("Run", "Speed", "Plane", "Degrees", "Grams"), names=("A", "B"), swap=True),
    "fixed": fixed(),
    "fixed comma": fixed(decimal=","),
    "fixed wide": fixed(names=None, heads=("   front           rear",), row="{a:>8}{b:>8}{c:>9}{d:>8}"),
    "fixed two heads": fixed(heads=("plane  grams  degrees", "---------------------")),
    "fixed words": fixed(names=("front", "rear"), heads=("",), row="{plane:<8}{amount:>8}{angle:>8}"),
    "fixed far": fixed(row="{plane:<10}{amount:>12}{angle:>14}"),
    "fixed angle first": fixed(row="{plane:<4}{angle:>8}{amount:>10}"),
}
