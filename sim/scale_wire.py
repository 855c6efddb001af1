"""The bytes that the simulated scale sends: a layout of its own."""

from __future__ import annotations

from sim.indicator import Shown

LINE_END = b"\r\n"


def line_bytes(shown: Shown) -> bytes:
    r"""Return one line.

    Parameters
    ----------
    shown : Shown
        What the display shows.

    Returns
    -------
    bytes
        For instance ``b"wt +00603.8 g still\r\n"``: a sign, seven places, the unit, and the word ``still`` or
        ``moves``; a scale without a steady word leaves it out.

    Examples
    --------
    >>> line_bytes(Shown(603.8, 1, "g", steady=True))
    b'wt +00603.8 g still\r\n'
    >>> line_bytes(Shown(None, 1, "g", steady=False, over=True))
    b'wt +------- g over\r\n'
    """
    if shown.over:
        text = f"wt +------- {shown.unit} over"
    elif shown.under or shown.value is None:
        text = f"wt -------- {shown.unit} under"
    else:
        text = f"wt {shown.value:+08.{shown.decimals}f} {shown.unit}"
        if shown.steady is not None:
            text += " still" if shown.steady else " moves"
    return text.encode("ascii") + LINE_END
