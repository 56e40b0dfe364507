"""Random histories of many hands: every read is what a small model in memory says, on both databases."""

from __future__ import annotations

import asyncio
import csv
import io
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, TypeVar

import pytest
from hypothesis import HealthCheck, seed, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule, run_state_machine_as_test
from tests.api import World, settle, small_rulebook
from tests.benchmarks.keeping import make, send
from tests.conftest import KINDS, Watch, talk_to
from tests.prices.model import MET, NO_LOT, Line, Model, Value, Word
from tests.prices.uploading import export

from gradewright.accounts.service import Role
from gradewright.asgi import create_app
from gradewright.core.basis import shown_rate
from gradewright.core.units import mass_unit, parse_mass
from gradewright.rulebooks.document import read
from gradewright.settings import Settings

T = TypeVar("T", bound=Callable[..., None])
KELDER = ("low-quay", "cinder-lane", "tern-row")
AUTHORS = ("wren", "dunlin", "siskin", "plover")
GRADES = ("copper-no1", "copper-no2")
HELD = {
    "enough_yards": 2,
    "outlier": "3.5",
    "spread_floor": "2 %",
    "factor": "3",
    "agrees_within": "12 %",
    "contradicted_within": 7,
}
STANDING = {"newcomer": "0.1", "settled_postings": 3, "settled_days": 4, "rejected": "0.5", "least": "0.05"}
# Mostly what is usual, now and then what is far off.
PRICES = st.sampled_from(("3.30", "3.35", "3.28", "3.41", "3.10", "3.75", "2.20", "7.30", "33.0"))
WORDS = ("withdrawal", "confirmation", "dispute", "decision")
REASON = "as it was told at the gate"
TERMS = {"currency": "USD", "unit": "lb"}
ELSEWHERE = (
    ("/v1/regions", {"code": "XQ", "name": "Another country", "parent": None, **TERMS}),
    ("/v1/yards", {"slug": "abroad", "name": "Abroad", "region": "XQ", **TERMS}),
)
"""A yard that has nothing to do with the district, but for those who post at both."""
ELSEWHEN = "something waits on another day"
MATTERS = ("three yards", "something waits", ELSEWHEN, "moved with a benchmark", "a rejection weighs")
"""What has to be so in some of what is read, or nothing of it would be compared."""
LOT = "120 lb"
"""What is brought where the price for larger lots is asked for."""
FEW = {"enough_yards": 3, "few": {"yards": 2, "factor": "2"}}
NEWEST = {**FEW, "without_any_one": True, "words_weighed": True, "borne_out_at_most": "10 %"}
NEWEST |= {"heavier_of_two": True, "within_others": True}


def rulebook(**held: Any) -> dict[str, Any]:
    """The small rulebook, with rules for what waits and for standing; Copper No. 2 follows a benchmark."""
    document = small_rulebook()
    newest = {"one_voice": True, "least_by_settled": True, "by_record": True}
    standing = {**STANDING, **newest} if "words_weighed" in held else STANDING
    more = {"held": {**HELD, **held}, "standing": standing, "benchmarks": {"stale_after": 15}}
    document["pricing"] |= {"stale_after": 20, **more}
    document["grades"]["copper-no2"]["follows"] = {"benchmark": "copper", "share": "80 %"}
    return document


@dataclass(frozen=True)
class Act:
    """What somebody may do next: with what it is drawn, and whether there must be a posting for it, or a kept
    valuation."""

    step: Callable[..., None]
    drawn: Mapping[str, st.SearchStrategy[Any]]
    needs: str | None


ACTS: dict[str, Act] = {}
TURNS: Counter[str] = Counter()
"""How often each had its turn."""


def act(needs: str | None = None, **drawn: st.SearchStrategy[Any]) -> Callable[[T], T]:
    """One of the things that are done in any order, each as likely as any other. As rules of their own most
    would have no turn in a short run: such are tried with some of them left out, and the simplest alone.
    """

    def kept(step: T) -> T:
        ACTS[step.__name__] = Act(step, drawn, needs)
        return step

    return kept


