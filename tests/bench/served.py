"""The application with one operation more: the same request, read the same, and a ready-made answer."""

from __future__ import annotations

import os
from pathlib import Path

from litestar import Litestar, Response, post
from litestar.enums import MediaType
from litestar.params import JSONBody

from gradewright.asgi import create_app
from gradewright.valuations.schemas import ValuationIn, ValuationOut

READY_MADE = Path(os.environ.get("GRADEWRIGHT_BENCH_ANSWER", "/nonexistent"))


def create() -> Litestar:
    """The application under measurement."""
    app = create_app()
    answer = READY_MADE.read_bytes()

    @post("/bench/ready-made", status_code=200, include_in_schema=False)
    async def ready_made(data: JSONBody[ValuationIn]) -> Response[bytes]:
        """Reads and checks the request as a valuation does, and answers what was made before."""
        data.request()
        return Response(answer, media_type=MediaType.JSON)

    model = ValuationOut.model_validate_json(answer)

    @post("/bench/ready-made-object", status_code=200, include_in_schema=False)
    async def ready_made_object(data: JSONBody[ValuationIn]) -> ValuationOut:
        """The same, but the answer is an object of the documented shape, which the application encodes."""
        data.request()
        return model

    app.register(ready_made)
    app.register(ready_made_object)
    return app
