"""Load an invented scenario through the same doors that real work takes.

The folder holds ``demo.toml`` and the sheets it names; ``demo_data/README.md`` says what each key
means. Every step is one of the use cases that a person has, in the order of the file.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any

from stell.core.deeds import Medicine
from stell.core.errors import RecordError, StellError, StoreError
from stell.core.intake import ReadingRules
from stell.core.protocol.load import DEFAULT, load, load_file
from stell.core.protocol.ready import ReadyProtocol
from stell.services import deciding, deeds, flocks, intake, rams
from stell.services.examinations import find_examination
from stell.store import models

_MEDICINE = ("product", "dose", "withdrawal", "withdrawal_until")
_HERE = Path(__file__).parent / "demo_data"
_WORKING_HOUR = time(17, 0)  # the hour of the day at which a step is put on record


@dataclass(frozen=True, slots=True)
class DemoSummary:
    """What the scenario put on record."""

    flocks: int
    rams: int
    examinations: int
    corrections: int
    overrides: int
    deeds: int
    today: date
    notices: tuple[str, ...] = ()


def demo_day(folder: Path | None = None) -> date:
    """Return the day on which the scenario is meant to be looked at."""
    return _story(folder or _HERE)["today"]


def load_demo(folder: Path | None, today: date) -> DemoSummary:
    """Load the scenario in `folder` (None: the one that comes with stell) into the open store.

    Steps that fall after `today` are left out.

    Raises
    ------
    RecordError
        `record.refused` when the store holds flocks already.
    StellError
        Whatever a step was refused for, with the number of the step in `where`.
    """
    if flocks.all_flocks():
        raise RecordError(
            "record.refused",
            "there are flocks on the books, and an invented scenario must not mix with them",
            got=f"{len(flocks.all_flocks())} flocks",
            legal="a data folder without records",
            example="stell demo --data demo-data",
        )
    folder = folder or _HERE
    return _Demo(folder, _story(folder), today).run()


def _story(folder: Path) -> dict[str, Any]:
    try:
        with (folder / "demo.toml").open("rb") as file:
            return tomllib.load(file)
    except (OSError, tomllib.TOMLDecodeError) as error:
        raise StoreError(
            "store.unreadable",
            "the scenario cannot be read",
            got=str(error),
            legal="a folder with a file demo.toml",
            where=str(folder),
        ) from error


class _Demo:
    def __init__(self, folder: Path, story: Mapping[str, Any], today: date) -> None:
        self.folder = folder
        self.story = story
        self.today = today
        self.done: Counter[str] = Counter()
        self.notices: list[str] = []
        self._protocols: dict[str, ReadyProtocol] = {}

    def run(self) -> DemoSummary:
        steps = self.story.get("step", ())
        opened_on = min((s["on"] for s in steps), default=self.today)
        self._flocks(opened_on)
        doers = {
            "import": self._import,
            "override": self._override,
            "correct": self._correct,
            "leave": self._leave,
            "done": self._done,
        }
        for number, step in enumerate(steps, 1):
            if step["on"] <= self.today:
                try:
                    doers[step["do"]](step)
                except StellError as error:
                    error.add_note(f"step {number} of demo.toml: {step['do']}")
                    raise
        return DemoSummary(
            flocks=models.Flock.objects.count(),
            rams=models.Ram.objects.count(),
            examinations=models.Examination.objects.count(),
            corrections=models.Examination.objects.filter(replaces__isnull=False).count(),
            overrides=models.VetOverride.objects.count(),
            deeds=models.Deed.objects.count(),
            today=self.today,
            notices=tuple(self.notices),
        )

    def _flocks(self, on: date) -> None:
        by, now = self.story["by"], _moment(on)
        for flock in self.story.get("flock", ()):
            added = flocks.add_flock(
                flock["name"],
                owner=flock.get("owner", ""),
                latitude_deg=flock["latitude_deg"],
                ram_type=flock.get("ram_type", ""),
                by=by,
                now=now,
            )
            for start in flock.get("mating_start_on", ()):
                flocks.set_mating_start(added, start, by=by, now=now)

    def _import(self, step: Mapping[str, Any]) -> None:
        rules = ReadingRules(
            today=step["on"],
            date_order=step.get("date_order", ""),
            examiner=step.get("examiner", ""),
        )
        result = intake.import_sheet(
            self.folder / step["sheet"],
            flock=step.get("flock"),
            protocol=self._protocol(step.get("protocol", DEFAULT)),
            rules=rules,
            corrections=step.get("corrections", ""),
            by=step.get("by", self.story["by"]),
            now=_moment(step["on"]),
        )
        if result.problems:
            raise result.problems[0]
        self.notices.extend(f"{step['sheet']}: {text}" for text in result.notices)

    def _protocol(self, name: str) -> ReadyProtocol:
        if name not in self._protocols:
            own = self.folder / name
            self._protocols[name] = load_file(own) if name.endswith(".toml") else load(name)
        return self._protocols[name]

    def _override(self, step: Mapping[str, Any]) -> None:
        by, now = step.get("by", self.story["by"]), _moment(step["on"])
        deciding.override(self._examination(step), step["outcome"], step["reason"], by=by, now=now)

    def _correct(self, step: Mapping[str, Any]) -> None:
        by, now = step.get("by", self.story["by"]), _moment(step["on"])
        deciding.correct(self._examination(step), step["changes"], step["reason"], by=by, now=now)

    def _done(self, step: Mapping[str, Any]) -> None:
        given = {k: step[k] for k in _MEDICINE if k in step}
        deeds.put_done(
            self._examination(step),
            step["kind"],
            done_on=step.get("done_on", step["on"]),
            done_by=step.get("done_by", ""),
            note=step.get("note", ""),
            rule=step.get("rule", ""),
            medicine=Medicine(**given) if given else None,
            by=step.get("by", self.story["by"]),
            now=_moment(step["on"]),
        )

    def _leave(self, step: Mapping[str, Any]) -> None:
        ram = rams.find_ram(step["ram"], step["flock"])
        by = step.get("by", self.story["by"])
        rams.leave(ram, step["on"], step.get("why", ""), by=by, now=_moment(step["on"]))

    def _examination(self, step: Mapping[str, Any]) -> str:
        """Return the id of the standing examination that a step speaks of."""
        _, entry = find_examination(step["ram"], step["flock"], step["examined_on"])
        return entry.examination.id


def _moment(on: date) -> datetime:
    return datetime.combine(on, _WORKING_HOUR, tzinfo=UTC)
