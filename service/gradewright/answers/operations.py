"""The three operations on a kind of answer, as they are described: worked out, read, worked out again.

A room's controller gives each its function, whose parameters and docstring are part of the interface.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from litestar import get, post
from litestar.datastructures import ResponseHeader
from litestar.handlers import HTTPRouteHandler
from litestar.types import AnyCallable, Guard

from gradewright.answers.keeping import Kind
from gradewright.answers.replies import LOCATION, described, kept_headers
from gradewright.web.fields import Out
from gradewright.web.idempotency import WRITES

Handler = Callable[[AnyCallable], HTTPRouteHandler]


@dataclass(frozen=True, slots=True)
class Operations:
    """Decorators for the functions of one kind of answer; `headers`: told besides those of all kept ones."""

    kind: Kind
    form: type[Out]
    headers: Sequence[ResponseHeader] = field(default_factory=list)
    guards: Sequence[Guard] = field(default_factory=list)

    def work_out(self, operation_id: str, summary: str) -> Handler:
        """POST: answered with 200, with 201 where it was kept."""
        return post(
            operation_id=operation_id,
            summary=summary,
            guards=self.guards,
            status_code=200,
            responses=described(self.kind, self.form, 200, 201),
            opt=WRITES,
            response_headers=[*self._headers, LOCATION],
        )

    def read(self) -> Handler:
        """GET of a kept one, by the parameter that is called as the kind is."""
        return get(
            self._one,
            operation_id=f"get_{self.kind.noun}",
            summary=f"A kept {self.kind.noun}",
            guards=self.guards,
            responses=described(self.kind, self.form, 200),
            response_headers=self._headers,
        )

    def work_out_again(self, summary: str) -> Handler:
        """POST of a kept one's replay."""
        return post(
            f"{self._one}/replay",
            operation_id=f"replay_{self.kind.noun}",
            summary=summary,
            guards=self.guards,
            status_code=200,
            responses=described(self.kind, self.form, 200),
            response_headers=self._headers,
        )

    @property
    def _one(self) -> str:
        return f"/{{{self.kind.noun}:str}}"

    @property
    def _headers(self) -> list[ResponseHeader]:
        return [*kept_headers(self.kind), *self.headers]
