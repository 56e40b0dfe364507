"""Answers as they are kept: compressed. A thousand vague parts make megabytes that say the same again."""

from __future__ import annotations

import asyncio
import zlib

SHORT = 16 * 1024  # bytes that take less time than to hand them to a thread
QUICK = 1  # the level: answers repeat themselves, so that more work gains little


async def pack(body: bytes) -> bytes:
    """The bytes, compressed (RFC 1950), aside: other requests go on meanwhile."""
    if len(body) <= SHORT:
        return zlib.compress(body, QUICK)
    return await asyncio.to_thread(zlib.compress, body, QUICK)


async def unpack(packed: bytes) -> bytes:
    """The bytes that were packed. Raises `zlib.error` for others."""
    return await asyncio.to_thread(zlib.decompress, packed)
