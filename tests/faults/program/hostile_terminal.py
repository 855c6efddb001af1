"""Texts that try to act on a terminal. Written by hand from ECMA-48, xterm's published list and Unicode's format characters."""

from __future__ import annotations

from itertools import product

_STARTS = ("\x1b]", "\x9d", "\x1b[", "\x9b", "\x1bP", "\x90", "\x1b_", "\x9f", "\x1b^", "\x9e", "\x1bX", "\x98")
_BODIES = ("0;title", "2;title", "8;;http://a.invalid/", "52;c;ZXZpbA==", "2J", "6n", "14t", "?1049h", "?1003h", "5;31m",
           "4;0;?", "777;notify;x;y", "1337;File=:x", "+q544e", '$q"p', "c", "!p", "21t")  # fmt: skip
_ENDS = ("", "\x07", "\x1b\\", "\x9c")
_ALONE = (
    "\x07" * 300,
    "\x1b]0;" + "x" * 100_000,
    "\x08\x08\x08rubbed out",
    "\x0e\x0f",
    "\r\rover",
    "\x7f",
    "\x00\x01\x02",
    "\u202e gnp.exe",
    "\u2066\u2067\u2068\u2069",
    "\u200b\u200c\u200d\u2060\ufeff",
    "\u2028\u2029",
    "\x85\x8d",
    "a\x1b",
    "\x1b(0qqqq",
    "\x1b#8",
    "\x1bc",
    "\U000e0041\U000e0042",
    "\ud800",
)
TEXTS = tuple(s + b + e for s, b, e in product(_STARTS, _BODIES, _ENDS)) + _ALONE
