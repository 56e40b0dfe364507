"""The files that the demo makes, side by side."""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path

from gradewright.demo.errors import DemoError
from gradewright.demo.scenario import TREADMILL


@dataclass(frozen=True, slots=True)
class Files:
    """A database, the parts to value in it, and what the service writes to its log."""

    database: Path
    parts: Path
    log: Path

    @classmethod
    def new(cls, wanted: Path | None) -> Files:
        """Places for all three: beside `wanted`, or in a new folder. Raises `DemoError` for one taken."""
        if wanted is None:
            return cls._beside(Path(tempfile.mkdtemp(prefix="gradewright-demo-")) / "kelder-bay.sqlite")
        files = cls._beside(wanted.absolute())
        for file in (files.database, files.parts):
            if file.exists():
                raise DemoError(
                    f"{file} is there already, and the demo overwrites nothing. Name another file with "
                    "--database, or delete this one."
                )
        files.database.parent.mkdir(parents=True, exist_ok=True)
        return files

    @classmethod
    def _beside(cls, database: Path) -> Files:
        stem = database.with_suffix("").name
        parts, log = f"{stem}-treadmill.csv", f"{stem}-service.log"
        return cls(database, database.with_name(parts), database.with_name(log))

    def write_parts(self) -> None:
        """The treadmill, where its reader can change it."""
        shutil.copyfile(TREADMILL, self.parts)

    def discard(self) -> None:
        """Removes an unfinished database and the parts; the log stays, to be read."""
        beside = [self.database.with_name(self.database.name + ending) for ending in ("-wal", "-shm")]
        for file in (self.database, *beside, self.parts):
            file.unlink(missing_ok=True)
