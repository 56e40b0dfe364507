"""The wire forms of proofs. Hashes travel as base64, as they stand in checkpoints."""

from __future__ import annotations

import base64
from typing import Annotated

from pydantic import Field

from gradewright.ledger.service import Consistency, Inclusion
from gradewright.web.fields import In, Out, TextForm


def _count(text: str) -> int:
    if (number := int(text)) > MOST:
        raise ValueError("out of range")
    return number


MOST = 9_007_199_254_740_991  # what a JSON number holds exactly (RFC 8785)
Count = Annotated[
    int,
    TextForm(
        r"^[0-9]{1,16}$",
        read=_count,
        says=f"a whole number from 0 to {MOST}",
        example="0",
        longest=16,
    ),
]
Hash = Annotated[str, Field(pattern=r"^[A-Za-z0-9+/]{43}=$", description="32 bytes as base64 (RFC 4648).")]
Number = Annotated[int, Field(ge=0)]


class InclusionQuery(In):
    """Which entry, and in which tree."""

    entry: Annotated[Count, Field(description="The number of the entry, from 0.")]
    size: Annotated[
        Count | None,
        Field(description="The size of the tree, such as that of a checkpoint; default: the newest."),
    ] = None


class ConsistencyQuery(In):
    """From which tree to which."""

    first: Annotated[
        Count, Field(alias="from", description="The size of the earlier tree, such as that of a checkpoint.")
    ]
    to: Annotated[Count | None, Field(description="The size of the later tree; default: the newest.")] = None


class InclusionOut(Out):
    """That an entry is in a tree (RFC 6962, section 2.1.1): the path leads from its leaf to the root."""

    entry: Number
    size: Number
    leaf: Hash
    root: Hash
    path: list[Hash]

    @classmethod
    def of(cls, proof: Inclusion) -> InclusionOut:
        """The wire form."""
        path = [shown(each) for each in proof.path]
        return cls(
            entry=proof.entry, size=proof.size, leaf=shown(proof.leaf), root=shown(proof.root), path=path
        )


class ConsistencyOut(Out):
    """That one tree is the beginning of another (RFC 6962, section 2.1.2)."""

    first: Annotated[Number, Field(alias="from")]
    to: Number
    from_root: Hash
    root: Hash
    path: list[Hash]

    @classmethod
    def of(cls, proof: Consistency) -> ConsistencyOut:
        """The wire form."""
        return cls.model_validate(
            {
                "from": proof.first,
                "to": proof.size,
                "from_root": shown(proof.first_root),
                "root": shown(proof.root),
                "path": [shown(each) for each in proof.path],
            }
        )


def shown(hashed: bytes) -> str:
    """A hash as it travels."""
    return base64.b64encode(hashed).decode()
