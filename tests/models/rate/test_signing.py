"""What signing adds: the fields written out as bytes, and how the rate follows."""

import hashlib
import struct

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from edgestore.models.rate import signing, signing_bytes, signing_mbit_s

UUID = bytes.fromhex("005bc93f2d715e95ada4796f90877a6f")  # ONVIF Media Signing 25.06, SEI format
SHA256_OID, RSA_OID = bytes.fromhex("0609608648016503040201"), bytes.fromhex("06092a864886f70d01010b")
"""2.16.840.1.101.3.4.2.1 and 1.2.840.113549.1.1.11 by X.690, as ONVIF's reference implementation writes them."""


def tagged(tag: int, content: bytes) -> bytes:
    return struct.pack(">BH", tag, len(content)) + content


def unit(hashes: int, hash_bytes: int, signature_bytes: int) -> bytes:
    """Write a unit field by field, as the sections of the specification list them, zeros for what is secret."""
    digest = bytes(hash_bytes)
    general = struct.pack("<B3sBQIH", 1, bytes(3), 0, 0, 7, hashes) + digest + digest
    crypto = bytes([1, len(SHA256_OID)]) + SHA256_OID + bytes([len(RSA_OID)]) + RSA_OID + struct.pack(">H", 2048)
    payload = UUID + b"\0" + tagged(1, general) + tagged(4, crypto)
    payload += tagged(2, b"\1" + digest * hashes) if hashes else b""
    payload += tagged(3, b"\1" + struct.pack(">H", signature_bytes) + bytes(signature_bytes))
    size, left = b"", len(payload)
    while left >= 0xFF:
        size, left = size + b"\xff", left - 0xFF
    whole = b"\x4e\x01\x05" + size + bytes([left]) + payload + b"\x80"
    return struct.pack(">I", len(whole)) + whole


def test_hash_and_signature_are_taken_as_sha_256_and_rsa_of_2048_bits():
    assert hashlib.sha256().digest_size == signing.SHA256_BYTES
    assert signing.RSA_2048_BYTES == 2048 / 8
    assert signing_bytes(7) == len(unit(7, 32, 256))


@example(1, 32, 256)
@given(st.integers(0, 1000), st.sampled_from([20, 32, 48, 64]), st.integers(40, 512))
def test_it_is_as_long_as_the_fields_written_one_after_another(hashes, hash_bytes, signature_bytes):
    written = len(unit(hashes, hash_bytes, signature_bytes))
    assert signing_bytes(hashes, hash_bytes=hash_bytes, signature_bytes=signature_bytes) == written


def test_of_a_quiet_scene_at_100_kbit_s_it_is_a_share_to_reckon_with_and_of_4_mbit_s_it_is_not():
    # 1373 bytes x 8 / 2 s = 5492 bit/s
    added = signing_mbit_s(2, 15)
    assert added / 0.1 == pytest.approx(0.05492)
    assert added / 4 == pytest.approx(0.001373)


def test_long_groups_are_signed_in_equal_parts_of_5_s_at_most():
    # 12 s: three parts of 4 s, 60 hashes each at 15 a second: 2337 bytes.
    assert signing_mbit_s(12, 15) == pytest.approx(2337 * 8 / 4 / 1e6)
    assert signing_mbit_s(12, 15) == signing_mbit_s(4, 15)
    # Just 5 s is one part; 5.2 s are two of 2.6 s, 39 hashes each at 15 a second.
    assert signing_mbit_s(5, 15) == pytest.approx(len(unit(75, 32, 256)) * 8 / 5 / 1e6)
    assert signing_mbit_s(5.2, 15) == pytest.approx(len(unit(39, 32, 256)) * 8 / 2.6 / 1e6)


def test_each_slice_of_a_picture_has_a_hash_of_its_own():
    # 2 s of 15 pictures of 4 slices: 120 hashes.
    assert signing_mbit_s(2, 15, hashes_per_frame=4) == pytest.approx(len(unit(120, 32, 256)) * 8 / 2 / 1e6)


@given(st.floats(0.1, 60), st.floats(1, 60))
def test_the_low_bitrate_mode_never_adds_more(interval, fps):
    assert signing_mbit_s(interval, fps, hashes_per_frame=0) < signing_mbit_s(interval, fps)
