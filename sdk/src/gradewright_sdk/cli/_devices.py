"""A list of devices of a kind each, CSV, and whether to open them: read by lines, asked one by one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any

from gradewright_sdk import _exceptions as ex
from gradewright_sdk.cli._costs import charge_or_grade
from gradewright_sdk.cli._devices_piles import OnePile, one_pile
from gradewright_sdk.cli._devices_told import licensed
from gradewright_sdk.cli._files import FileFault, FileFaults, as_text, column_name, csv_rows, pointer_steps
from gradewright_sdk.cli._refused import in_words
from gradewright_sdk.cli._values import BadValue, count_number, near, weight_text

if TYPE_CHECKING:
    from gradewright_sdk._client import Client
    from gradewright_sdk._models import Teardown

COLUMNS = ("kind", "weight", "count", "name", "grade", "minutes", "leftover")
NEEDED = ("kind", "weight")
TEMPLATE = """\
kind,weight,count,name,grade,minutes,leftover
treadmill,70 kg,,,,,light-iron
motor,40 lb,4,drive motors,,,0.05 per lb
"""


@dataclass(frozen=True, slots=True)
class Device:
    """A line of the file: where it stands, what it is called, and what of it is asked."""

    line: int
    name: str
    asked: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class DevicesFile:
    """The devices that could be read, in the order of the file, and what is wrong with the others; of those
    what could be read is `partly` there where that can be asked.
    """

    devices: Sequence[Device]
    faults: Sequence[FileFault]
    partly: Sequence[Device] = ()


def read_devices(data: bytes) -> DevicesFile:
    """The devices in a CSV file. Raises FileFaults if it is not text."""
    faults: list[FileFault] = []
    columns: list[str] | None = None
    devices, partly = [], []
    for line, row in csv_rows(as_text(data), faults):
        if columns is None:
            columns = [column_name(cell) for cell in row]
            wrong = list(_heading(columns, line))
            faults += wrong
            if wrong:
                break
            continue
        reader = _Row(line, {name: cell for name, cell in zip(columns, row, strict=False) if cell})
        device = reader.device()
        faults += reader.faults
        if not reader.faults:
            devices.append(device)
        elif device.asked.keys() >= {*NEEDED}:
            partly.append(device)
    if not faults and not devices:
        faults.append(FileFault(1, "", "there is no device in the file"))
    return DevicesFile(devices, faults, partly)


def ask(
    client: Client, file: DevicesFile, asked: Mapping[str, Any], *, keep: bool
) -> tuple[list[Teardown], OnePile | None]:
    """What is answered of each device, all by the rulebook and the revision of the first, and whether what
    comes out of all of them is paid better as one pile. Raises FileFaults with all that is wrong in the file
    and all that the service finds; then nothing is kept.
    """
    found = _ask(client, file, {**asked, "keep": False})
    pinned = {**asked, **_pinned(found[0])}
    piles = _piles(client, file, pinned, found)
    return (_ask(client, file, {**pinned, "keep": True}) if keep else found), piles


def _piles(
    client: Client, file: DevicesFile, asked: Mapping[str, Any], found: Sequence[Teardown]
) -> OnePile | None:
    """Whether it is, of what anybody may open, and how to ask for that."""
    free = [(device, one) for device, one in zip(file.devices, found, strict=True) if not licensed(one)]
    devices = DevicesFile([device for device, _ in free], ())

    def asking(lots: Mapping[str, str]) -> Sequence[Teardown]:
        return _ask(client, devices, {**asked, "lots": {**asked["lots"], **lots}, "keep": False})

    return one_pile([one for _, one in free], asked["lots"], asking)


def _ask(client: Client, file: DevicesFile, asked: Mapping[str, Any]) -> list[Teardown]:
    found: list[Teardown] = []
    faults, wrong = list(file.faults), {(fault.line, fault.column) for fault in file.faults}
    alike: dict[str, Teardown] = {}  # of many that are alike one is asked, but each is kept
    for device in sorted((*file.devices, *file.partly), key=lambda device: device.line):
        what = repr(sorted(device.asked.items()))
        if what in alike:
            found.append(alike[what])
            continue
        try:
            found.append(client.teardowns.of(**{**asked, **device.asked}))
        except ex.GradewrightError as error:
            told = _in_file(error, device)
            if not told and not faults:
                raise
            if not told:
                raise FileFaults(faults, unchecked=error) from error
            faults += (fault for fault in told if (fault.line, fault.column) not in wrong)
        else:
            asked = {**asked, **_pinned(found[-1])}
            if not asked["keep"]:
                alike[what] = found[-1]
    if faults:
        raise FileFaults(faults)
    return found


def _pinned(answer: Teardown) -> dict[str, Any]:
    pins = answer.pins
    return {"on": answer.on.isoformat(), "known_at": pins.revision, "rulebook": pins.rulebook}


def _in_file(error: ex.GradewrightError, device: Device) -> list[FileFault]:
    """The faults that an error of the service tells of a line; none if it is about anything else too."""
    found = []
    for fault in error.errors if isinstance(error, ex.APIError) else []:
        steps = pointer_steps(fault.pointer)
        if steps[1:2] == [] or steps[1] not in COLUMNS:
            return []
        found.append(FileFault(device.line, steps[1], in_words(fault.detail), fault.suggestions))
    return found


def _heading(columns: Sequence[str], line: int) -> Iterator[FileFault]:
    for number, name in enumerate(columns):
        if name not in COLUMNS:
            says = f"{name!r} is no column; they are {', '.join(COLUMNS)}"
            yield FileFault(line, "", says, near(name, COLUMNS))
        elif name in columns[:number]:
            yield FileFault(line, "", f"column {name} comes twice")
    missing = [name for name in NEEDED if name not in columns]
    if missing:
        says = f"missing columns: {', '.join(missing)}; the first line names the columns"
        yield FileFault(line, "", says)


@dataclass(slots=True)
class _Row:
    """Reads one line; what is wrong goes to `faults`."""

    line: int
    cells: Mapping[str, str]
    faults: list[FileFault] = field(default_factory=list)

    def device(self) -> Device:
        """What could be read of it."""
        for name in NEEDED:
            if name not in self.cells:
                self._wrong(name, "a device needs it")
        asked: dict[str, Any] = {name: self.cells[name] for name in ("kind", "grade") if name in self.cells}
        for name, read in (("weight", weight_text), ("count", count_number), ("minutes", _minutes)):
            if name in self.cells:
                try:
                    asked[name] = read(self.cells[name])
                except BadValue as error:
                    self._wrong(name, error.says)
        if "leftover" in self.cells:
            asked["leftover"] = charge_or_grade(self.cells["leftover"])
        return Device(self.line, self.cells.get("name", ""), asked)

    def _wrong(self, column: str, says: str) -> None:
        self.faults.append(FileFault(self.line, column, says))


def _minutes(text: str) -> str:
    with suppress(InvalidOperation):  # then it is no number, which is told below
        if Decimal(text) >= 0:
            return text
    raise BadValue(f"{text!r} is no number of minutes; write them in plain digits, such as 40 or 2.5")
