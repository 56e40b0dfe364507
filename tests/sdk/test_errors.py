"""Failing answers become the error that says what to do."""

from __future__ import annotations

import inspect
import re

import pytest

import gradewright_sdk as gw
from gradewright_sdk import _exceptions
from gradewright_sdk.testing import FakeGradewright

SLUGS = [
    ("malformed-request", 400, gw.InvalidRequest),
    ("unauthorized", 401, gw.Unauthorized),
    ("forbidden", 403, gw.Forbidden),
    ("not-found", 404, gw.NotFound),
    ("method-not-allowed", 405, gw.APIError),
    ("not-acceptable", 406, gw.APIError),
    ("conflict", 409, gw.Conflict),
    ("wrong-state", 409, gw.Conflict),
    ("payload-too-large", 413, gw.InvalidRequest),
    ("unsupported-media-type", 415, gw.InvalidRequest),
    ("invalid-request", 422, gw.InvalidRequest),
    ("unknown-grade", 422, gw.UnknownGrade),
    ("unknown-region", 404, gw.UnknownRegion),
    ("unknown-region", 422, gw.UnknownRegion),
    ("unknown-yard", 404, gw.UnknownYard),
    ("unknown-yard", 422, gw.UnknownYard),
    ("idempotency-mismatch", 422, gw.IdempotencyMismatch),
    ("currency-mismatch", 422, gw.CurrencyMismatch),
    ("no-rulebook-in-force", 422, gw.NoRulebookInForce),
    ("unsound-rulebook", 422, gw.UnsoundRulebook),
    ("precondition-failed", 412, gw.Stale),
    ("precondition-required", 428, gw.InvalidRequest),
    ("too-many-requests", 429, gw.TooManyRequests),
    ("internal-error", 500, gw.ServerError),
    ("unavailable", 503, gw.ServerError),
    ("of-next-year", 422, gw.InvalidRequest),
    ("of-next-year", 418, gw.APIError),
    ("of-next-year", 507, gw.ServerError),
]


@pytest.mark.parametrize(("slug", "status", "kind"), SLUGS)
def test_problem_becomes_its_error(
    fake: FakeGradewright, slug: str, status: int, kind: type[gw.APIError]
) -> None:
    """Each problem type has its error; one that this version does not know follows its status."""
    fake.problem("GET", "/v1/regions", slug, "What happened.", status=status)
    with pytest.raises(gw.APIError) as caught, fake.client() as client:
        client.regions.list()
    assert type(caught.value) is kind
    assert caught.value.slug == slug
    assert caught.value.status == status
    assert caught.value.detail == "What happened."


def test_the_text_of_an_error_tells_where_each_fault_is(fake: FakeGradewright) -> None:
    """The detail, which tells the first fault, has its place before it; then come all others, also those that
    say the same of another place."""
    comma = "'1,5 kg' has a comma: write 1.5."
    faults = [{"detail": comma, "pointer": f"#/parts/{n}/weight"} for n in (2, 7)]
    fake.problem("GET", "/v1/regions", "invalid-request", f"{comma} (and 1 more)", errors=faults)
    with pytest.raises(gw.InvalidRequest) as caught, fake.client() as client:
        client.regions.list()
    first, second, *_ = str(caught.value).splitlines()
    assert first == f"Invalid request: #/parts/2/weight: {comma} (and 1 more)"
    assert second == f"  #/parts/7/weight: {comma}"


def test_error_has_everything_the_problem_says(fake: FakeGradewright) -> None:
    """An error carries type, title, status, detail, faults with pointers and suggestions, and the request
    id.
    """
    fault = {"detail": "no such grade", "pointer": "#/parts/3/grade", "suggestions": ["copper-no2"]}
    other = {"detail": "not a day", "parameter": "on"}
    third = {"detail": "too long", "header": "Idempotency-Key"}
    fake.problem("GET", "/v1/regions", "unknown-grade", "Look at part 4.", errors=[fault, other, third])
    with pytest.raises(gw.UnknownGrade) as caught, fake.client() as client:
        client.regions.list()
    error = caught.value
    assert (error.type, error.title, error.status) == ("/problems/unknown-grade", "Unknown grade", 422)
    assert error.errors[0] == gw.Fault(
        "no such grade", pointer="#/parts/3/grade", suggestions=("copper-no2",)
    )
    assert [one.place for one in error.errors] == [
        "#/parts/3/grade",
        "parameter on",
        "header Idempotency-Key",
    ]
    assert error.suggestions == ("copper-no2",)
    assert error.request_id == fake.requests[-1].headers["x-request-id"]
    assert error.instance == "/v1/regions"
    text = str(error)
    assert "Look at part 4." in text
    assert "#/parts/3/grade: no such grade. Did you mean copper-no2?" in text
    assert error.request_id
    assert error.request_id in text


