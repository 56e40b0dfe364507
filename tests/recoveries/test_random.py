"""Whatever is asked, by chance and by halves: an answer as documented, or a problem; and kept ones repeat."""

from __future__ import annotations

import random
from collections import Counter
from typing import Any

import pytest

from gradewright.recoveries.answer_schemas import RecoveryOut
from tests.api import World
from tests.recoveries.asking import PATH

# Of each kind of measure: what can be, from the smallest to the largest, and what cannot.
WEIGHTS = ["38.0 lb", "10 kg", "512 g", "2 lb 3 oz", "1/2 lb", "5 dwt 3 gr", "99999999999999999999 t", "1 gr"]
NO_WEIGHTS = ["", "0 g", "1 ton", "-3 g", "1e3 kg", "1,5 kg", "\u00bd lb", "0.000000001 g"]
LENGTHS = ["1000 ft", "1 m", "1/4 in", "2 ft 3 in", "99999999999999999999 m"]
NO_LENGTHS = ["0 m", "16 gauge", "1 mile", "0.000000001 mm"]
SIZES = ["16 AWG", "1.5 mm2", "0.14 mm2", "1.29 mm", "56 AWG", "4/0 AWG", "0.5 mm^2", "50 mm2"]
NO_SIZES = ["0 mm2", "B&S 99", "2", "mm2", "99999999999999999999 m2"]
STRANDS = ["0.30 mm", "30 AWG", "4/0 AWG", "0.001 mm"]
VOLUMES = ["28 ml", "0.001 l", "1 in3", "3 cl"]
NO_VOLUMES = ["0 ml", "1 gal", "28"]
CONTENTS = ["250 g/t", "0 g/t", "100 %", "0.02 %", "7 ozt/short ton", "1000000 ppm"]
NO_CONTENTS = ["1 lb/oz", "1 g/ton", "5 / 3", "101 %"]
NUMBERS = ["0", "12.50", "0.000000001", "999999999999999", "6"]
SEEN: list[dict[str, Any]] = [
    {"cable_kind": "cord", "plug_attached": False, "surface": "bright"},
    {"cable_kind": "building", "insulation": "single", "surface": "tinned"},
    {"cable_kind": "data"},
    {"hair_thin": True, "strand_diameter": "2 mm"},
    {"form": "casting", "metal": "brass"},
    {"sticks_to_magnet": True},
    {},
]


