"""What the bytes of a clip tell where its reader is silent: cut short, scrambled, no clip at all. Reads one file."""

import io
import os
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

import numpy as np

HEAD_BYTES = 65_536

RANDOM_BITS_PER_BYTE = 7.9
"""The first bytes of a file that hold more bits each are as good as random (8 would be all; our choice)."""

EBML_ID, SEGMENT_ID = bytes.fromhex("1A45DFA3"), bytes.fromhex("18538067")
"""First bytes of a Matroska file and of its segment: RFC 8794 and RFC 9559."""

TS_PACKET_BYTES = 188
TS_SYNC = 0x47
TS_SCRAMBLED = 0xC0
"""Size, first byte and scrambling bits (of the fourth byte) of a transport packet: ISO/IEC 13818-1, section 2.4.3
(from memory)."""


def opened(source: Path | bytes) -> BinaryIO:
    """Open a file, or its content, to be read."""
    return io.BytesIO(source) if isinstance(source, bytes) else source.open("rb")


def size_of(source: Path | bytes) -> int:
    """Give the number of bytes of a file, or of its content."""
    return len(source) if isinstance(source, bytes) else source.stat().st_size


def why_no_clip(source: Path | bytes) -> tuple[str, str]:
    """Say what a file is that no reader takes for a clip, and what can be done about it; empty texts when unknown."""
    with opened(source) as file:
        head = file.read(HEAD_BYTES)
        boxes = [kind for kind, _, _ in _boxes(file)] if head[4:8] == b"ftyp" else []
    if not head:
        return (
            "an empty file",
            "Export the clip again; check whether the card was full, or the recording was not closed.",
        )
    if not any(head):
        return "zeros where a clip begins", "Export the clip again; the card may be damaged."
    if boxes and b"moov" not in boxes:
        return (
            "an MP4 or MOV file without its index (moov): cut short, or never closed",
            "Export the clip again from the camera.",
        )
    counts = np.bincount(np.frombuffer(head, np.uint8), minlength=256) / len(head)
    bits = -(counts[counts > 0] * np.log2(counts[counts > 0])).sum()
    if bits > RANDOM_BITS_PER_BYTE:
        return (
            f"bytes that look random ({bits:.2f} of 8 bits each): the file seems to be encrypted, packed or damaged",
            "Export the clip again, without encryption, or unpack it.",
        )
    return "", ""


def end_is_missing(source: Path | bytes, container: str) -> str:
    """Say by how much a file is shorter than its own structure asks for; an empty text when it is not."""
    size = size_of(source)
    with opened(source) as file:
        if container.startswith("mov"):
            end = max((at + length for _, at, length in _boxes(file)), default=0)
        elif container == "avi":
            end = _riff_end(file)
        elif container.startswith("matroska"):
            end = _segment_end(file)
        elif container == "mpegts" and size % TS_PACKET_BYTES and _begins_with_packets(file):
            end = size + TS_PACKET_BYTES - size % TS_PACKET_BYTES
        else:
            end = 0
    return f"the file ends {end - size} bytes before its last part does: it is cut short" if end > size else ""


def is_scrambled(source: Path | bytes) -> bool:
    """Tell whether transport packets among the first of a file are marked as scrambled."""
    with opened(source) as file:
        head = file.read(HEAD_BYTES)
    packets = [head[at : at + 4] for at in range(0, len(head) - 3, TS_PACKET_BYTES)]
    return any(packet[0] == TS_SYNC and packet[3] & TS_SCRAMBLED for packet in packets)


def _begins_with_packets(file: BinaryIO) -> bool:
    head = file.read(TS_PACKET_BYTES + 1)
    return len(head) > TS_PACKET_BYTES and head[0] == head[TS_PACKET_BYTES] == TS_SYNC


def _boxes(file: BinaryIO) -> Iterator[tuple[bytes, int, int]]:
    """Give kind, place and length of each box on the outermost level (ISO/IEC 14496-12, section 4.2, from memory)."""
    at = 0
    end = file.seek(0, os.SEEK_END)
    while at + 8 <= end:
        file.seek(at)
        length, kind = struct.unpack(">I4s", file.read(8))
        if length == 1:
            wide = file.read(8)
            length = struct.unpack(">Q", wide)[0] if len(wide) == 8 else 16
        elif length == 0:  # to the end of the file
            length = end - at
        if length < 8:  # no box: what follows cannot be told apart
            return
        yield kind, at, length
        at += length


def _riff_end(file: BinaryIO) -> int:
    """Give where the RIFF lists of an AVI file end by their own sizes."""
    at, end = 0, file.seek(0, os.SEEK_END)
    while at + 8 <= end:
        file.seek(at)
        kind, length = struct.unpack("<4sI", file.read(8))
        if kind != b"RIFF":
            return at
        at += 8 + length + length % 2
    return at


def _segment_end(file: BinaryIO) -> int:
    """Give where the segment of a Matroska file ends by its own size; 0 where it states none (RFC 8794, RFC 9559)."""
    head = file.read(HEAD_BYTES)
    after_header = _element_end(head, len(EBML_ID))
    at = after_header + len(SEGMENT_ID)
    return _element_end(head, at) if head[after_header:at] == SEGMENT_ID else 0


def _element_end(head: bytes, at: int) -> int:
    """Give where an element ends whose size is written at a place; 0 for an unknown size, which is all ones."""
    first = head[at] if at < len(head) else 0
    length = 9 - first.bit_length()  # as many bytes as there are zeros before the first one, and one more
    bits = 7 * length
    size = int.from_bytes(head[at : at + length], "big") & ((1 << bits) - 1)
    return 0 if size == (1 << bits) - 1 or length > 8 else at + length + size
