"""Who may look from another machine: a one-time code, a key that lasts a working day, and a lock after wrong tries."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import time
from collections import OrderedDict
from collections.abc import Callable

KEY_LASTS_S = 12 * 3600.0
TRIES, LOCK_S = 5, 900.0
"""Wrong tries from one address before it is locked out, and for how long. [s]"""
TRIES_OF_ALL = 60
"""Wrong tries from anywhere before pairing is closed until the wall is started again."""
_MOST_KEYS, _MOST_ADDRESSES = 32, 1000


def _digest(text: str) -> bytes:
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).digest()


class Pairing:
    """Codes and keys of one run of the wall; nothing of it is written down.

    Parameters
    ----------
    clock : Callable[[], float]
        Monotonic. [s]
    on_code : Callable[[str], None]
        Told each new code, to be shown at the bench.
    """

    def __init__(
        self, *, clock: Callable[[], float] = time.monotonic, on_code: Callable[[str], None] = lambda _: None
    ) -> None:
        self._clock, self._on_code = clock, on_code
        self._keys: OrderedDict[bytes, float] = OrderedDict()
        self._wrong: OrderedDict[str, tuple[int, float]] = OrderedDict()
        self._wrong_of_all = 0
        self._code, self._code_ends = b"", 0.0
        self.renew()

    def renew(self) -> None:
        """Make a new code; an older one is worth nothing any more."""
        code = secrets.token_urlsafe(24)  # 192 bits
        self._code, self._code_ends = _digest(code), self._clock() + KEY_LASTS_S
        self._on_code(code)

    def is_locked(self, address: str) -> bool:
        """Return whether an address may try at present.

        Parameters
        ----------
        address : str
            Whose try it is.

        Returns
        -------
        bool
            True after too many wrong tries, its own or all together.
        """
        tries, last = self._wrong.get(address, (0, 0.0))
        return self._wrong_of_all >= TRIES_OF_ALL or (tries >= TRIES and self._clock() - last < LOCK_S)

    def pair(self, address: str, code: str) -> str | None:
        """Give a key for the code that is shown at the bench.

        Parameters
        ----------
        address : str
            Whose try it is.
        code : str
            As scanned or typed.

        Returns
        -------
        str or None
            A new key; None for a wrong, used or old code, or while locked out.
        """
        if self.is_locked(address):
            return None
        # digests are compared, so that neither length nor place of the first difference shows in the time
        right = hmac.compare_digest(_digest(code), self._code) and self._clock() < self._code_ends
        if not right:
            self._note_wrong(address)
            return None
        self._wrong.pop(address, None)
        key = secrets.token_urlsafe(32)
        self._keys[_digest(key)] = self._clock() + KEY_LASTS_S
        while len(self._keys) > _MOST_KEYS:
            self._keys.popitem(last=False)
        self.renew()
        return key

    def _note_wrong(self, address: str) -> None:
        tries, last = self._wrong.pop(address, (0, 0.0))
        tries = 0 if tries >= TRIES and self._clock() - last >= LOCK_S else tries
        self._wrong[address] = (tries + 1, self._clock())
        self._wrong_of_all += 1
        while len(self._wrong) > _MOST_ADDRESSES:
            self._wrong.popitem(last=False)

    def knows(self, key: str) -> bool:
        """Return whether a key is good.

        Parameters
        ----------
        key : str
            As the other machine shows it.

        Returns
        -------
        bool
            False after twelve hours.
        """
        given, now, good = _digest(key), self._clock(), False
        # all of them are looked at, whichever fits
        for kept, ends in self._keys.items():
            good |= hmac.compare_digest(given, kept) and now < ends
        return good
