"""What is told of two versions: in sentences, over the interface, and on the operator's command line."""

from __future__ import annotations

import asyncio
import copy
import json
import threading
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from tests.api import World, problem_of, small_rulebook
from tests.served import run

from gradewright.core.decision import Axis
from gradewright.core.grading import Graded, Grader, Ungraded
from gradewright.core.observations import Attribute, Kind, read_observations
from gradewright.rulebooks import comparing
from gradewright.rulebooks.comparing import MOST_WAITING, Busy, Comparing, Stopped
from gradewright.rulebooks.comparing_cli import _tell
from gradewright.rulebooks.comparison import Comparison, compare
from gradewright.rulebooks.comparison_schemas import ComparisonOut
from gradewright.rulebooks.comparison_words import ranges
from gradewright.rulebooks.comparisons import ComparisonService
from gradewright.rulebooks.document import from_yaml, read
from gradewright.rulebooks.named import as_yaml

FOLDER = Path(__file__).parents[2] / "service" / "gradewright" / "rulebooks" / "published"
Document = dict[str, Any]


def shipped(version: str) -> Document:
    """The document of a version that ships."""
    return from_yaml((FOLDER / f"{version}.yaml").read_text(encoding="utf-8"))


def changed(before: Document, after: Document) -> Comparison:
    """What the second of two documents changes."""
    return compare((read(before), before), (read(after), after))


def rule(document: Document, name: str) -> Document:
    """A rule of a document."""
    found: Document = next(each for each in document["rules"] if each["id"] == name)
    return found


def test_a_limit_that_moved_is_told_to_people_who_sell() -> None:
    """The change of 1 February 2018 (ReMA circular, Shelmo) is one sentence, one move, one limit, and its
    part goes down by the graders of both versions."""
    before, after = shipped("2017.1"), shipped("2018.1")
    found = changed(before, after)
    assert (found.kind, found.also) == ("changes", ())
    assert list(found.summary) == [
        "Some parts change their grade.",
        f"The limit aluminium wound is 5 % (10 % before): {after['limits']['aluminium_wound']['means']}",
        "Shredded motors: a part with aluminium wound share above 5 % is now marked down to Shredded motors, "
        "mixed windings (was 10 %).",
    ]
    assert [(each.name, each.before, each.after) for each in found.differences.limits] == [
        ("aluminium_wound", "10 %", "5 %")
    ]
    (move,) = found.moves
    (way,) = move.ways
    assert (move.before.grade, move.after.grade) == ("motors-shredded", "motors-shredded-mixed")
    assert (way.rule_before, way.rule_after) == ("shredded-motors-good", "shredded-motors-mixed")
    assert way.ranges["aluminium_wound_share"] == "above 5 % and at most 10 %"
    for document, grade in ((before, move.before.grade), (after, move.after.grade)):
        book = read(document)
        outcome = Grader(book).grade(read_observations(book.attributes, way.part))
        assert isinstance(outcome, Graded)
        assert outcome.grade == grade


def test_every_way_between_the_oldest_and_a_later_version_is_so_by_both_graders() -> None:
    """Each smallest part of 2014.1 to 2018.1 has the grade before in the one, after in the other, and none of
    its observations can be left out."""
    before, after = read(shipped("2014.1")), read(shipped("2018.1"))
    old, new = Grader(before), Grader(after)
    found = changed(shipped("2014.1"), shipped("2018.1"))
    ways = [(move, way) for move in found.moves for way in move.ways]
    assert len(ways) >= 4
    for move, way in ways:
        whole = read_observations(after.attributes, way.part)
        for left_out in (None, *whole):
            part = {name: value for name, value in whole.items() if name != left_out}
            ends = [each.grade(part) for each in (old, new)]
            grades = tuple(end.grade if isinstance(end, Graded) else None for end in ends)
            assert (grades == (move.before.grade, move.after.grade)) == (left_out is None), (part, ends)


