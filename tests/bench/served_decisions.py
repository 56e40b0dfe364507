"""The application with one operation more for each decision: the same request, and ready-made bytes."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from litestar import Litestar, Response, post
from litestar.enums import MediaType
from litestar.params import JSONBody
from pydantic import BaseModel

from gradewright.accounts.guards import member
from gradewright.asgi import create_app
from gradewright.hauls.schemas import HaulIn
from gradewright.recoveries.schemas import RecoveryIn
from gradewright.settlements.schemas import SettlementIn
from gradewright.teardowns.schemas import TeardownIn

FOLDER = Path(os.environ.get("GRADEWRIGHT_BENCH_ANSWERS", "/nonexistent"))
READ: dict[str, Any] = {
    "teardowns": TeardownIn,
    "hauls": HaulIn,
    "settlements": SettlementIn,
    "recoveries": RecoveryIn,
}


def create() -> Litestar:
    """The application under measurement."""
    app = create_app()
    for kind, form in READ.items():
        app.register(_ready_made(kind, form, (FOLDER / f"{kind}.json").read_bytes()))
    return app


def _ready_made(kind: str, form: type[BaseModel], answer: bytes) -> Any:
    guards = [member] if kind == "settlements" else []

    async def ready_made(data: Any) -> Response[bytes]:
        data.request()
        return Response(answer, media_type=MediaType.JSON)

    ready_made.__annotations__["data"] = JSONBody[form]  # type: ignore[valid-type]
    path = f"/bench/ready-made/{kind}"
    return post(path, status_code=200, include_in_schema=False, guards=guards)(ready_made)
