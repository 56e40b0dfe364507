"""The small district, for the tests of what the database itself allows."""

from tests.api import world

__all__ = ["world"]