def test_prices_that_are_worked_out_otherwise_are_no_change_of_grades() -> None:
    """2026.2 against 2026.1: proved that no part changes its grade; that prices change is told beside."""
    found = changed(shipped("2026.1"), shipped("2026.2"))
    assert (found.kind, list(found.moves)) == ("beside", [])
    assert {"pricing", "grades"} <= set(found.also)
    count = len(found.differences.besides)
    assert found.summary[0].endswith(
        f"of the grading rules no more than wording changes. {count} other changes."
    )
    assert [each for each in found.summary if each.startswith("Pricing, spread: ")]


def test_what_changes_beside_the_grades_is_told_by_name_with_both_values() -> None:
    """A preparation, a caution, a test and a price factor: each in a sentence with before and after, value by
    value for scripts, and none of it is called wording."""
    before = small_rulebook()
    after = copy.deepcopy(before)
    work = after["preparations"]["back-out-screws"]
    minutes, called = work["minutes"], work["name"]
    work["minutes"] = "9"
    work["changes"]["foreign_share"] = None
    after["attributes"]["steel_screws"]["minutes"] = "7"
    takes = before["attributes"]["steel_screws"]["minutes"]
    half_life, after["pricing"]["half_life"] = before["pricing"]["half_life"], 99
    dust = after["cautions"].pop("dust")
    found = changed(before, after)
    assert (found.kind, found.moves) == ("beside", [])
    assert list(found.summary) == [
        "No part changes its grade: of the grading rules no more than wording changes. 4 other changes.",
        f"Pricing, half life: 99 ({half_life} before).",
        f"Caution {dust['name']} is gone.",
        f"Preparation {called}: changes foreign share not known afterwards (as it was before); "
        f"minutes 9 ({minutes} before).",
        f"Test of steel screws: minutes 7 ({takes} before).",
    ]
    told = ComparisonOut.of(found, read(before), read(after)).model_dump()
    assert [each["says"] for each in told["besides"]] == list(found.summary[1:])
    assert told["besides"][0]["changed"] == [
        {"at": ["pricing", "half_life"], "before": half_life, "after": 99}
    ]
    assert told["also"] == ["pricing", "cautions", "preparations", "attributes"]


def test_of_a_list_is_told_what_came_and_what_went() -> None:
    """Where a list keeps some of its entries, the others are told, and not the whole list twice."""
    before = small_rulebook()
    before["cautions"]["sharp"]["when"] = [{"metal": "steel"}, {"steel_screws": True}]
    after = copy.deepcopy(before)
    after["cautions"]["sharp"]["when"] = [{"metal": "steel"}, {"thickness": {"below": "1 mm"}}]
    sharp = after["cautions"]["sharp"]["name"]
    assert list(changed(before, after).summary)[1:] == [
        f"Caution {sharp}: when also thickness below 1 mm; no longer steel screws yes."
    ]


def test_what_people_are_told_to_do_is_no_wording() -> None:
    """The words of a caution, of work or of a test: told with both texts; other words are wording."""
    for section, entry, key, called in (
        ("cautions", "dust", "says", "it says"), ("preparations", "back-out-screws", "how", "how it is done"),
        ("attributes", "steel_screws", "test", "test"),
    ):  # fmt: skip
        before = small_rulebook()
        after = copy.deepcopy(before)
        was = before[section][entry][key]
        after[section][entry][key] = "Blow it away."
        found = changed(before, after)
        assert found.kind == "beside"
        assert found.summary[-1].endswith(f": {called} Blow it away. ({was} before).")
    after = copy.deepcopy(before)
    after["cautions"]["dust"]["source"] = "Another."
    assert (changed(before, after).kind, changed(before, after).also) == ("wording", ())


