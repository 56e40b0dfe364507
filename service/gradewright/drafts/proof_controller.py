"""The operation that tells what the proof of a published version has found."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, cast

from litestar import Request, Response, get
from litestar.di import NamedDependency
from litestar.params import Parameter

from gradewright.drafts.proof_schemas import ProofOut
from gradewright.drafts.published import PublishedProofs
from gradewright.web.lines import LINES, VARIES, Tell, as_lines, begun, heard, line_of, stream
from gradewright.web.responses import json_answer


@get(
    "/v1/rulebooks/{version:str}/proof",
    operation_id="get_rulebook_proof",
    summary="What the proof of a version has found",
    tags=["rulebooks"],
    opt={
        "media": LINES,
        "media_schemas": dict.fromkeys(LINES, line_of("proof", what="What is looked at.")),
    },
)
async def rulebook_proof(
    request: Request[Any, Any, Any],
    proofs: NamedDependency[PublishedProofs],
    version: Annotated[str, Parameter(description="The name of a version, such as 2018.1.")],
) -> Response[ProofOut]:
    """Whether the version can be relied on, by a solver, over every part that can be described, under its own
    limits and those of all places: what gets no answer, which rule or condition comes to nothing, which
    example does not come true, each with the smallest description that shows it; and the pairs of rules whose
    order decides. The first time it takes some seconds, for each set of limits that places have; one proof is
    worked out at a time. As JSON Lines it tells how far it is.
    """

    async def lines(tell: Tell) -> Mapping[str, Any]:
        return {"proof": ProofOut.of(await proofs.of(version, tell)).model_dump(mode="json")}

    kind = as_lines(request)
    if kind is None:
        return json_answer(ProofOut.of(await proofs.of(version)), headers=VARIES)
    answer = stream(request, await begun(heard(lines)), kind)
    return cast("Response[ProofOut]", answer)  # by its usual form, the interface is described
