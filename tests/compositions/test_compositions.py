"""What came out of devices: recorded, read as typical, taken back, and none of it lost."""

from __future__ import annotations

from typing import Any

import pytest

from gradewright.accounts.service import Role
from tests.api import World, only, problem_of, where
from tests.compositions.recording import TREADMILL, device, record, recorded, withdraw


async def test_a_device_is_recorded_and_read(world: World) -> None:
    """The first record makes its kind; what it says is scaled to the weight that is asked for."""
    before = await world.revision()
    made = await recorded(world, new_kind=TREADMILL)
    assert made == {"id": made["id"], "kind": "treadmill", "revision": before + 1, "unusual": []}
    found = await world.get("/v1/compositions/treadmill", weight="35 kg")
    assert (found["name"], found["grade"], found["records"], found["voices"]) == (
        "Treadmill", "light-iron", 1, 1,
    )  # fmt: skip
    iron, copper = found["parts"]
    assert (iron["grade"], iron["name"], iron["found"]) == ("light-iron", "Light iron", 1)
    assert iron["share"] == {"low": "0.3", "likely": "0.6", "high": "0.9"}
    assert iron["weight_kg"] == {"low": "10.5", "likely": "21", "high": "31.5"}
    assert copper["weight_kg"]["likely"] == "0.7"
    assert found["rest"]["share"]["likely"] == "0.38"
    assert found["weight_kg"]["likely"] == "70"
    assert found["minutes"] == {"low": "30", "likely": "60", "high": "90"}
    assert any("one person" in said for said in found["says"])
    (kind,) = (await world.get("/v1/compositions"))["kinds"]
    assert (kind["kind"], kind["records"], kind["minutes"]["likely"]) == ("treadmill", 1, "60")


async def test_what_shares_are_of_is_told(world: World) -> None:
    """Of all records that count, of those alone that tell the whole weight, or of none: in numbers and words.
    A kind of which no record counts has nothing to tell.
    """
    unweighed = [{"grade": "light-iron", "weight": "42 kg"}]
    made = [await recorded(world, new_kind=TREADMILL, weight=None, parts=unweighed)]

    async def told() -> Any:
        return (await world.get("/v1/compositions/treadmill"))["shares_rest_on"]

    says = "No record tells the weight of the whole device: there are no shares."
    assert await told() == {"records": 0, "voices": 0, "says": says}
    made += [await recorded(world, "heron"), await recorded(world, "heron")]
    says = "Of 3 records 2, of 1 person, tell the weight of the whole device: shares are of these alone."
    assert await told() == {"records": 2, "voices": 1, "says": says}
    await withdraw(world, made.pop(0), "wren")
    says = "Each record tells the weight of the whole device: shares are of all."
    assert await told() == {"records": 2, "voices": 1, "says": says}
    for each in made:
        await withdraw(world, each, "heron")
    assert await told() is None


async def test_records_are_told_as_written(world: World) -> None:
    """Weights stay as they were written, pieces alike are what all of them weigh; a part that was described
    has the grade that it had then.
    """
    part = {"observed": {"metal": "copper", "steel_screws": True}, "weight": "2 lb 3 oz", "count": 4}
    more = {"made_year": 2009, "model": "folding, grey", "region": "XO-KEL", "note": "belt missing"}
    bolts = {"grade": "tin", "weight_each": "1/2 lb", "count": 3}
    made = await recorded(world, new_kind=TREADMILL, parts=[part, bolts], **more)
    (one,) = (await world.get("/v1/compositions/treadmill/records"))["records"]
    told = {"grade": "copper-residue", "share": None, "says": None, **part}
    assert one["parts"][0] == told
    assert (one["parts"][1]["weight"], one["parts"][1]["count"]) == ("680.388555 g", 3)
    assert {name: one[name] for name in more} == more
    assert (one["id"], one["author"], one["weight"], one["minutes"]) == (made["id"], "wren", "70 kg", "60")
    assert (one["source"], one["withdrawn"], one["rulebook"]) == (None, None, "2020.1")