def test_error_says_nothing_twice(fake: FakeGradewright) -> None:
    """What the detail says already, the faults and suggestions do not say again."""
    fault = {"detail": "no cooper. Did you mean copper?", "pointer": "#/a", "suggestions": ["copper"]}
    fake.problem(
        "GET", "/v1/regions", "unknown-grade", "#/a: no cooper. Did you mean copper?", errors=[fault]
    )
    with pytest.raises(gw.UnknownGrade) as caught, fake.client() as client:
        client.regions.list()
    assert str(caught.value).count("Did you mean") == 1
    assert str(caught.value.errors[0]) == "#/a: no cooper. Did you mean copper?"


def test_retry_after_is_told(fake: FakeGradewright) -> None:
    """TooManyRequests says how long the service asked to wait."""
    fake.problem("GET", "/v1/regions", "too-many-requests", headers={"Retry-After": "3600"})
    with pytest.raises(gw.TooManyRequests) as caught, fake.client() as client:
        client.regions.list()
    assert caught.value.retry_after == 3600
    assert caught.value.attempts == 1


@pytest.mark.parametrize("status", [200, 404, 502])
def test_page_of_a_proxy(fake: FakeGradewright, status: int) -> None:
    """A proxy's HTML page is an UnexpectedAnswer that shows how it begins, not a decoding error."""
    page = b"<html><title>Bad gateway</title></html>"
    fake.answer("GET", "/v1/regions", page, status=status, headers={"Content-Type": "text/html"})
    with pytest.raises(gw.UnexpectedAnswer, match="Bad gateway") as caught, fake.client() as client:
        client.regions.list()
    assert caught.value.status == status


@pytest.mark.parametrize(
    ("body", "why"),
    [
        (b'{"regions": [', "not JSON"),
        (b"\xff\xfe", "not JSON"),
        (b"[" * 100_000, "not JSON"),
        (b'{"yards": []}', "no list 'regions'"),
        (b"[]", "no list 'regions'"),
        (b'{"regions": [{"code": "XO"}]}', "name is not as promised"),
    ],
)
def test_answer_that_is_not_as_promised(fake: FakeGradewright, body: bytes, why: str) -> None:
    """Broken JSON and missing fields are an UnexpectedAnswer that names what is missing."""
    fake.answer("GET", "/v1/regions", body)
    with pytest.raises(gw.UnexpectedAnswer, match=why), fake.client() as client:
        client.regions.list()


@pytest.mark.parametrize("body", [{"message": "no"}, ["no"], "no", None])
def test_error_that_is_no_problem_document(fake: FakeGradewright, body: object) -> None:
    """An error in JSON that is not a problem document is an UnexpectedAnswer."""
    fake.answer("GET", "/v1/regions", body, status=400)
    with pytest.raises(gw.UnexpectedAnswer, match="not a problem document"), fake.client() as client:
        client.regions.list()


def test_redirect_is_not_followed(fake: FakeGradewright) -> None:
    """A redirect is told, not followed: the key goes nowhere else."""
    fake.answer("GET", "/v1/regions", {}, status=301, headers={"Location": "https://elsewhere.example/"})
    with (
        pytest.raises(gw.UnexpectedAnswer, match=r"elsewhere\.example"),
        fake.client(key="gw_secret") as client,
    ):
        client.regions.list()
    assert len(fake.requests) == 1


def test_connection_failed_says_what_to_do(fake: FakeGradewright) -> None:
    """When nobody answers the error names the address and how to start a service."""
    fake.lose("GET", "/v1/regions")
    with pytest.raises(gw.ConnectionFailed, match="gradewright serve") as caught, fake.client() as client:
        client.regions.list()
    assert "http://gradewright.test" in str(caught.value)
    assert "connection refused" in str(caught.value)
    assert caught.value.attempts == 5


def test_docstring_draws_the_tree() -> None:
    """The tree drawn in the docstring of the module is the tree of the classes, at the drawn depth."""
    drawn = {}
    above: list[str] = []
    for line in inspect.getdoc(_exceptions).splitlines():  # type: ignore[union-attr]
        match = re.match(r"([│├└─ ]*)([A-Z]\w+)", line)
        if match and hasattr(_exceptions, match[2]):
            depth = len(match[1]) // 4
            above[depth:] = [match[2]]
            drawn[match[2]] = above[depth - 1] if depth else "Exception"
    classes = {
        name: one
        for name, one in vars(_exceptions).items()
        if inspect.isclass(one) and issubclass(one, Exception)
    }
    assert drawn == {name: one.__bases__[0].__name__ for name, one in classes.items()}