class Histories(RuleBasedStateMachine):
    """What members and maintainers do in any order, and what is read of it afterwards.

    Four members have told for some days what three yards pay: so there is something that can wait, weigh, or
    move, from the beginning.
    """

    def __init__(self, url: str, held: dict[str, Any]) -> None:
        super().__init__()
        self.document = rulebook(**held)
        self.runner = asyncio.Runner()
        self.clock = Watch()
        self.model = Model(read(self.document).pricing)
        self.postings: list[dict[str, Any]] = []
        self.withdrawn: set[tuple[int, int]] = set()
        self.kept: list[tuple[dict[str, Any], str, bytes]] = []
        self.app = create_app(Settings(database_url=url, ledger_poll_seconds=0), clock=self.clock)
        self.talk = talk_to(self.app)

    def run(self, work: Any) -> Any:
        return self.runner.run(work)

    @initialize()
    def begin(self) -> None:
        async def settled() -> World:
            world = World(self.app, await self.talk.__aenter__(), self.clock)
            await world.publish(self.document)
            await settle(world)
            assert (await make(world)).status_code == 201
            for path, body in ELSEWHERE:
                assert (await world.send(path, body, "sedge", Role.MAINTAINER)).status_code == 201
            return world

        self.world = self.run(settled())
        self.revision = self.run(self.world.revision())
        self.model.recorded_on[self.revision] = self.clock.now.date()
        for week, value in enumerate(("9000", "9450", "9600")):
            self.quote(value, 0)
            for number, author in enumerate(AUTHORS):
                yard, price = KELDER[(number + week) % len(KELDER)], f"{330 + 3 * number - week}"
                at = f"{price[0]}.{price[1:]}"
                self.post(author, yard, {(grade, None): at for grade in GRADES}, 0, "written-list")
            self.time_passes(2)

    @rule(data=st.data())
    def next(self, data: st.DataObject) -> None:
        """Somebody does something."""
        can = [name for name, what in ACTS.items() if what.needs is None or getattr(self, what.needs)]
        name = data.draw(st.sampled_from(can))
        drawn = {
            given: data if given == "data" else data.draw(how) for given, how in ACTS[name].drawn.items()
        }
        TURNS[name] += 1
        ACTS[name].step(self, **drawn)

    @act(
        author=st.sampled_from(AUTHORS),
        yard=st.sampled_from((*KELDER, "abroad")),
        prices=st.dictionaries(
            st.tuples(st.sampled_from(GRADES), st.sampled_from([None, "100 lb"])),
            PRICES,
            min_size=1,
            max_size=3,
        ),
        days_ago=st.integers(0, 12) | st.integers(19, 22),  # twenty days are as long as prices count
        evidence=st.sampled_from(("ticket", "sign", "told")),
    )
    def post(
        self, author: str, yard: str, prices: dict[tuple[str, str | None], str], days_ago: int, evidence: str
    ) -> None:
        """Prices seen today, some days before, or too long ago."""
        body = self._body(prices, yard, days_ago, evidence)
        stored = self.run(self.world.send("/v1/postings", body, author))
        assert stored.status_code == 201, stored.text
        self._stored(stored.json())

    @act(days=st.integers(1, 3) | st.integers(1, 9))
    def time_passes(self, days: int) -> None:
        self.clock.now += timedelta(days=days)

    @act(
        author=st.sampled_from(AUTHORS),
        yard=st.sampled_from(KELDER),
        prices=st.dictionaries(st.sampled_from(GRADES), PRICES, min_size=1, max_size=2),
        adds_up=st.booleans(),
    )
    def settle_a_ticket(self, author: str, yard: str, prices: dict[str, str], adds_up: bool) -> None:
        """Prices that a ticket of today shows: where it adds up, each with its author's own word for it."""
        lines = [
            {"label": "?", "grade": grade, "net": "10 lb", "price": price, "per": "lb", "amount": _ten(price)}
            for grade, price in prices.items()
        ]
        total = sum(Decimal(line["amount"]) for line in lines) + (not adds_up)
        day = self.clock.now.date().isoformat()
        number = f"T-{len(self.postings)}-{len(self.model.words)}"
        ticket = {"on": day, "number": number, "lines": lines, "total": str(total)}
        body = {
            "yard": yard,
            "ticket": ticket,
            "against": {"bins": [{"grade": grade, "weight": "10 lb"} for grade in prices]},
            "keep": True,
            "post_prices": True,
        }
        answer = self.run(self.world.send("/v1/settlements", body, author))
        assert answer.status_code == 201, answer.text
        posting = self.run(self._own(answer.headers["posting-id"], author))
        self._stored(posting)
        if adds_up:
            shown = [line["line"] for line in posting["prices"]]
            self._words(posting, posting["revision"], "confirmation", author, None, shown)

    async def _own(self, posting: str, author: str) -> dict[str, Any]:
        """A posting as its author sees it."""
        headers = await self.world.key(author)
        found = await self.world.client.get(f"/v1/postings/{posting}", headers=headers)
        body: dict[str, Any] = found.json()
        return body

    @act(value=st.sampled_from(("9000", "9450", "8300", "18000")), days_ago=st.integers(0, 20))
    def quote(self, value: str, days_ago: int) -> None:
        """The benchmark's value of today or of a day before, new or corrected; the same again is nothing."""
        day = self.clock.now.date() - timedelta(days=days_ago)
        sent = self.run(send(self.world, f"date,value\n{day},{value}\n", far_off=True))
        known = [v for v in self.model.values if v.day == day]
        same = bool(known) and known[-1].value == Decimal(value)
        assert sent.status_code == (200 if same else 201), sent.text
        if not same:
            revision = sent.json()["revision"]
            self.model.recorded_on[revision] = self.clock.now.date()
            self.model.values.append(Value(revision, day, Decimal(value)))

    @act(
        "postings",
        data=st.data(),
        kind=st.sampled_from(("withdrawal", "confirmation", "dispute", "decision")),
    )
    def say(self, data: st.DataObject, kind: str) -> None:
        """A later word about some lines, or all; refused exactly where the model says it must be."""
        posting = data.draw(st.sampled_from(self.postings))
        author = data.draw(st.sampled_from((*AUTHORS, "sedge")))
        lines = data.draw(st.sampled_from([None, [1], [len(posting["prices"])]]))
        verdict = data.draw(st.sampled_from(("accepted", "rejected"))) if kind == "decision" else None
        who, role = ("sedge", Role.MAINTAINER) if kind == "decision" else (author, Role.MEMBER)
        if who == "sedge":
            role = Role.MAINTAINER
        body = (
            {"reason": REASON}
            | ({"lines": lines} if lines else {})
            | ({"verdict": verdict} if verdict else {})
        )
        answer = self.run(self.world.send(f"/v1/postings/{posting['id']}/{kind}", body, who, role))
        meant = self._meant(posting, kind, who, lines, verdict)
        assert answer.status_code == (201 if isinstance(meant, list) else meant), answer.text
        if isinstance(meant, list):
            said = answer.json()
            assert said["lines"] == meant
            self._words(posting, said["revision"], kind, who, verdict, meant)

    @act("postings", data=st.data(), price=PRICES)
    def correct(self, data: st.DataObject, price: str) -> None:
        """A line taken back and another in its place, in one revision."""
        posting = data.draw(st.sampled_from(self.postings))
        first = posting["prices"][0]
        again = {"grade": first["grade"], "price": price, "currency": "USD", "per": "lb"}
        body = {"reason": REASON, "lines": [1], "prices": [again]}
        answer = self.run(
            self.world.send(f"/v1/postings/{posting['id']}/correction", body, posting["author"])
        )
        gone = (posting["revision"], 1) in self.withdrawn
        assert answer.status_code == (409 if gone else 201), answer.text
        if not gone:
            made = answer.json()
            assert made["withdrawal"]["revision"] == made["posting"]["revision"]
            self._stored(made["posting"])
            self._words(posting, made["posting"]["revision"], "withdrawal", posting["author"], None, [1])

    @act(data=st.data(), days_ago=st.integers(0, 3) | st.integers(-1, 25))
    def compare(self, data: st.DataObject, days_ago: int) -> None:
        """The list of the region, of a yard, and a series, on some day as known at some revision."""
        known = sorted(self.model.recorded_on)
        revision = data.draw(st.sampled_from(known[-4:]) | st.sampled_from(known))
        on = self.clock.now.date() - timedelta(days=days_ago)
        for place, yards in (("region", KELDER), ("yard", (data.draw(st.sampled_from(KELDER)),))):
            name = "XO-KEL" if place == "region" else yards[0]
            found = self.run(self.world.get("/v1/prices", **{place: name}, on=on, known_at=revision))
            self._same(found, place, yards, on, revision)
        # As it stands in memory: whatever revision it names, that is what it was then.
        newest = self.run(self.world.get("/v1/prices", region="XO-KEL", on=on))
        self._same(newest, "region", KELDER, on, newest["known_at"])
        lot = self.run(self.world.get("/v1/prices", region="XO-KEL", on=on, known_at=revision, weight=LOT))
        self._same(lot, "region", KELDER, on, revision, parse_mass(LOT).grams)
        grade, yard = data.draw(st.sampled_from(GRADES)), data.draw(st.sampled_from(KELDER))
        asked = {"from_": on - timedelta(days=6), "to": on, "known_at": revision}
        self._same_series(f"/v1/prices/XO-KEL/{grade}/series", KELDER, grade, step="day", **asked)
        self._same_series(f"/v1/yards/{yard}/prices/{grade}/series", (yard,), grade, step="week", **asked)
        asked["from_"] = on - timedelta(days=70)
        self._same_series(f"/v1/prices/XO-KEL/{grade}/series", KELDER, grade, step="month", **asked)

    @act(grade=st.sampled_from(GRADES), pounds=st.sampled_from(("10", "150")), days_ago=st.integers(0, 9))
    def value(self, grade: str, pounds: str, days_ago: int) -> None:
        """A part is valued by what the model says it is paid, and the answer kept."""
        on, revision = self.clock.now.date() - timedelta(days=days_ago), max(self.model.recorded_on)
        part = {"name": "wire", "weight": f"{pounds} lb", "grade": grade}
        body = {"region": "XO-KEL", "on": on.isoformat(), "known_at": revision, "parts": [part], "keep": True}
        answer = self.run(self.world.send("/v1/valuations", body))
        assert answer.status_code == 201, answer.text
        self.kept.append((body, answer.headers["location"], answer.content))
        [line] = answer.json()["parts"]
        quote = self.model.quoted(KELDER, KELDER, grade, on, revision, parse_mass(part["weight"]).grams)
        if quote is None:
            assert line["price"] is None or line["price"]["basis"]["kind"] != "region", line
        else:
            likely = Decimal(line["price"]["likely"])
            assert likely == Decimal(shown_rate(quote.likely, mass_unit(line["price"]["per"]))), line

    @act("kept", data=st.data())
    def value_again(self, data: st.DataObject) -> None:
        """Whatever was said since, the same pins give the same bytes, and so does what was kept."""
        body, place, given = data.draw(st.sampled_from(self.kept))
        again = self.run(self.world.send("/v1/valuations", {**body, "keep": False}))
        assert again.status_code == 200, again.text
        assert again.content == given
        assert self.run(self.world.client.get(place)).content == given

    @act("postings", data=st.data(), days_ago=st.integers(0, 20))
    def look_up(self, data: st.DataObject, days_ago: int) -> None:
        """A posting as its author and as another member sees it, and a yard's list as it is taken away."""
        # Rather one of which something waits: there are few.
        waiting = self.model.waiting(KELDER, self.clock.now.date(), max(self.model.recorded_on))
        held = [each for each in self.postings if any(each["revision"] == entry[0] for entry in waiting)]
        posting = data.draw(st.sampled_from(held or self.postings))
        seen_on = date.fromisoformat(posting["observed_on"])
        self._as_of(posting, seen_on + timedelta(days=data.draw(st.integers(-1, 21))))
        known = [revision for revision in self.model.recorded_on if revision >= posting["revision"]]
        revision, today = data.draw(st.sampled_from(sorted(known))), self.clock.now.date()
        region = KELDER if posting["yard"] in KELDER else (posting["yard"],)
        meant = self._meant_of([posting["id"]], region, today, revision)[posting["id"]]
        path, asked = f"/v1/postings/{posting['id']}", {"known_at": str(revision)}
        for who in (posting["author"], next(name for name in AUTHORS if name != posting["author"])):
            headers = self.run(self.world.key(who))
            found = self.run(self.world.client.get(path, params=asked, headers=headers)).json()
            spoken = {
                word.entry[1]
                for word in self.model.words
                if word.author == who
                and word.kind in ("confirmation", "dispute")
                and word.entry[0] == posting["revision"]
            }
            shown = {
                n: how for n, how in meant.items() if how != "held" or who == posting["author"] or n in spoken
            }
            assert {line["line"]: line["status"] for line in found["prices"]} == shown, (found, revision)
            assert found["withheld"] == len(meant) - len(shown)
        headers = self.run(self.world.key("sedge", Role.MAINTAINER))
        asked = {"region": "XO-KEL", "limit": "100"}
        page = self.run(self.world.client.get("/v1/postings", params=asked, headers=headers)).json()
        all_meant = self._meant_of(
            [each["id"] for each in self.postings if each["yard"] in KELDER],
            KELDER,
            today,
            max(self.model.recorded_on),
        )
        assert {
            each["id"]: {line["line"]: line["status"] for line in each["prices"]} for each in page["postings"]
        } == all_meant
        waits = self.run(
            self.world.client.get("/v1/held-prices", params={"region": "XO-KEL"}, headers=headers)
        )
        assert {
            (each["id"], line["line"]) for each in waits.json()["postings"] for line in each["prices"]
        } == {
            (posting, n) for posting, lines in all_meant.items() for n, how in lines.items() if how == "held"
        }
        yard, on = data.draw(st.sampled_from(KELDER)), today - timedelta(days=days_ago)
        revision = data.draw(st.sampled_from(sorted(self.model.recorded_on)))
        sent = self.run(export(self.world, yard=yard, on=on, known_at=revision))
        rows = csv.DictReader(io.StringIO(sent.text, newline=""))
        assert sorted((row["grade"], row["price"], row["from_weight"]) for row in rows) == sorted(
            (grade, price, weight or "")
            for grade, price, weight in self.model.listed(yard, KELDER, on, revision)
        ), (yard, on, revision)

    def _as_of(self, posting: dict[str, Any], on: date) -> None:
        """A posting as it stands in the lists of another day, and all that waits in those."""
        region = KELDER if posting["yard"] in KELDER else (posting["yard"],)
        newest = max(self.model.recorded_on)
        headers = self.run(self.world.key("sedge", Role.MAINTAINER))
        path, asked = f"/v1/postings/{posting['id']}", {"on": on.isoformat()}
        found = self.run(self.world.client.get(path, params=asked, headers=headers))
        if on < date.fromisoformat(posting["observed_on"]):
            assert found.status_code == 422, found.text
        else:
            meant = self._meant_of([posting["id"]], region, on, newest)[posting["id"]]
            assert {line["line"]: line["status"] for line in found.json()["prices"]} == meant, on
        asked |= {"region": "XO-KEL"}
        waits = self.run(self.world.client.get("/v1/held-prices", params=asked, headers=headers)).json()
        entries = {(each["revision"], line["line"]) for each in waits["postings"] for line in each["prices"]}
        waiting = self.model.waiting(KELDER, on, newest)
        assert entries == waiting, on
        MET[ELSEWHEN] += bool(waiting) and on != self.clock.now.date()

    def _meant_of(
        self, postings: list[str], region: tuple[str, ...], on: date, revision: int
    ) -> dict[str, dict[int, str]]:
        """How each line of some postings stands."""
        waiting = self.model.waiting(region, on, revision)
        meant: dict[str, dict[int, str]] = {posting: {} for posting in postings}
        for line in self.model.lines:
            if line.posting in meant:
                meant[line.posting][line.line] = self.model.stands(line, waiting, on, revision)
        return meant

    def _same_series(self, path: str, yards: tuple[str, ...], grade: str, **asked: Any) -> None:
        """Every figure of every point of a series, and what it rests on."""
        series = self.run(self.world.get(path, **asked))
        unit = mass_unit(series["per"])
        for point in series["points"]:
            day = date.fromisoformat(point["on"])
            quote = self.model.quoted(yards, KELDER, grade, day, asked["known_at"])
            found = [point[name] for name in ("low", "likely", "high", "newest", "oldest")]
            if quote is None:
                assert (found, point["yards"], point["entries"]) == ([None] * 5, 0, 0), (point, asked)
                continue
            prices = [Decimal(shown_rate(rate, unit)) for rate in (quote.low, quote.likely, quote.high)]
            assert [*map(Decimal, found[:3])] == prices, (point, asked)
            assert found[3:] == [quote.newest.isoformat(), quote.oldest.isoformat()]
            ages = [point["newest_age_days"], point["oldest_age_days"]]
            assert ages == [(day - quote.newest).days, (day - quote.oldest).days]
            assert (point["yards"], point["entries"]) == (quote.yards, quote.entries)

    def _same(
        self,
        found: dict[str, Any],
        place: str,
        yards: tuple[str, ...],
        on: date,
        revision: int,
        lot: Decimal = NO_LOT,
    ) -> None:
        shown = {line["grade"]: line for line in found["prices"]}
        unit = mass_unit("kg" if yards == ("cinder-lane",) else "lb")
        for grade in GRADES:
            quote = self.model.quoted(yards, KELDER, grade, on, revision, lot)
            line = shown.get(grade)
            here = line if line is not None and line["basis"]["kind"] == place else None
            if not lot and line is not None and line["from_weight"] is not None:
                assert quote is None
                continue  # posted for larger lots only
            if quote is None:
                assert here is None, (here, on, revision)
                continue
            assert here is not None, (grade, on, revision)
            # As numbers: an aged price comes without spare zeros, which the model does not take off.
            prices = [Decimal(shown_rate(rate, unit)) for rate in (quote.low, quote.likely, quote.high)]
            assert [Decimal(here[name]) for name in ("low", "likely", "high")] == prices
            assert (here["basis"]["yards"], here["basis"]["entries"]) == (quote.yards, quote.entries)

    def _body(
        self, prices: dict[tuple[str, str | None], str], yard: str, days_ago: int, evidence: str
    ) -> dict[str, Any]:
        lines = [
            {"grade": grade, "price": price, "currency": "USD", "per": "lb"}
            | ({"from_weight": weight} if weight else {})
            for (grade, weight), price in prices.items()
        ]
        on = self.clock.now.date() - timedelta(days=days_ago)
        return {"yard": yard, "observed_on": on.isoformat(), "evidence": evidence, "prices": lines}

    def _stored(self, posting: dict[str, Any]) -> None:
        day = self.clock.now.date()
        self.postings.append(posting)
        self.model.recorded_on[posting["revision"]] = day
        self.model.lines += [
            Line(
                posting["revision"],
                line["line"],
                posting["id"],
                day,
                posting["yard"],
                posting["author"],
                date.fromisoformat(posting["observed_on"]),
                posting["evidence"],
                line["grade"],
                line["price"],
                line["per"],
                line["from_weight"],
            )
            for line in posting["prices"]
        ]

    def _words(
        self,
        posting: dict[str, Any],
        revision: int,
        kind: str,
        who: str,
        verdict: str | None,
        lines: list[int],
    ) -> None:
        self.model.recorded_on[revision] = self.clock.now.date()
        entries = [(posting["revision"], line) for line in lines]
        self.model.words += [Word(revision, entry, kind, who, verdict) for entry in entries]
        if kind == "withdrawal":
            self.withdrawn.update(entries)

    def _meant(
        self, posting: dict[str, Any], kind: str, who: str, lines: list[int] | None, verdict: str | None
    ) -> list[int] | int:
        """The lines that the word is about, or the status of the refusal."""
        theirs = posting["author"] == who
        if theirs is (kind != "withdrawal"):
            return 403
        free = [
            line["line"]
            for line in posting["prices"]
            if (posting["revision"], line["line"]) not in self.withdrawn
            and not self._repeats((posting["revision"], line["line"]), kind, who, verdict)
        ]
        meant = [line for line in lines or free if line in free]
        return meant if meant and (lines is None or meant == lines) else 409

    def _repeats(self, entry: tuple[int, int], kind: str, who: str, verdict: str | None) -> bool:
        about = [word for word in self.model.words if word.entry == entry]
        if kind == "decision":
            last = [word.verdict for word in about if word.kind == "decision"]
            return bool(last) and last[-1] == verdict
        voices = [
            word.kind for word in about if word.author == who and word.kind in ("confirmation", "dispute")
        ]
        return bool(voices) and voices[-1] == kind

    def teardown(self) -> None:
        self.run(self.talk.__aexit__(None, None, None))
        self.runner.close()