class Dice:
    """Draws requests; one measure in twenty is one that cannot be."""

    def __init__(self, seed: int) -> None:
        self.draw = random.Random(seed)

    def of(self, good: list[str], bad: list[str]) -> str:
        return self.draw.choice(bad if self.draw.random() < 0.05 else good)

    def maybe(self, value: Any) -> Any:
        return value if self.draw.random() < 0.3 else None

    def weight(self) -> str:
        return self.of(WEIGHTS, NO_WEIGHTS)

    def body(self) -> dict[str, Any]:
        kind = self.draw.choice(["cable", "sample", "displacement", "assay"])
        part = {name: value for name, value in getattr(self, kind)().items() if value is not None}
        body: dict[str, Any] = {kind: part, "keep": self.draw.random() < 0.2}
        if self.draw.random() < 0.7:
            body.update(
                [self.draw.choice([("region", "XO-KEL"), ("yard", "tern-row"), ("region", "XO-FEN")])]
            )
        if self.draw.random() < 0.1:
            body["on"] = self.draw.choice(["2014-06-01", "1900-01-01"])
        return body

    def strip(self) -> dict[str, Any] | None:
        minutes = self.draw.choice(["minutes_per_kg", "minutes_per_metre"])
        rate = self.draw.choice(NUMBERS)
        costs = self.draw.choice([{}, {"disposal": self.draw.choice(NUMBERS), "disposal_per": "lb"}])
        once = self.draw.choice([{}, {"disposal_once": self.draw.choice(NUMBERS)}])
        strip = {"lot": self.weight(), minutes: self.draw.choice(NUMBERS), "hour_rate": rate}
        return self.maybe({**strip, **costs, **once})

    def cable(self) -> dict[str, Any]:
        conductors: list[dict[str, Any]] = []
        for _ in range(self.draw.randint(1, 3)):
            count, strands = self.draw.choice([1, 2, 3]), self.draw.choice([1, 7, 26])
            one = {"count": count, "strands": strands}
            if self.draw.random() < 0.7:
                conductors.append({**one, "size": self.of(SIZES, NO_SIZES)})
            else:
                conductors.append({**one, "strand": self.draw.choice(STRANDS)})
        return {
            "conductors": conductors,
            "weight": self.weight(),
            "length": self.of(LENGTHS, NO_LENGTHS),
            "scale": self.maybe(self.weight()),
            "length_within": self.maybe(self.of(LENGTHS, NO_LENGTHS)),
            "observed": self.draw.choice(SEEN),
            "strip": self.strip(),
        }

    def sample(self) -> dict[str, Any]:
        scale, seen = self.maybe(self.weight()), self.draw.choice(SEEN)
        copper = self.weight()
        return {
            "weight": self.weight(),
            "copper": copper,
            "scale": scale,
            "observed": seen,
            "strip": self.strip(),
        }

    def displacement(self) -> dict[str, Any]:
        part: dict[str, Any] = {"dry": self.weight(), "observed": self.draw.choice(SEEN)}
        part["scale"] = self.maybe(self.weight())
        part["water"] = self.maybe(self.draw.choice(["0", "20", "40", "4.000000001", "41"]))
        if self.draw.random() < 0.5:
            return {**part, "in_water": self.weight()}
        return {
            **part,
            "displaced": self.of(VOLUMES, NO_VOLUMES),
            "vessel": self.maybe(self.of(VOLUMES, NO_VOLUMES)),
        }

    def assay(self) -> dict[str, Any]:
        metals = []
        for metal in self.draw.sample(["gold", "silver", "palladium", "platinum"], self.draw.randint(1, 3)):
            ends = (
                sorted(self.of(CONTENTS, NO_CONTENTS) for _ in range(2))
                if self.draw.random() < 0.7
                else (None, None)
            )
            one = {
                "metal": metal,
                "low": ends[0],
                "high": ends[1],
                "price": self.draw.choice(NUMBERS),
                "per": self.of(["ozt", "g", "kg"], ["ton"]),
                "payable": self.maybe(self.of(["95 %", "0 %", "100 %"], ["95"])),
                "deduction": self.maybe(self.of(CONTENTS, NO_CONTENTS)),
                "refining": self.maybe(self.draw.choice(NUMBERS)),
            }
            metals.append({name: value for name, value in one.items() if value is not None})
        return {
            "lot": self.weight(),
            "metals": metals,
            "scale": self.maybe(self.weight()),
            "like": self.draw.choice(["phones", "computer-boards", "lighting-capacitors"]),
            "currency": self.of(["USD", "JPY", "CLF"], ["XAU", "ZZZ"]),
            "treatment": self.maybe(self.draw.choice(NUMBERS)),
            "treatment_per": self.of(["kg", "lb"], ["cwt"]),
            "charge": self.maybe(self.draw.choice(NUMBERS)),
            "smallest_lot": self.maybe(self.weight()),
        }


async def ask(world: World, requests: int, seed: int) -> Counter[tuple[str, int]]:
    """Asks so often, and holds every answer against its description; kept ones are replayed."""
    dice, found = Dice(seed), Counter[tuple[str, int]]()
    for _ in range(requests):
        body = dice.body()
        response = await world.send(PATH, body)
        found[next(iter(body)), response.status_code] += 1
        assert response.status_code in {200, 201, 422}, (body, response.text)
        if response.status_code == 422:
            assert response.json()["errors"], body
            continue
        told = RecoveryOut.model_validate_json(response.content)
        assert told.cautions or told.kind == "displacement"
        if response.status_code == 201:
            again = await world.client.post(f"{PATH}/{response.headers['recovery-id']}/replay")
            assert again.content == response.content, body
    return found


async def test_what_chance_asks_is_answered(shop: World) -> None:
    """Of a hundred requests each is answered as documented or refused with its faults, of each kind some."""
    found = await ask(shop, 100, seed=3)
    assert {kind for kind, status in found if status in {200, 201}} == {
        "cable", "sample", "displacement", "assay",
    }  # fmt: skip


@pytest.mark.campaign
async def test_what_chance_asks_for_long_is_answered(shop: World) -> None:
    """The same for ten thousand."""
    print(await ask(shop, 10_000, seed=4))