def test_rules_that_are_written_otherwise_and_mean_the_same_are_wording() -> None:
    """A rule split into one for each value, and two swapped that no part meets both: proved the same."""
    before = shipped("2018.1")
    after = copy.deepcopy(before)
    place = next(n for n, each in enumerate(after["rules"]) if each["id"] == "tab-copper")
    whole = after["rules"].pop(place)
    for value in whole["when"]["assembly"]:
        after["rules"].insert(
            place, {**whole, "id": f"tab-copper-{value}", "when": {**whole["when"], "assembly": value}}
        )
    after["rules"][0], after["rules"][1] = after["rules"][1], after["rules"][0]
    found = changed(before, after)
    assert (found.kind, list(found.moves)) == ("wording", [])
    assert found.differences.touch_grading
    after["rules"][place]["grade"] = "light-iron"
    assert changed(before, after).kind == "changes"


def test_a_rule_for_what_had_no_grade_adds() -> None:
    """A part that no rule took gets a grade, and no other part changes its own."""
    before = shipped("2018.1")
    after = copy.deepcopy(before)
    part = {"form": "bundle", "metal": "lead"}
    assert isinstance(Grader(read(before)).grade(part), Ungraded)
    after["rules"].append(
        {**rule(before, "lamp-any"), "id": "lead-bundle", "grade": "lead-soft", "when": part}
    )
    found = changed(before, after)
    assert found.kind == "adds"
    assert [(move.before.answered, move.after.grade) for move in found.moves] == [("no-grade", "lead-soft")]
    assert found.moves[0].ways[0].part == part
    assert found.summary[1].endswith("had no grade, is now Soft lead.")


def test_the_same_document_changes_nothing() -> None:
    """A version against itself."""
    found = changed(shipped("2018.1"), shipped("2018.1"))
    assert (found.kind, list(found.summary)) == ("same", ["Nothing changes."])


def test_grades_and_texts_that_came_went_or_are_called_otherwise() -> None:
    """A new slug that keeps the old name is a renamed grade; one that nobody asks for is retired; a new one
    is added; a text that stands otherwise is shown with both."""
    before = small_rulebook()
    after = json.loads(json.dumps(before).replace('"light-iron"', '"iron-light"'))
    after["grades"]["zinc-old"] = {**after["grades"]["iron-light"], "name": "Zinc", "aliases": []}
    after["grades"]["zinc-old"]["by_name_only"] = True
    del after["grades"]["copper-no2"], after["grades"]["copper-residue"]["priced_as"]
    after["grades"]["iron-light"]["describes"] = "Thin and light."
    found = changed(before, after).differences
    assert found.grades_renamed == {"light-iron": "iron-light"}
    assert (found.grades_added, found.grades_retired) == (["zinc-old"], ["copper-no2"])
    after = copy.deepcopy(before)
    after["rules"][0]["because"] = "Thick."
    (text,) = changed(before, after).differences.texts
    assert text.at == ("rules", before["rules"][0]["id"], "because")
    assert (text.before, text.after) == (before["rules"][0]["because"], "Thick.")


async def published(world: World) -> Document:
    """A later version of the small rulebook, in which heavy steel begins at another thickness."""
    after = small_rulebook(version="2021.1", effective_from="2021-01-01")
    name = next(iter(after["limits"]))
    after["limits"][name]["value"] = "5 mm"
    after["examples"] = []
    await world.publish(after)
    return after


async def test_the_interface_compares_with_the_version_before(world: World) -> None:
    """Without `with` a version is compared with the one that it followed; the moves and limits are there."""
    await published(world)
    found = await world.get("/v1/rulebooks/2021.1/comparison")
    assert (found["before"], found["after"], found["kind"]) == ("2020.1", "2021.1", "changes")
    assert found == await world.get("/v1/rulebooks/2021.1/comparison", with_="2020.1")
    assert [(each["before"], each["after"]) for each in found["limits"]] == [("6.35 mm", "5 mm")]
    (move,) = found["moves"]
    assert (move["before"]["grade"], move["after"]["grade"]) == ("light-iron", "steel-heavy")
    assert move["ways"][0]["ranges"]["thickness"] == "at least 5 mm and below 6.35 mm"
    back = await world.get("/v1/rulebooks/2020.1/comparison", with_="2021.1")
    assert (back["moves"][0]["before"], back["moves"][0]["after"]) == (move["after"], move["before"])


