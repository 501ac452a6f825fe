"""scrypt, as PINs are kept: RFC 7914, section 12 (from memory), second test vector."""

from __future__ import annotations

from rig.records.pin_hash import PinHash, hash_pin, scrypt

VECTOR = (
    "fdbabe1c9d3472007856e7190d01e9fe7c6ad7cbc8237830e77376634b373162"
    "2eaf30d92e22a3886ff109279d9830dac727afb94a83ee6d8360cbdfa2cc0640"
)


def test_the_published_vector_comes_out() -> None:
    found = scrypt(
        "password", b"NaCl", cost=1024, block_size=8, parallelization=16, length=64
    )

    assert found.hex() == VECTOR


def test_a_kept_hash_of_the_vector_fits_its_pin_alone() -> None:
    kept = PinHash(
        salt=b"NaCl",
        digest=bytes.fromhex(VECTOR),
        cost=1024,
        block_size=8,
        parallelization=16,
    )

    assert kept.fits("password")
    assert not kept.fits("Password")
    assert not kept.fits("")


def test_a_pin_is_salted_and_slow() -> None:
    one, other = hash_pin("914207"), hash_pin("914207")

    assert one.salt != other.salt
    assert one.digest != other.digest
    # 128 N r bytes (RFC 7914, section 2) and as many passes over them as p
    assert 128 * one.cost * one.block_size >= 2**25
    assert one.cost * one.block_size * one.parallelization >= 2**19
    assert "914207" not in repr(one)
    assert one.digest.hex() not in repr(one)
