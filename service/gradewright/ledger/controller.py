"""Operations on the tree over the ledger: checkpoints, the key that signs them, proofs."""

from __future__ import annotations

from litestar import Controller, Response, get
from litestar.di import NamedDependency
from litestar.enums import MediaType

from gradewright.ledger.schemas import ConsistencyOut, ConsistencyQuery, InclusionOut, InclusionQuery
from gradewright.ledger.service import LedgerService
from gradewright.web.requests import query

TEXT = {"media": (MediaType.TEXT.value,)}


class ProofController(Controller):
    """What proves that nobody rewrote the ledger."""

    path = "/v1/ledger"
    tags = ["ledger"]  # noqa: RUF012 - read by the framework

    @get("/checkpoint", operation_id="get_checkpoint", summary="The newest checkpoint", opt=TEXT)
    async def checkpoint(self, ledger: NamedDependency[LedgerService]) -> Response[bytes]:
        """A signed note of the open form tlog-checkpoint: the ledger's name, the number of its entries, the
        root of the tree over them, and the Ed25519 signature. Keep it: whatever the ledger says later can be
        held against it."""
        _, note = await ledger.checkpoint()
        return Response(note.encode(), media_type=MediaType.TEXT)

    @get("/key", operation_id="get_checkpoint_key", summary="The key of the checkpoints", opt=TEXT)
    async def key(self, ledger: NamedDependency[LedgerService]) -> Response[bytes]:
        """The public key that checkpoints are signed by, in the open form name+id+key, on one line. Compare
        it with what the operator tells in another place: whoever forges checkpoints could forge this too."""
        text = (await ledger.signer()).key.text
        return Response(f"{text}\n".encode(), media_type=MediaType.TEXT)

    @get(
        "/proofs/inclusion",
        operation_id="prove_inclusion",
        summary="That an entry is in a tree",
        dependencies=query(InclusionQuery),
    )
    async def inclusion(
        self, ledger: NamedDependency[LedgerService], asked: NamedDependency[InclusionQuery]
    ) -> InclusionOut:
        """The hashes that lead from an entry's leaf to the root of the tree of `size` entries (RFC 6962)."""
        return InclusionOut.of(await ledger.inclusion(asked.entry, asked.size))

    @get(
        "/proofs/consistency",
        operation_id="prove_consistency",
        summary="That one tree is the beginning of another",
        dependencies=query(ConsistencyQuery),
    )
    async def consistency(
        self, ledger: NamedDependency[LedgerService], asked: NamedDependency[ConsistencyQuery]
    ) -> ConsistencyOut:
        """The hashes that show the tree of `from` entries to be the beginning of that of `to` (RFC 6962)."""
        return ConsistencyOut.of(await ledger.consistency(asked.first, asked.to))