async def test_it_tells_how_far_it_is(world: World) -> None:
    """As JSON Lines each move is counted, and each limit; the last line has the same as one answer; once it
    is kept there is that line alone. What cannot be compared is refused before any line."""
    await published(world)
    path, accept = "/v1/rulebooks/2021.1/comparison", {"Accept": "application/jsonl"}
    answers = [await world.client.get(path, headers=accept) for _ in "12"]
    first, second = ([json.loads(line) for line in answer.text.splitlines()] for answer in answers)
    assert answers[0].headers["content-type"].startswith("application/jsonl")
    *steps, last = first
    *moves, places = steps
    assert moves == [{"what": "moves", "done": number, "of": 0} for number in range(len(moves))]
    assert moves
    assert places == {"what": "limits of places", "done": 0, "of": 1}
    assert second == [last] == [{"comparison": await world.get(path)}]
    gone = await world.client.get("/v1/rulebooks/2090.1/comparison", headers=accept)
    problem_of(gone, "no-rulebook-in-force", 404)


async def test_a_version_that_is_not_there_is_refused_where_it_is_named(world: World) -> None:
    """Unknown names point at the path or at `with`; the earliest version followed none."""
    path = "/v1/rulebooks/2020.1/comparison"
    problem_of(await world.client.get("/v1/rulebooks/2090.1/comparison"), "no-rulebook-in-force", 404)
    found = problem_of(await world.client.get(path, params={"with": "2090.1"}), "no-rulebook-in-force")
    assert found.errors[0].parameter == "with"
    found = problem_of(await world.client.get(path), "invalid-request")
    assert "followed none" in found.detail
    problem_of(await world.client.get(path, params={"against": "2020.1"}), "invalid-request")


