"""What signing adds to a stream: the bytes that sign a group of pictures, by ONVIF Media Signing."""

import numpy as np

from edgestore import checks
from edgestore.checks import Numbers, Values
from edgestore.units import BITS_PER_BYTE, BITS_PER_MBIT

SHA256_BYTES = 32.0
"""A SHA-256 digest (RFC 6234), which the specification names as an example."""

RSA_2048_BYTES = 256.0
"""A signature by RSA has the length of its modulus (RFC 8017, section 8.2.1); by ECDSA on P-256 it has 72 at most."""

PARTIAL_GROUP_S = 5.0
"""Longer groups of pictures are to be signed in parts (ONVIF Media Signing 25.06, *Signing partial GOPs*)."""

_TAG_BYTES = 3.0  # a tag, and two bytes for its length
_GENERAL_BYTES = _TAG_BYTES + 1 + 3 + 1 + 8 + 4 + 2  # version, software, partial, time, counter, count
_OID_BYTES = 11.0  # of SHA-256, and of its signature by RSA: type and length (X.690), and nine bytes
_CRYPTO_BYTES = _TAG_BYTES + 1 + 2 * (1 + _OID_BYTES) + 2  # version, both with their sizes, key size
_LIST_BYTES = _TAG_BYTES + 1  # version; the hashes follow
_SIGNATURE_BYTES = _TAG_BYTES + 1 + 2  # version, written size; the signature follows
_AROUND_BYTES = 16.0 + 1  # UUID, reserved byte
_UNIT_BYTES = 4.0 + 3 + 1  # length before the unit in a file, header of the unit (H.265), stop bit
_SIZE_STEP = 255.0


def signing_bytes(
    hashes: Numbers, *, hash_bytes: Numbers = SHA256_BYTES, signature_bytes: Numbers = RSA_2048_BYTES
) -> Values:
    """Bytes that sign a group of pictures, or a part of one.

    Parameters
    ----------
    hashes : float or array_like
        Count of hashes in the list, one for each slice of a picture, 0 or more; 0 is the low bitrate mode, which has
        no list.
    hash_bytes : float or array_like
        Length of a hash, bytes, above 0.
    signature_bytes : float or array_like
        Room for the signature, bytes, above 0.

    Returns
    -------
    float or ndarray
        Bytes of the SEI unit as a file holds it, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    The sum of the fields: UUID, reserved byte, general information with two hashes, cryptographic information, the
    list, the signature, and around them the unit with its payload size, a byte for each 255. Vendor information,
    certificates sent again, the same unit sent twice and emulation prevention are left out. The certificate chain is
    sent once; what a vendor adds may be more than all this. A camera that signs by ECDSA may leave out the identifier
    of RSA, 11 bytes. Since release 25.12 of ONVIF's reference implementation the general information has the time of
    the end too, 8 bytes.

    References
    ----------
    ONVIF Media Signing Specification 25.06, *SEI format*, *TLV tags* and the sections of each tag, read in its source.
    It prints no total and no rate; where it derives the length of a hash from that of the general information it takes
    13 bytes for the other fields, as in the draft 23.06, and the fields that it lists are 19. How an algorithm is
    written (*serialized*), and that both have their size before them: ONVIF's reference implementation
    (media-signing-framework), read.

    Examples
    --------
    30 pictures: 30 hashes of 32 bytes are 960 of these, the signature 256:

    >>> print(signing_bytes(30), signing_bytes(0))
    1373.0 405.0
    """
    count = checks.in_range("hashes", hashes, "hashes", at_least=0)
    length = checks.in_range("hash_bytes", hash_bytes, "bytes", above=0)
    signature = checks.in_range("signature_bytes", signature_bytes, "bytes", above=0)
    checks.broadcastable(hashes=hashes, hash_bytes=hash_bytes, signature_bytes=signature_bytes)
    listed = np.where(np.asarray(count) > 0, _LIST_BYTES, 0.0) + count * length
    payload = _AROUND_BYTES + _GENERAL_BYTES + 2 * length + _CRYPTO_BYTES + listed + _SIGNATURE_BYTES + signature
    return payload + np.floor(payload / _SIZE_STEP) + 1 + _UNIT_BYTES


def signing_mbit_s(
    key_frame_interval_s: Numbers,
    frame_rate_fps: Numbers,
    *,
    hashes_per_frame: Numbers = 1.0,
    hash_bytes: Numbers = SHA256_BYTES,
    signature_bytes: Numbers = RSA_2048_BYTES,
) -> Values:
    """Rate that signing adds to a stream.

    Parameters
    ----------
    key_frame_interval_s : float or array_like
        Time between two key frames, s, above 0.
    frame_rate_fps : float or array_like
        Pictures a second, frames/s, above 0.
    hashes_per_frame : float or array_like
        Count of hashes in the list for each picture, 0 or more: slices of a picture; 0 is the low bitrate mode.
    hash_bytes : float or array_like
        Length of a hash, bytes, above 0.
    signature_bytes : float or array_like
        Room for the signature, bytes, above 0.

    Returns
    -------
    float or ndarray
        Rate in Mbit/s, of the broadcast shape.

    Raises
    ------
    InputError
        When a number is missing or out of range.

    Notes
    -----
    :func:`signing_bytes` once for each group of pictures; a group longer than 5 s is signed in equal parts of
    at most 5 s.

    References
    ----------
    As for :func:`signing_bytes`; the 5 s: *Signing partial GOPs* of the same specification, which recommends them.

    Examples
    --------
    15 pictures a second with a key frame every 2 s: 1373 bytes in 2 s. Of 4 Mbit/s that is 0.14 %:

    >>> print(f"{signing_mbit_s(2, 15):.6f}")
    0.005492
    """
    interval = checks.in_range("key_frame_interval_s", key_frame_interval_s, "s", above=0)
    fps = checks.in_range("frame_rate_fps", frame_rate_fps, "frames/s", above=0)
    each = checks.in_range("hashes_per_frame", hashes_per_frame, "hashes", at_least=0)
    length = checks.in_range("hash_bytes", hash_bytes, "bytes", above=0)
    signature = checks.in_range("signature_bytes", signature_bytes, "bytes", above=0)
    checks.broadcastable(
        key_frame_interval_s=key_frame_interval_s,
        frame_rate_fps=frame_rate_fps,
        hashes_per_frame=hashes_per_frame,
        hash_bytes=hash_bytes,
        signature_bytes=signature_bytes,
    )
    signed_s = interval / np.ceil(interval / PARTIAL_GROUP_S)
    of_one = signing_bytes(signed_s * fps * each, hash_bytes=length, signature_bytes=signature)
    return of_one * BITS_PER_BYTE / BITS_PER_MBIT / signed_s
