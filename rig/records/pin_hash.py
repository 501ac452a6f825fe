"""PINs as salted slow hashes: scrypt of RFC 7914, from the standard library.

The hash makes each guess slow for whoever has the records in hand; nothing but a longer
PIN makes them few.
"""

from __future__ import annotations

import hashlib
import hmac
import os
from dataclasses import dataclass, field
from typing import Final

_SALT_BYTES: Final = 16
_HASH_BYTES: Final = 32
# 32 MiB and a third of a second: what is advised for passwords (OWASP, from memory)
_COST: Final = 2**15
_BLOCK_SIZE: Final = 8
_PARALLELIZATION: Final = 3
_MEMORY_BYTES: Final = 64 * 2**20


@dataclass(frozen=True, slots=True, kw_only=True)
class PinHash:
    """A PIN as it is on record.

    Attributes:
        salt: Random bytes that are of this PIN alone.
        digest: What scrypt makes of PIN and salt.
        cost: Cost of scrypt (N).
        block_size: Block size of scrypt (r).
        parallelization: Parallelization of scrypt (p).
    """

    salt: bytes = field(repr=False)
    digest: bytes = field(repr=False)
    cost: int = _COST
    block_size: int = _BLOCK_SIZE
    parallelization: int = _PARALLELIZATION

    def fits(self, pin: str) -> bool:
        """Return whether it was made of this PIN."""
        found = scrypt(
            pin,
            self.salt,
            cost=self.cost,
            block_size=self.block_size,
            parallelization=self.parallelization,
            length=len(self.digest),
        )
        return hmac.compare_digest(found, self.digest)


def hash_pin(pin: str) -> PinHash:
    """Return the hash to keep of a PIN, with a salt of its own."""
    salt = os.urandom(_SALT_BYTES)
    digest = scrypt(
        pin,
        salt,
        cost=_COST,
        block_size=_BLOCK_SIZE,
        parallelization=_PARALLELIZATION,
        length=_HASH_BYTES,
    )
    return PinHash(salt=salt, digest=digest)


def scrypt(
    pin: str,
    salt: bytes,
    *,
    cost: int,
    block_size: int,
    parallelization: int,
    length: int,
) -> bytes:
    """Return scrypt (RFC 7914) of a PIN in UTF-8."""
    return hashlib.scrypt(
        pin.encode("utf-8"),
        salt=salt,
        n=cost,
        r=block_size,
        p=parallelization,
        maxmem=_MEMORY_BYTES,
        dklen=length,
    )