async def test_what_was_taken_back_counts_no_more(world: World) -> None:
    """A record that is taken back is told as such and leaves what is typical; before, it is in it still."""
    first = await recorded(world, new_kind=TREADMILL)
    second = await recorded(world, "heron", minutes="90")
    assert (await withdraw(world, second, "heron")).status_code == 201
    found = await world.get("/v1/compositions/treadmill")
    assert (found["records"], found["minutes"]["likely"]) == (1, "60")
    before = await world.get("/v1/compositions/treadmill", known_at=second["revision"])
    assert (before["records"], before["minutes"]["likely"]) == (2, "75")
    told = (await world.get("/v1/compositions/treadmill/records"))["records"]
    assert [one["withdrawn"] is not None for one in told] == [True, False]
    then = await world.get("/v1/compositions/treadmill/records", known_at=second["revision"])
    assert [one["withdrawn"] for one in then["records"]] == [None, None]
    assert (await withdraw(world, first, "sedge", Role.MAINTAINER)).status_code == 201
    empty = await world.get("/v1/compositions/treadmill", weight="70 kg")
    assert (empty["records"], empty["parts"], empty["minutes"]) == (0, [], None)
    assert "taken back" in empty["says"][0]


async def test_who_may_take_a_record_back(world: World) -> None:
    """Whoever made it, once, or a maintainer; of another kind, or of none, there is no such record."""
    made = await recorded(world, new_kind=TREADMILL)
    problem_of(await withdraw(world, made, "heron"), "forbidden", 403)
    problem_of(await withdraw(world, made, "wren", kind="printer"), "not-found", 404)
    problem_of(await withdraw(world, {"id": "c-1"}, "wren"), "not-found", 404)
    assert (await withdraw(world, made, "wren")).status_code == 201
    problem_of(await withdraw(world, made, "wren"), "conflict", 409)


async def test_a_day_and_a_revision_choose_the_records(world: World) -> None:
    """Records of later days are not known on a day, nor those of later revisions at a revision."""
    first = await recorded(world, new_kind=TREADMILL, on="2026-04-01")
    await recorded(world, "heron", minutes="90", on="2026-05-02")
    assert (await world.get("/v1/compositions/treadmill", on="2026-05-01"))["minutes"]["likely"] == "60"
    assert (await world.get("/v1/compositions/treadmill", known_at=first["revision"]))["records"] == 1
    assert (await world.get("/v1/compositions/treadmill"))["records"] == 2
    early = {"known_at": first["revision"] - 1}
    problem_of(await world.client.get("/v1/compositions/treadmill", params=early), "unknown-device-kind", 404)
    assert (await world.get("/v1/compositions", **early))["kinds"] == []


async def test_an_unknown_kind_is_refused_with_what_is_near(world: World) -> None:
    """A slip of the pen makes no new kind; new_kind does, but not of one that is there."""
    refused = problem_of(await record(world), "unknown-device-kind", 422)
    assert "new_kind" in refused.detail
    await recorded(world, new_kind=TREADMILL)
    slip = only(problem_of(await record(world, kind="tredmill"), "unknown-device-kind", 422))
    assert (slip.pointer, slip.suggestions) == ("#/kind", ["treadmill"])
    there = problem_of(await record(world, new_kind=TREADMILL), "invalid-request")
    assert where(there) == ["#/new_kind"]


@pytest.mark.parametrize(
    ("changed", "slug", "at"),
    [
        ({"parts": [{"grade": "tin", "weight": "90 kg"}]}, "invalid-request", ["#/parts"]),
        ({"parts": [{"grade": "tin", "share": "60 %"}] * 2}, "invalid-request", ["#/parts"]),
        ({"parts": [{"grade": "tin", "share": "40"}]}, "invalid-request", ["#/parts/0/share"]),
        ({"parts": [{"grade": "tin", "share": "0 %"}]}, "invalid-request", ["#/parts/0/share"]),
        ({"parts": [{"grade": "tin", "weight": "3 ton"}]}, "invalid-request", ["#/parts/0/weight"]),
        ({"parts": [{"grade": "tinn", "weight": "3 kg"}]}, "unknown-grade", ["#/parts/0/grade"]),
        ({"parts": [{"observed": {"metal": "steel"}, "weight": "3 kg"}]}, "invalid-request",
         ["#/parts/0/observed"]),
        ({"parts": [{"observed": {"metal": "copper", "sticks_to_magnet": True}, "weight": "3 kg"}]},
         "invalid-request", ["#/parts/0/observed"]),
        ({"parts": [{"observed": {"metal": "gold"}, "weight": "3 kg"}]}, "invalid-request",
         ["#/parts/0/observed/metal"]),
        ({"parts": [{"grade": "tin"}]}, "invalid-request", ["#/parts/0"]),
        ({"weight": None, "parts": [{"grade": "tin", "share": "4 %"}, {"grade": "tin", "weight": "1 kg"}]},
         "invalid-request", ["#/parts"]),
        ({"weight": "0 kg"}, "invalid-request", ["#/weight"]),
        ({"weight": None, "parts": [{"grade": "tin", "weight_each": "90 t", "count": 2}]}, "invalid-request",
         ["#/parts/0/weight_each"]),
        ({"weight": None, "parts": [{"grade": "tin", "weight": "60 t"}] * 2}, "invalid-request", ["#/parts"]),
        ({"minutes": "100001"}, "invalid-request", ["#/minutes"]),
        ({"on": "2026-05-05"}, "invalid-request", ["#/on"]),
        ({"region": "XO-KEK"}, "unknown-region", ["#/region"]),
        ({"from_memory": True}, "invalid-request", ["#"]),
        ({"weight": "0 kg", "on": "2026-05-05", "kind": "trademill"}, "invalid-request",
         ["#/on", "#/weight", "#/kind"]),
    ],
)  # fmt: skip
async def test_what_cannot_be_recorded(untouched: World, changed: Any, slug: str, at: list[str]) -> None:
    """Every fault is told, where it is, and nothing is stored."""
    body = {"new_kind": TREADMILL, **changed} if "kind" not in changed else changed
    assert where(problem_of(await record(untouched, **body), slug)) == at


