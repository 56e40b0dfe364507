"""The collector of cycles looks less often while a large answer is worked out, and then as before."""

from __future__ import annotations

import ctypes
import gc
from contextlib import nullcontext
from types import SimpleNamespace

import pytest

from gradewright import asgi, collector, serving


def test_it_looks_as_often_as_before_once_all_are_done() -> None:
    """Of answers that overlap the last to end puts back what was before the first; one that fails too."""
    before = gc.get_threshold()
    first, second = collector.seldom(), collector.seldom()
    first.__enter__()
    second.__enter__()
    assert gc.get_threshold() == collector.SELDOM != before
    first.__exit__(None, None, None)
    assert gc.get_threshold() == collector.SELDOM
    second.__exit__(None, None, None)
    assert gc.get_threshold() == before
    with pytest.raises(ValueError, match="anything"), collector.seldom():
        raise ValueError("anything")
    assert gc.get_threshold() == before


def test_a_server_wires_the_application_while_cycles_are_hardly_looked_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What it imports asks for that until the application is there, and hands the same one on."""
    before, during, wired = gc.get_threshold(), [], object()
    monkeypatch.setattr(asgi, "serving", lambda: during.append(gc.get_threshold()) or wired)
    assert serving.application() is wired
    assert during == [collector.SELDOM]
    assert gc.get_threshold() == before


def test_a_service_leaves_out_what_stays_once_it_is_ready(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is there when it has made itself ready is not looked at again."""
    monkeypatch.setenv("GRADEWRIGHT_DATABASE_URL", "sqlite:///unused.sqlite")
    ready = [getattr(step, "func", step) for step in asgi.serving().on_startup]
    assert ready.index(asgi.warm_up) < ready.index(collector.stays)
    before = gc.get_freeze_count()
    try:
        collector.stays()
        assert gc.get_freeze_count() > before + 10_000
    finally:
        gc.unfreeze()


@pytest.mark.parametrize("fails", [False, True])
def test_what_is_free_goes_back_in_the_end(monkeypatch: pytest.MonkeyPatch, *, fails: bool) -> None:
    """Once, after the work and also where that fails; as a decorator it can be used again."""
    given, library = list[str](), SimpleNamespace(malloc_trim=lambda kept: given.append(f"all but {kept}"))
    monkeypatch.setattr(ctypes, "CDLL", lambda name: library)

    def work() -> int:
        assert not given
        return 1 // (not fails)

    for _ in range(2):
        with pytest.raises(ZeroDivisionError) if fails else nullcontext():
            assert collector.gives_back()(work)() == 1
        assert given == ["all but 0"]
        given.clear()


def test_where_nothing_can_be_given_back_nothing_is(monkeypatch: pytest.MonkeyPatch) -> None:
    """Other C libraries have no such calls: they are looked for, and the work goes on without."""
    looked_for = list[str]()

    class Other:
        def __getattr__(self, name: str) -> object:
            looked_for.append(name)
            raise AttributeError(name)

    monkeypatch.setattr(ctypes, "CDLL", lambda name: Other())
    collector.few_heaps()
    assert collector.gives_back()(sum)([1, 2]) == 3
    assert looked_for == ["mallopt", "malloc_trim"]


def test_a_server_has_two_heaps(monkeypatch: pytest.MonkeyPatch) -> None:
    """It asks for them before it reads anything; M_ARENA_MAX is -8 in GNU's <malloc.h>."""
    asked = list[tuple[int, int]]()
    library = SimpleNamespace(mallopt=lambda *given: asked.append(given))
    monkeypatch.setattr(ctypes, "CDLL", lambda name: library)
    monkeypatch.setattr(asgi, "serving", lambda: tuple(asked))
    assert serving.application() == ((-8, 2),)