def _ten(price: str) -> str:
    """What ten pounds come to; prices have at most three decimals."""
    return f"{10 * Decimal(price):.2f}"


def _play(
    make_url: Callable[..., str], kind: str, examples: int, steps: int, begin: int | None, **held: Any
) -> None:
    """Plays histories: with a `begin` the same ones each time, and other ones than with another. Fails where
    something was never done: what it looks at is not looked at then.
    """

    def histories() -> Histories:
        return Histories(make_url(kind), held)

    TURNS.clear()
    MET.clear()
    run_state_machine_as_test(  # type: ignore[no-untyped-call]
        histories if begin is None else seed(begin)(histories),
        settings=settings(
            max_examples=examples,
            stateful_step_count=steps,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
    assert TURNS.keys() == ACTS.keys()
    met = MATTERS if "borne_out_at_most" not in held else (*MATTERS, "borne out")
    assert min(MET[what] for what in met) > 0, MET


@pytest.mark.parametrize("kind", KINDS)
def test_every_read_is_what_the_model_says(make_url: Callable[..., str], kind: str) -> None:
    """Lists of region and yard, also for a large lot, series, postings as they stand and lists taken away, on
    any day as known at any revision, and every refusal of a later word.
    """
    _play(make_url, kind, examples=6 if kind == "sqlite" else 4, steps=30, begin=4)


@pytest.mark.parametrize("kind", KINDS)
def test_so_it_is_where_few_yards_judge(make_url: Callable[..., str], kind: str) -> None:
    """The same by a version in which two yards are enough for others to be judged."""
    _play(make_url, kind, examples=5 if kind == "sqlite" else 4, steps=30, begin=3, **FEW)


@pytest.mark.parametrize("kind", KINDS)
def test_so_it_is_by_the_newest_rules(make_url: Callable[..., str], kind: str) -> None:
    """The same where nothing waits for one member alone, words weigh, and what is borne out has its share."""
    _play(make_url, kind, examples=5 if kind == "sqlite" else 4, steps=30, begin=15, **NEWEST)


@pytest.mark.campaign
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("held", [{}, FEW, NEWEST], ids=["enough yards", "few yards", "newest"])
def test_many_histories(make_url: Callable[..., str], kind: str, held: dict[str, Any]) -> None:
    """The same, at length."""
    _play(make_url, kind, examples=60, steps=50, begin=None, **held)
