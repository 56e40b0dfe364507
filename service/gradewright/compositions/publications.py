"""What publications say that devices are made of, as files: read strictly, and loaded once."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Annotated

from pydantic import Field, StrictBool, ValidationError, model_validator
from pydantic_core import PydanticCustomError

from gradewright.compositions.given import Given
from gradewright.compositions.schemas import MOST_PARTS, CompositionIn, Line, NewKindIn, PieceIn
from gradewright.compositions.service import CompositionService
from gradewright.core.errors import Fault, GradewrightError, Refused
from gradewright.db.session import Database
from gradewright.prices.schemas import Weight
from gradewright.rulebooks.source import from_file
from gradewright.web.fields import Day, In, Slug
from gradewright.web.wording import detail_of

SHIPPED = Path(__file__).parent / "published"


class SourceIn(In):
    """A publication: where it is to be found, whether its figures were looked up in it, and its day."""

    says: Line
    read: StrictBool
    on: Day


class PublishedIn(In):
    """One device that a publication tells of."""

    kind: Slug
    source: str
    note: Line | None = None
    weight: Weight | None = None
    parts: Annotated[list[PieceIn], Field(min_length=1, max_length=MOST_PARTS)]


class PublicationsIn(In):
    """A file of them: kinds and sources by their names, then the devices."""

    kinds: dict[Slug, NewKindIn]
    sources: dict[str, SourceIn]
    records: Annotated[list[PublishedIn], Field(min_length=1)]

    @model_validator(mode="after")
    def _named(self) -> PublicationsIn:
        for record in self.records:
            for what, name, known in (
                ("kind", record.kind, self.kinds.keys()),
                ("source", record.source, self.sources.keys()),
            ):
                if name not in known:
                    raise PydanticCustomError("one_of", f"{what} {name!r} stands nowhere above the records")
        return self


@dataclass(frozen=True, slots=True)
class Published:
    """A record of a file, under the name that its content gives it: the same record has the same name."""

    name: str
    given: Given


def shipped() -> list[Path]:
    """The files that come with the service."""
    return sorted(SHIPPED.glob("*.yaml"))


def read_publications(path: Path) -> list[Published]:
    """The records of a file. Raises `Refused` with every fault, `RulebookError` for what is no YAML."""
    try:
        read = PublicationsIn.model_validate_json(json.dumps(from_file(path).document))
    except ValidationError as error:
        wrong = error.errors(include_url=False, include_input=False)
        faults = tuple(Fault(detail_of(one), one["loc"]) for one in wrong)
        told = "; ".join(f"{'/'.join(map(str, fault.at))}: {fault.detail}" for fault in faults[:3])
        raise Refused(f"{path.name} has {len(faults)} fault(s): {told}", faults=faults) from None
    return [_published(record, read.kinds, read.sources) for record in read.records]


async def load(
    database: Database, compositions: CompositionService, published: Sequence[Published], now: datetime
) -> int:
    """Keeps what is not there yet, all at one revision; gives how many records that were.

    Raises `Refused` or `UnknownGrade`, naming the record that it is about.
    """
    known = await compositions.all()
    there = {kept.record.name for ones in known.by_kind.values() for kept in ones}
    new = [one for one in published if one.name not in there]
    checked = []
    for one in new:
        given = replace(one.given, new_kind=None) if one.given.kind in known.by_slug else one.given
        try:
            checked.append(await compositions.check(given, now))
        except GradewrightError as error:
            raise type(error)(
                f"{given.kind} ({given.source}): {error.detail}", faults=error.faults
            ) from error
    if checked:
        async with database.write() as session:
            await compositions.record(session, checked, now, names=[one.name for one in new])
    return len(checked)


def _published(
    record: PublishedIn, kinds: Mapping[str, NewKindIn], sources: Mapping[str, SourceIn]
) -> Published:
    source = sources[record.source]
    told = CompositionIn(
        kind=record.kind,
        new_kind=kinds[record.kind],
        on=source.on,
        weight=record.weight,
        source=source.says,
        from_memory=not source.read,
        note=record.note,
        parts=record.parts,
    )
    content = json.dumps(told.model_dump(mode="json", exclude={"new_kind"}), sort_keys=True)
    return Published(f"c-{hashlib.sha256(content.encode()).hexdigest()[:20]}", told.given())
