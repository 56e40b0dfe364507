"""A stand-in for the service, for tests of programs that use this package. No network, no waiting.

    >>> from gradewright_sdk.testing import FakeGradewright, samples
    >>> fake = FakeGradewright()
    >>> fake.answer("GET", "/v1/regions", {"regions": [samples.region(name="Kelder Bay")]})
    >>> with fake.client() as client:
    ...     [region.name for region in client.regions.list()]
    ['Kelder Bay']
    >>> fake.requests[-1].path
    '/v1/regions'

What nobody set an answer for fails the test and names the request. `samples` makes well-formed answers to
start from.
"""

from __future__ import annotations

from gradewright_sdk.testing import samples

from ._fake import FakeGradewright, NothingSet, Recorded

__all__ = ["FakeGradewright", "NothingSet", "Recorded", "samples"]