async def test_only_members_record(untouched: World) -> None:
    """Anyone reads, members record."""
    problem_of(await untouched.send("/v1/compositions", device(new_kind=TREADMILL)), "unauthorized")


async def test_a_record_is_sent_again_safely(world: World) -> None:
    """Under its key the same record is stored once."""
    body, key = device(new_kind=TREADMILL), {"Idempotency-Key": "once"}
    first = await world.send("/v1/compositions", body, "wren", **key)
    again = await world.send("/v1/compositions", body, "wren", **key)
    assert (first.status_code, again.content) == (201, first.content)
    assert (await world.get("/v1/compositions/treadmill"))["records"] == 1


async def test_records_are_paged_at_one_revision(world: World) -> None:
    """A page that is asked for later goes on where the first one was, whatever came meanwhile."""
    await recorded(world, new_kind=TREADMILL, minutes="1")
    for minutes in ("2", "3"):
        await recorded(world, minutes=minutes)
    first = await world.get("/v1/compositions/treadmill/records", limit=2)
    await recorded(world, minutes="4")
    second = await world.get("/v1/compositions/treadmill/records", limit=2, cursor=first["next"])
    assert [one["minutes"] for page in (first, second) for one in page["records"]] == ["3", "2", "1"]
    assert second["next"] is None


async def test_publications_count_until_somebody_has_done_it(world: World) -> None:
    """A member's note of a publication stands in, in shares; the first device of anybody takes its place."""
    said = {"source": "A survey of treadmills, 2011", "from_memory": True, "weight": None, "minutes": None}
    shares = [{"grade": "tin", "share": "80 %", "says": "steel"}]
    await recorded(world, new_kind=TREADMILL, parts=shares, **said)
    found = await world.get("/v1/compositions/treadmill", weight="50 kg")
    assert found["published"]
    assert found["parts"][0]["weight_kg"]["likely"] == "40"
    assert "memory" in found["says"][1]
    await recorded(world, "heron")
    assert not (await world.get("/v1/compositions/treadmill"))["published"]


async def test_another_worker_knows_what_was_recorded(world: World) -> None:
    """What one worker has stored, another one tells; so does one that begins anew."""
    async with world.another() as other:
        assert (await other.get("/v1/compositions"))["kinds"] == []
        await recorded(world, new_kind=TREADMILL)
        made = await recorded(world, "heron", minutes="90")
        assert (await other.get("/v1/compositions/treadmill"))["records"] == 2
        await withdraw(world, made, "heron")
        assert (await other.get("/v1/compositions/treadmill"))["records"] == 1
    async with world.another() as later:
        assert (await later.get("/v1/compositions/treadmill"))["records"] == 1


async def test_the_ledger_tells_and_proves_it(world: World) -> None:
    """The kind, the record, its parts and the withdrawal are entries, in this order."""
    made = await recorded(world, new_kind=TREADMILL)
    await withdraw(world, made, "wren")
    entries = (await world.get("/v1/ledger/entries", after=made["revision"] - 1))["entries"]
    assert [entry["kind"] for entry in entries] == [
        "device_kind", "composition", "component", "component", "composition_withdrawal",
    ]  # fmt: skip
    assert entries[1]["composition"] == entries[2]["composition"] == made["id"]
    assert [entries[2]["part"], entries[3]["grade"]] == [1, "copper-no2"]


async def corrected(world: World, who: str = "sedge", role: Role = Role.MAINTAINER, **said: Any) -> Any:
    """Tells treadmills otherwise."""
    body = {"name": "Treadmill", "reason": "nobody buys one as that", **said}
    return await world.send("/v1/compositions/treadmill/correction", body, who, role)


