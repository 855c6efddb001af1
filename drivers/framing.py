"""Bytes to lines: cut at the end marks a profile names, bounded, and in step again after any damage.

How the bytes are cut into chunks never changes the lines that come out. Only bytes are looked at: a character
set is the business of whoever reads the line.
"""

from __future__ import annotations

from dataclasses import dataclass

LINE_CAP = 128
"""Longest line that is kept. [bytes]"""


@dataclass(frozen=True, slots=True)
class Overlong:
    """A line that had no end within the cap; the rest of it was thrown away up to the next end mark.

    Attributes
    ----------
    head : bytes
        The first bytes of the line, as many as the cap allows.
    """

    head: bytes


class LineFramer:
    r"""Collects bytes and gives whole lines back.

    Parameters
    ----------
    end : bytes
        End mark of a line, for instance ``b"\r\n"``, ``b"\r"`` or ``b"\x03"``. Empty means that a line ends at
        either of CR and LF, in any mix. Empty lines are swallowed.
    start : bytes
        Start mark of one byte, for instance ``b"\x02"``; bytes between an end and the next start are thrown
        away, and so is a line that a new start cuts short. Empty when lines follow each other.
    cap : int
        Longest line kept. [bytes]
    drop_first : bool
        True when the stream is joined somewhere in the middle, so that its first line may have lost its head.
        With a start mark a lost head shows by itself and nothing needs to be dropped.

    Raises
    ------
    ValueError
        If the cap is less than one byte or the start mark longer than one.

    Examples
    --------
    >>> framer = LineFramer(end=b"\r\n")
    >>> framer.feed(b"cut off\r\nwt 1")
    []
    >>> framer.feed(b".0 g\r\n")
    [b'wt 1.0 g']
    """

    def __init__(self, *, end: bytes = b"", start: bytes = b"", cap: int = LINE_CAP, drop_first: bool = True) -> None:
        if cap < 1:
            raise ValueError(f"line cap: found {cap}, wanted at least 1 byte")
        if len(start) > 1:
            raise ValueError(f"start mark: found {start!r}, wanted one byte or none")
        self._end = end or b"\n"
        self._either = not end
        self._start = start
        self._cap = cap
        self._drop_first = drop_first and not start
        self._rest = b""
        self._skipping = self._drop_first

    def reset(self) -> None:
        """Forget an unfinished line; what comes next is a new stream."""
        self._rest = b""
        self._skipping = self._drop_first

    def feed(self, chunk: bytes) -> list[bytes | Overlong]:
        """Take bytes and return the lines they complete.

        Parameters
        ----------
        chunk : bytes
            Bytes in the order they arrived.

        Returns
        -------
        list[bytes | Overlong]
            Lines without their marks, oldest first; `Overlong` once for each line beyond the cap.
        """
        if self._either:
            chunk = chunk.replace(b"\r", b"\n")
        pieces = (self._rest + chunk).split(self._end)
        rest = pieces.pop()
        lines: list[bytes | Overlong] = []
        for piece in pieces:
            self._close(piece, lines)
        self._rest = self._bound(rest, lines)
        return lines

    def _close(self, piece: bytes, lines: list[bytes | Overlong]) -> None:
        """Finish the line that an end mark has closed."""
        if self._start:
            begun = piece.split(self._start)[1:]
            self._report_long(begun, lines)
            piece = begun[-1] if begun else b""
        elif self._skipping:
            self._skipping = False
            return
        elif len(piece) > self._cap:
            lines.append(Overlong(piece[: self._cap]))
        if piece and len(piece) <= self._cap:
            lines.append(piece)

    def _report_long(self, begun: list[bytes], lines: list[bytes | Overlong]) -> None:
        """Tell of each line beyond the cap, also of one that the next start mark cut short."""
        lines.extend(Overlong(line[: self._cap]) for line in begun if len(line) > self._cap)

    def _bound(self, rest: bytes, lines: list[bytes | Overlong]) -> bytes:
        """Keep what an unfinished line may still need, and no more."""
        half_mark = len(self._end) - 1
        if self._start:
            begun = rest.split(self._start)[1:]
            if not begun:
                return b""
            self._report_long(begun[:-1], lines)
            if len(begun[-1]) > self._cap + half_mark:
                self._report_long(begun[-1:], lines)
                return b""
            return self._start + begun[-1]
        if not self._skipping and len(rest) > self._cap + half_mark:
            lines.append(Overlong(rest[: self._cap]))
            self._skipping = True
        if self._skipping:
            return rest[-half_mark:] if half_mark else b""
        return rest
