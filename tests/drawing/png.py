"""A PNG's pixels, by the PNG specification (ISO/IEC 15948): 8 bits a channel, not interlaced."""

from __future__ import annotations

import struct
import zlib


def size(data: bytes) -> tuple[int, int]:
    """Width and height in pixels."""
    assert data.startswith(b"\x89PNG\r\n\x1a\n")
    width, height = struct.unpack(">II", data[16:24])
    return int(width), int(height)


def rows(data: bytes) -> list[bytes]:
    """The first channel of each row of pixels."""
    width, height = size(data)
    depth, colour, interlaced = data[24], data[25], data[28]
    assert depth == 8 and not interlaced
    channels = {0: 1, 2: 3, 4: 2, 6: 4}[colour]
    at, packed = 8, b""
    while at < len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        if data[at + 4 : at + 8] == b"IDAT":
            packed += data[at + 8 : at + 8 + length]
        at += 12 + length
    raw, stride = zlib.decompress(packed), width * channels
    before, made = bytearray(stride), []
    for y in range(height):
        start = y * (stride + 1)
        line = bytearray(raw[start + 1 : start + 1 + stride])
        for x in range(stride):
            a = line[x - channels] if x >= channels else 0
            b, c = before[x], before[x - channels] if x >= channels else 0
            line[x] = (line[x] + _predicted(raw[start], a, b, c)) & 255
        made.append(bytes(line[::channels]))
        before = line
    return made


def _predicted(kind: int, a: int, b: int, c: int) -> int:
    if kind < 4:
        return (0, a, b, (a + b) // 2)[kind]
    near = a + b - c
    return min((abs(near - a), 0, a), (abs(near - b), 1, b), (abs(near - c), 2, c))[2]