async def test_a_maintainer_tells_a_kind_otherwise(world: World) -> None:
    """What the first record said of a kind is no last word: from the correction on its name and grade are
    other ones, and whoever asks as of before is told what was known then.
    """
    made = await recorded(world, new_kind={"name": "Tredmill", "grade": "copper-no1"})
    asked = {"region": "XO-KEL", "hour_rate": "0", "kind": "treadmill", "weight": "70 kg", "keep": True}
    before = await world.send("/v1/teardowns", asked)
    stored = await corrected(world, grade="Light iron")
    assert (stored.status_code, stored.json()["grade"]) == (201, "light-iron")
    told = await world.get("/v1/compositions/treadmill")
    assert (told["name"], told["grade"]) == ("Treadmill", "light-iron")
    was = await world.get("/v1/compositions/treadmill", known_at=made["revision"])
    assert (was["name"], was["grade"]) == ("Tredmill", "copper-no1")
    listed = (await world.get("/v1/compositions", known_at=made["revision"]))["kinds"]
    assert [kind["grade"] for kind in listed] == ["copper-no1"]
    after = (await world.send("/v1/teardowns", asked)).json()
    assert (before.json()["plan"]["grade"], after["plan"]["grade"]) == ("copper-no1", "light-iron")
    again = await world.client.post(f"/v1/teardowns/{before.headers['teardown-id']}/replay")
    assert (again.status_code, again.content) == (200, before.content)
    async with world.another() as later:
        assert (await later.get("/v1/compositions/treadmill"))["grade"] == "light-iron"
    (entry,) = (await world.get("/v1/ledger/entries", after=stored.json()["revision"] - 1))["entries"]
    assert (entry["kind"], entry["device_kind"], entry["grade"]) == (
        "device_kind_correction", "treadmill", "light-iron",
    )  # fmt: skip
    problem_of(await corrected(world, grade="tin"), "conflict")  # it is told so already
    assert where(problem_of(await corrected(world, grade="tinn"), "unknown-grade")) == ["#/grade"]
    assert (await corrected(world)).json()["grade"] is None


async def test_who_corrects_what(untouched: World) -> None:
    """Maintainers do, and a kind that is there."""
    problem_of(await corrected(untouched), "not-found")
    problem_of(await corrected(untouched, "wren", Role.MEMBER), "forbidden")


LIKE_OTHERS = (("wren", "70 kg"), ("sedge", "64 kg"), ("teal", "76 kg"), ("gull-1", "82 kg"))


async def test_a_record_far_off_all_others_waits(world: World) -> None:
    """A slip of the whole's weight is taken, and told at once; the headline is as it was, and says that one
    does not count; a second member who found the like makes both count.
    """
    for number, (who, weight) in enumerate(LIKE_OTHERS):
        made = await recorded(world, who, weight=weight, **({} if number else {"new_kind": TREADMILL}))
        assert made["unusual"] == []
    before = await typical(world)
    slip = await recorded(world, "heron", weight="4000 kg")
    assert slip["unusual"][0] == (
        "It weighs 4000 kg, and the median of 4 others who recorded Treadmill is 73 kg."
    )
    assert "does not count until somebody else" in slip["unusual"][-1]
    after = await typical(world)
    assert (after["weight_kg"], after["parts"], after["records"]) == (
        before["weight_kg"], before["parts"], 4,
    )  # fmt: skip
    assert after["says"][-1].startswith("1 record beside these is far off")
    like = await recorded(world, "plover", weight="3900 kg")
    assert like["unusual"][-1] == "It counts, as somebody else has recorded the like."
    assert (await typical(world))["records"] == 6


async def test_parts_that_are_hardly_any_of_it_are_told(world: World) -> None:
    """Parts below a third of the whole are told to whoever records them, and count all the same."""
    made = await recorded(world, weight="400 kg", new_kind=TREADMILL)
    (says,) = made["unusual"]
    assert says.startswith("Its parts come to 10.85 % of its weight")
    assert (await typical(world))["records"] == 1


async def test_made_after_it_was_taken_apart(untouched: World) -> None:
    """A year of making after the day on which it was taken apart is a fault of that year."""
    response = await record(untouched, new_kind=TREADMILL, made_year=2027)
    assert response.status_code == 422
    (fault,) = response.json()["errors"]
    assert (fault["pointer"], "2026-05-02" in fault["detail"]) == ("#/made_year", True)


async def typical(world: World) -> Any:
    """What treadmills usually are."""
    return (await world.client.get("/v1/compositions/treadmill")).json()
