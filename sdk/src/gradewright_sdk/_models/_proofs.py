"""Proofs of the ledger. Hashes are bytes here; `gradewright_sdk.proofs` checks them."""

from __future__ import annotations

import base64
import binascii
from typing import Annotated

from pydantic import BeforeValidator, Field

from gradewright_sdk._models._common import Whole


def _hash(value: object) -> object:
    if isinstance(value, bytes) or not isinstance(value, str):
        return value
    try:
        decoded = base64.b64decode(value, validate=True)
    except (binascii.Error, ValueError) as error:
        raise ValueError(f"{value!r} is not base64") from error
    if len(decoded) != 32:
        raise ValueError("a hash has 32 bytes")
    return decoded


Hash = Annotated[bytes, BeforeValidator(_hash)]


class InclusionProof(Whole):
    """That `entry` is in the tree of `size` entries: `path` leads from its `leaf` to the `root`."""

    entry: int
    size: int
    leaf: Hash
    root: Hash
    path: tuple[Hash, ...]


class ConsistencyProof(Whole):
    """That the tree of `first` entries, with `first_root`, is the beginning of that of `size` entries."""

    first: int = Field(alias="from")
    size: int = Field(alias="to")
    first_root: Hash = Field(alias="from_root")
    root: Hash
    path: tuple[Hash, ...]