async def test_a_comparison_is_worked_out_once(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Those who ask at once wait for the same one; who goes away does not take it from the others."""
    await published(world)
    counted: list[str] = []
    plain = Comparing._compared

    def counting(before: Any, after: Any, stopping: threading.Event, tell: Any) -> Any:
        counted.append(after[0].version)
        return plain(before, after, stopping, tell)

    monkeypatch.setattr(Comparing, "_compared", staticmethod(counting))
    service = ComparisonService(world.services.rulebooks, Comparing())
    asking = [asyncio.create_task(service.of("2021.1", None)) for _ in range(4)]
    await asyncio.sleep(0)
    asking[0].cancel()
    found = await asyncio.gather(*asking[1:], service.of("2021.1", "2020.1"))
    assert counted == ["2021.1"]
    assert len({id(each) for each in found}) == 1


async def test_what_was_compared_is_kept(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two versions are compared once, by whichever worker: another one answers the same bytes without."""
    await published(world)
    path = "/v1/rulebooks/2021.1/comparison"
    first = await world.client.get(path)
    assert first.json()["moves"]
    monkeypatch.setattr(Comparing, "_compared", None)
    async with world.another() as other:
        assert (await other.client.get(path)).content == first.content
        assert (await other.client.get(f"{path}?with=2020.1")).content == first.content


async def test_what_nobody_waits_for_any_more_is_kept_too(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who asks and goes has not asked for nothing: the next one finds it in the database."""
    await published(world)
    service, began, go_on = world.services.comparisons, threading.Event(), threading.Event()
    plain = Comparing._compared

    def waiting(*given: Any) -> Any:
        began.set()
        go_on.wait()
        return plain(*given)

    monkeypatch.setattr(Comparing, "_compared", staticmethod(waiting))
    asking = asyncio.create_task(service.of("2021.1", None))
    await asyncio.to_thread(began.wait)
    asking.cancel()
    go_on.set()
    assert (await service.of("2021.1", None)).moves
    monkeypatch.setattr(Comparing, "_compared", None)
    async with world.another() as other:
        assert (await other.services.comparisons.of("2021.1", None)).moves


async def test_only_so_many_comparisons_wait(monkeypatch: pytest.MonkeyPatch) -> None:
    """One is worked out at a time; where four wait the next is told to come again; stopping ends them."""
    began, go_on = threading.Event(), threading.Event()

    def slow(before: Any, after: Any, stopping: threading.Event, tell: Any) -> Any:
        began.set()
        while not go_on.wait(0.01):
            if stopping.is_set():
                raise Stopped("The service is being stopped.")
        return after[0].sha256

    monkeypatch.setattr(Comparing, "_compared", staticmethod(slow))
    room = Comparing()
    book = read(shipped("2018.1"))
    pairs = [((book, {}), (replace(book, sha256=f"{n}"), {})) for n in range(MOST_WAITING + 1)]
    waiting = [asyncio.create_task(room.of(*pair)) for pair in pairs[:-1]]
    await asyncio.to_thread(began.wait)
    with pytest.raises(Busy, match="Ask again"):
        await room.of(*pairs[-1])
    room.close()
    ended = await asyncio.gather(*waiting, return_exceptions=True)
    assert isinstance(ended[0], Stopped)
    assert all(isinstance(each, (Stopped, asyncio.CancelledError)) for each in ended)
    room.open()
    go_on.set()
    assert await room.of(*pairs[-1]) == str(MOST_WAITING)  # a service that begins again goes on


async def test_who_is_told_to_come_again_is_told_when(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where too many comparisons wait: 503, with the seconds after which to ask again."""
    await published(world)
    monkeypatch.setattr(comparing, "MOST_WAITING", 0)
    answer = await world.client.get("/v1/rulebooks/2021.1/comparison")
    assert "Ask again" in problem_of(answer, "unavailable", 503).detail
    assert int(answer.headers["retry-after"]) > 0


def test_examples_are_told_by_their_parts() -> None:
    """An example that came, went or says something else is told as its part with both answers, and no text;
    in another order they are the same."""
    before = small_rulebook()
    after = copy.deepcopy(before)
    after["examples"].reverse()
    assert changed(before, after).differences.examples == []
    gone = after["examples"].pop()
    after["examples"][0]["note"] = "another"
    after["examples"].append({"part": {"metal": "steel", "thickness": "9 mm"}, "grade": "steel-heavy"})
    found = changed(before, after)
    assert (found.kind, list(found.differences.texts)) == ("wording", [])
    told = ComparisonOut.of(found, read(before), read(after)).model_dump()["examples"]
    nothing = {"candidates": [], "contradiction": None, "ungraded": False}
    assert [each["part"] for each in told] == [
        gone["part"], after["examples"][0]["part"], after["examples"][-1]["part"],
    ]  # fmt: skip
    assert told[0]["after"] is None
    assert told[0]["before"] == {**nothing, "grade": gone["grade"], "note": gone["note"]}
    assert told[1]["after"]["note"] == "another"
    assert (told[2]["before"], told[2]["after"]["grade"]) == (None, "steel-heavy")


def test_what_an_entry_is_called_is_not_what_stands_there() -> None:
    """Rules, attributes, limits and grades may be called like any key: a change of theirs is no text."""
    text = json.dumps(small_rulebook())
    before = json.loads(text.replace('"thick-steel"', '"note"').replace('"steel_screws"', '"source"'))
    after = copy.deepcopy(before)
    rule(after, "note")["grade"] = "light-iron"
    after["examples"] = []
    after["grades"]["steel-heavy"]["by_name_only"] = True
    found = changed(before, after)
    assert (found.kind, [move.after.grade for move in found.moves]) == ("changes", ["light-iron"])
    after = copy.deepcopy(before)
    for each in after["rules"]:
        if "source" in each["when"]:
            each["when"]["source"] = not each["when"]["source"]
    assert changed(before, after).kind == "changes"


def test_names_and_questions_that_are_gone_are_changes() -> None:
    """An alias of another grade, and an attribute that is not asked any more: told, and never wording."""
    before = small_rulebook()
    after = copy.deepcopy(before)
    after["grades"]["copper-no2"]["aliases"] = []
    after["grades"]["copper-no1"]["aliases"] = ["number one", "Birch"]
    assert changed(before, after).kind == "changes"
    after = copy.deepcopy(before)
    del after["attributes"]["foreign_share"], after["cautions"]["dust"]
    found = changed(before, after)
    assert found.kind == "changes"
    assert "foreign share is not asked any more: who still tells it is refused." in found.summary
    after = copy.deepcopy(before)
    after["preparations"]["back-out-screws"]["changes"]["foreign_share"] = None
    assert changed(before, after).also == ("preparations",)


def test_a_grade_that_is_only_called_otherwise_moves_nothing() -> None:
    """A new slug for the same grade: no part moves, and the grade is told to be called otherwise."""
    before = small_rulebook()
    after = json.loads(json.dumps(before).replace('"light-iron"', '"iron-light"'))
    after["grades"]["iron-light"]["aliases"] = [*before["grades"]["light-iron"]["aliases"], "light-iron"]
    found = changed(before, after)
    assert (found.kind, list(found.moves), found.also) == ("wording", [], ())
    assert "light-iron is called iron-light now." in found.summary


def test_one_value_more_than_is_listed_is_listed_too() -> None:
    """Of seven values all are named, of eight six and how many others there are."""
    for count, end in ((7, "v5 or v6"), (8, "v5 or 2 others")):
        values = [f"v{number}" for number in range(count)]
        attribute = Attribute("x", Kind.CHOICE, "-", "-", Decimal(1), "-", dict.fromkeys(values, "-"))
        assert ranges({"x": Axis(attribute, 1, ())}, {"x": attribute}, {"x": values}, {})["x"].endswith(end)


def test_a_sentence_says_no_more_than_is_so() -> None:
    """A limit of a rule that asks for more is not told of the whole grade; each by the rule that decides."""
    before = small_rulebook()
    limits = {"other": {"value": "5 mm", "means": "-", "source": "-"}}
    before["limits"] |= limits
    asks = {"metal": "steel", "steel_screws": True, "thickness": {"below": "other"}}
    before["rules"].insert(
        0, {**rule(before, "thin-steel"), "id": "screwed", "grade": "screws", "when": asks}
    )
    before["examples"] = []
    after = copy.deepcopy(before)
    after["limits"]["other"]["value"] = "6 mm"
    (way,) = (way for move in changed(before, after).moves for way in move.ways)
    assert way.says.startswith("Metal steel, thickness at least 5 mm and below 6 mm, steel screws yes: was")
    for move in changed(shipped("2014.1"), shipped("2018.1")).moves:
        for each in move.ways:
            assert "304.8 mm" not in each.says


def test_what_cannot_be_any_more_is_told_by_what_is_new_in_it() -> None:
    """Of descriptions as small as each other that of which the rule and the new entry speak."""
    before = small_rulebook()
    steel = {"id": "steel-without-pull", "because": "-", "source": "-"}
    before["impossible"].append({**steel, "when": {"metal": "steel", "sticks_to_magnet": False}})
    after = copy.deepcopy(before)
    foamy = {"metal": "copper", "foreign_share": {"above": "60 %"}}
    after["impossible"].append({**steel, "id": "foamy", "when": foamy})
    told = {move.before.grade: move.ways[0].says for move in changed(before, after).moves}
    assert set(told) == {"copper-residue", "copper-no1"}
    for says in told.values():
        assert says.startswith("Metal copper, steel screws "), says


def test_the_command_tells_the_same_as_the_interface(tmp_path: Path, make_url: Callable[..., str]) -> None:
    """Two files, or names out of the database; --json is what the interface answers."""
    url = make_url("sqlite")
    before, after = (str(FOLDER / f"{version}.yaml") for version in ("2017.1", "2018.1"))
    done = run(url, "rulebooks", "compare", before, after)
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert lines[2].startswith(
        "Shredded motors: a part with aluminium wound share above 5 % is now marked down"
    )
    # Examples whose note alone is another one are counted, and not listed with the same answer twice.
    assert not [line for line in lines if line.endswith(": motors-shredded -> motors-shredded")]
    assert [line for line in lines if "the same answer with another note" in line]
    assert [line for line in lines if line.endswith(" texts stand otherwise (--texts shows them).")]
    told = json.loads(run(url, "rulebooks", "compare", before, after, "--json").stdout)
    for move in told["moves"]:
        if move["before"]["grade"] and move["after"]["grade"]:
            assert f"{move['before']['name']} -> {move['after']['name']}" in lines
    shown = run(url, "rulebooks", "compare", before, after, "--texts").stdout.splitlines()
    place = shown.index(f"  {', '.join(told['texts'][0]['at'])}")
    texts = [" ".join(told["texts"][0][side].split()) for side in ("before", "after")]
    assert shown[place + 1 : place + 3] == [f"    before: {texts[0]}", f"    after:  {texts[1]}"]
    assert (told["kind"], told["moves"][0]["ways"][0]["rule_after"]) == ("changes", "shredded-motors-mixed")
    missing = run(url, "rulebooks", "compare", before, str(tmp_path / "none.yaml"))
    assert missing.returncode == 2
    assert "There is no file" in missing.stderr
    unknown = run(url, "rulebooks", "compare", "2017.1", after)
    assert unknown.returncode == 2
    assert "There is no rulebook '2017.1'" in unknown.stderr
    assert run(url, "rulebooks", "load", before).returncode == 0
    for _ in range(2):  # worked out and kept; then read again
        named = run(url, "rulebooks", "compare", "2017.1", after, "--json")
        assert json.loads(named.stdout) == told, named.stderr


def test_moves_of_what_cannot_be_are_told_together(capsys: pytest.CaptureFixture[str]) -> None:
    """For people a limit on which a contradiction rests takes a sentence and one part, no line a grade; a few
    are told one by one."""
    before = small_rulebook()
    after = copy.deepcopy(before)
    flat = {"id": "flat", "because": "-", "source": "-", "when": {"thickness": {"below": "9 mm"}}}
    after["impossible"].append(flat)
    found = changed(before, after)
    grades = [move for move in found.moves if move.after.answered == "contradiction"]
    (one,) = {move.before.grade: move for move in grades[:1]}.values()
    parts = [{**one.ways[0].part, f"a{n}": True} for n in range(12)]
    many = [replace(one, ways=(replace(one.ways[0], part=part),)) for part in (*parts, one.ways[0].part)]
    answer = ComparisonOut.of(replace(found, moves=many), read(before), read(after))
    few = ComparisonOut.of(replace(found, moves=many[1:]), read(before), read(after))
    assert (few.together, few.summary) == ([], list(found.summary))
    (group,) = answer.together
    assert (group.moves, group.part) == ([*range(13)], one.ways[0].part)
    assert one.ways[0].says in found.summary
    assert answer.summary == [group.says if line == one.ways[0].says else line for line in found.summary]
    _tell(found, answer, texts=False)
    told = capsys.readouterr().out.splitlines()
    (place,) = (n for n, line in enumerate(told) if "is taken for a contradiction now: " in line)
    assert told[place].startswith("What had one of 13 answers is taken for a contradiction now: ")
    assert "(--json shows all)" in told[place]
    assert told[place + 1] == f"  {as_yaml(one.ways[0].part)}"
    assert not [line for line in told if line.endswith("-> cannot be") or line == one.ways[0].says]


def test_what_else_changes_is_shown_by_an_option(capsys: pytest.CaptureFixture[str]) -> None:
    """For people the rest is named by the option that shows it, and not by its key in the JSON."""
    books = small_rulebook(), small_rulebook(title="Other")
    found = changed(*books)
    line = "And 46 more beside the grades of parts, all under `besides`."
    told = ComparisonOut.of(replace(found, summary=[line]), *map(read, books))
    _tell(found, told, texts=False)
    assert "And 46 more beside the grades of parts (--json shows them).\n" in capsys.readouterr().out
