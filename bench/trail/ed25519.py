"""Ed25519 signatures as RFC 8032 defines them: a key of 32 bytes, a signature of 64.

Written here because no library that is kept with the program has them. It takes milliseconds, not microseconds, and no
care is taken to take the same time for every key: whoever can measure this computer's time can read its key file.
"""

from __future__ import annotations

import hashlib
import secrets
from typing import Final

P: Final = 2**255 - 19
ORDER: Final = 2**252 + 27742317777372353535851937790883648493
D: Final = -121665 * pow(121666, P - 2, P) % P
SQRT_MINUS_1: Final = pow(2, (P - 1) // 4, P)
KEY_BYTES: Final = 32
SIGNATURE_BYTES: Final = 64

Point = tuple[int, int, int, int]
"""X, Y, Z and T with x = X/Z, y = Y/Z, x y = T/Z."""


def new_seed() -> bytes:
    """Return a fresh private key.

    Returns
    -------
    bytes
        32 bytes of the system's randomness.
    """
    return secrets.token_bytes(KEY_BYTES)


def public_key(seed: bytes) -> bytes:
    """Return the public key of a private one.

    Parameters
    ----------
    seed : bytes
        32 bytes.

    Returns
    -------
    bytes
        32 bytes.

    Raises
    ------
    ValueError
        When the private key has another length.
    """
    return _packed(_times(_expanded(seed)[0], BASE))


def sign(seed: bytes, message: bytes) -> bytes:
    """Return the signature of a message.

    Parameters
    ----------
    seed : bytes
        Private key, 32 bytes.
    message : bytes
        Any.

    Returns
    -------
    bytes
        64 bytes; the same each time.

    Raises
    ------
    ValueError
        When the private key has another length.
    """
    scalar, prefix = _expanded(seed)
    public = _packed(_times(scalar, BASE))
    once = _hashed(prefix, message)
    first = _packed(_times(once, BASE))
    second = (once + _hashed(first, public, message) * scalar) % ORDER
    return first + second.to_bytes(32, "little")


def fits(public: bytes, message: bytes, signature: bytes) -> bool:
    """Tell whether a signature is that of this key under this message.

    Parameters
    ----------
    public : bytes
        32 bytes.
    message : bytes
        What was signed.
    signature : bytes
        64 bytes.

    Returns
    -------
    bool
        False as well for what is no key or no signature at all.
    """
    if len(public) != KEY_BYTES or len(signature) != SIGNATURE_BYTES:
        return False
    key, first = _unpacked(public), _unpacked(signature[:32])
    second = int.from_bytes(signature[32:], "little")
    if key is None or first is None or second >= ORDER:
        return False
    challenge = _hashed(signature[:32], public, message)
    return _same(_times(second, BASE), _sum(first, _times(challenge, key)))


def _expanded(seed: bytes) -> tuple[int, bytes]:
    if len(seed) != KEY_BYTES:
        raise ValueError(f"private key: found {len(seed)} bytes, wanted {KEY_BYTES}")
    digest = hashlib.sha512(seed).digest()
    scalar = int.from_bytes(digest[:32], "little")
    return scalar & ((1 << 254) - 8) | (1 << 254), digest[32:]


def _hashed(*parts: bytes) -> int:
    return int.from_bytes(hashlib.sha512(b"".join(parts)).digest(), "little") % ORDER


def _sum(one: Point, other: Point) -> Point:
    x1, y1, z1, t1 = one
    x2, y2, z2, t2 = other
    a, b = (y1 - x1) * (y2 - x2) % P, (y1 + x1) * (y2 + x2) % P
    c, d = 2 * t1 * t2 * D % P, 2 * z1 * z2 % P
    e, f, g, h = b - a, d - c, d + c, b + a
    return e * f % P, g * h % P, f * g % P, e * h % P


def _times(scalar: int, point: Point) -> Point:
    total: Point = (0, 1, 1, 0)
    while scalar:
        if scalar & 1:
            total = _sum(total, point)
        point = _sum(point, point)
        scalar >>= 1
    return total


def _same(one: Point, other: Point) -> bool:
    return (one[0] * other[2] - other[0] * one[2]) % P == 0 and (one[1] * other[2] - other[1] * one[2]) % P == 0


def _packed(point: Point) -> bytes:
    inverse = pow(point[2], P - 2, P)
    x, y = point[0] * inverse % P, point[1] * inverse % P
    return (y | (x & 1) << 255).to_bytes(32, "little")


def _unpacked(data: bytes) -> Point | None:
    number = int.from_bytes(data, "little")
    odd, y = number >> 255, number & ((1 << 255) - 1)
    if y >= P:
        return None
    square = (y * y - 1) * pow(D * y * y + 1, P - 2, P) % P
    x = pow(square, (P + 3) // 8, P)
    if (x * x - square) % P:
        x = x * SQRT_MINUS_1 % P
    if (x * x - square) % P or (x == 0 and odd):
        return None
    if x & 1 != odd:
        x = P - x
    return x, y, 1, x * y % P


def _base() -> Point:
    point = _unpacked((4 * pow(5, P - 2, P) % P).to_bytes(32, "little"))
    if point is None:
        raise AssertionError("the base point is on the curve")
    return point


BASE: Final = _base()
