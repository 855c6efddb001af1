"""`calc shims`."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from bench.command_line.calc.subject import Subject
from bench.command_line.calc.values import CalcValue, NotNegative, Positive
from bench.computation.shims import MOST_KINDS, MOST_PIECES, StockPiece, shim_pack


class Piece(CalcValue):
    """One kind of piece in stock."""

    grams: Positive
    count: Annotated[int, Field(ge=0, le=MOST_PIECES)]


class Asked(CalcValue):
    """The stock, the target and what the empty bobweight weighs."""

    stock: Annotated[dict[str, Piece], Field(min_length=1, max_length=MOST_KINDS)]
    target_g: Positive
    empty_g: NotNegative
    tolerance_g: Positive


class Answered(CalcValue):
    """What to put on each half."""

    each_half: dict[str, int]
    pieces: int
    reached_g: float
    off_g: float
    within: bool


def answer(asked: Asked) -> Answered:
    """Return the pack.

    Parameters
    ----------
    asked : Asked
        Stock and target.

    Returns
    -------
    Answered
        Fewest pieces, both halves even.
    """
    found = shim_pack(
        {name: StockPiece(piece.grams, piece.count) for name, piece in asked.stock.items()},
        target_g=asked.target_g,
        empty_g=asked.empty_g,
        tolerance_g=asked.tolerance_g,
    )
    return Answered(
        each_half=found.each_half,
        pieces=found.pieces,
        reached_g=found.reached_g,
        off_g=found.off_g,
        within=found.within,
    )


SUBJECT = Subject(
    words="washers and shims from stock that reach a bobweight's target",
    asked=Asked,
    answered=Answered,
    answer=answer,
    example="""\
{"stock": {"washer 50 g": {"grams": 50.0, "count": 8}, "washer 8 g": {"grams": 8.0, "count": 20},
           "shim 0.5 g": {"grams": 0.5, "count": 40}}, "target_g": 1843.0, "empty_g": 1620.0, "tolerance_g": 0.2}""",
    example_answer="""\
{"each_half": {"washer 50 g": 2, "washer 8 g": 1, "shim 0.5 g": 7}, "pieces": 20, "reached_g": 1843.0,
 "off_g": 0.0, "within": true}""",
)
