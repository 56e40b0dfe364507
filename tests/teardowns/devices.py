"""A device of the small rulebook, and larger ones made by chance."""

from __future__ import annotations

from random import Random
from typing import Any

Body = dict[str, Any]

MOTOR: Body = {
    "name": "drive motor",
    "weight": "9 lb",
    "grade": "copper-residue",
    "minutes": "6",
    "opens": {"how": "all-at-once", "minutes": "9", "leftover": {"name": "shell", "grade": "light-iron"}},
    "parts": [
        {"name": "windings", "weight": {"low": "1 lb", "likely": "2 lb", "high": "3 lb"}, "grade": "Birch"}
    ],
}
TREADMILL: Body = {
    "name": "treadmill",
    "weight": "150 lb",
    "grade": "light-iron",
    "cautions": ["sharp", "The belt is under tension: hold it before the bolts come out."],
    "opens": {
        "how": "piece-by-piece",
        "minutes": "5",
        "cautions": ["dust"],
        "leftover": {"name": "frame and panels", "grade": "light-iron"},
    },
    "parts": [
        MOTOR,
        {
            "name": "rail",
            "count": 2,
            "weight": "30 lb",
            "observed": {"metal": "steel", "thickness": "8 mm"},
            "minutes": "1.5",
        },
        {"name": "cord", "weight": "1 lb", "observed": {"metal": "copper"}, "minutes": "0.5"},
        {"name": "console", "weight": "2 lb", "minutes": "1"},
    ],
}


def asked(device: Body, **more: Any) -> Body:
    """A request in Kelder Bay at 15 an hour, unless said otherwise."""
    place = {} if "yard" in more else {"region": "XO-KEL"}
    return {**place, "hour_rate": "15.00", "device": device, **more}


def grown(count: int, seed: int = 1) -> Body:
    """A device of so many parts, by chance: of grades of the small rulebook, opened either way."""
    random = Random(seed)
    grades = ("copper-no1", "copper-no2", "copper-residue", "steel-heavy", "light-iron", "screws")
    nodes: list[Body] = []
    grams: list[int] = []
    for number in range(count):
        nodes.append({"name": f"part {number}", "grade": random.choice(grades)})
        grams.append(random.randint(20, 900))
    for number in range(count - 1, 0, -1):
        around = random.randrange(max(1, number // 3))
        grams[around] += grams[number]
        node = nodes[around]
        if "opens" not in node:
            how = random.choice(("all-at-once", "piece-by-piece"))
            minutes = f"{random.randint(0, 40) / 4:g}"
            node["opens"] = {"how": how, "minutes": minutes, "leftover": {"grade": random.choice(grades)}}
            node["parts"] = []
        node["parts"].append(nodes[number])
        if node["opens"]["how"] == "piece-by-piece":
            nodes[number]["minutes"] = f"{random.randint(1, 20) / 4:g}"
    for node, weight in zip(nodes, grams, strict=True):
        node["weight"] = f"{weight} g"
    return nodes[0]


BOX: Body = {"name": "box", "weight": "1 lb", "grade": "tin"}
"""The least that can be asked for."""
