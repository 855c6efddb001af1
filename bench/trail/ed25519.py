"""Ed25519 signatures (RFC 8032) by the library `cryptography`, on plain bytes; it is imported when it is needed."""

from __future__ import annotations

import secrets

SEED_BYTES = 32


def new_seed() -> bytes:
    """Return a new private key.

    Returns
    -------
    bytes
        32 of them, from the computer's own source of chance.
    """
    return secrets.token_bytes(SEED_BYTES)


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
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    _refuse_length(seed)
    return Ed25519PrivateKey.from_private_bytes(seed).public_key().public_bytes_raw()


def sign(seed: bytes, message: bytes) -> bytes:
    """Sign a message.

    Parameters
    ----------
    seed : bytes
        Private key, 32 bytes.
    message : bytes
        Any.

    Returns
    -------
    bytes
        64 bytes.

    Raises
    ------
    ValueError
        When the private key has another length.
    """
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    _refuse_length(seed)
    return Ed25519PrivateKey.from_private_bytes(seed).sign(message)


def fits(public: bytes, message: bytes, signature: bytes) -> bool:
    """Return whether a signature was made over a message with the private half of a key.

    Parameters
    ----------
    public : bytes
        Public key; what is no key fits nothing.
    message : bytes
        What was signed.
    signature : bytes
        What was given.

    Returns
    -------
    bool
        Whether it fits.
    """
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        Ed25519PublicKey.from_public_bytes(public).verify(signature, message)
    except (InvalidSignature, ValueError):
        return False
    return True


def _refuse_length(seed: bytes) -> None:
    if len(seed) != SEED_BYTES:
        raise ValueError(f"a private key of {len(seed)} bytes; wanted {SEED_BYTES}")
