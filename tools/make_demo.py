#!/usr/bin/env python3
"""Write the demo sheets from the story in tools/demo_story.toml.

    .venv/bin/python tools/make_demo.py [FOLDER]

The story holds what was remarkable; the unremarkable figures are drawn with a fixed seed, each from
a stream of its own (ram and day), so that a change to one ram changes no other. Circumference is
drawn as: size grown and in season x age x season + measuring error, rounded to half a centimetre.

Where the shape of those curves comes from:
- age: about 0.83 of grown size at 6 months (Ley et al. 1990: 29.8 cm at 180 days; breed mean about
  36), 0.9 at 9 months, 0.965 as a shearling; the points between are drawn by eye;
- season: 5 % up and down, largest about 1 October (a judgement: 2 to 3 cm smaller out of season);
- measuring error: SD 0.4 cm for one person (from memory).
"""

from __future__ import annotations

import csv
import io
import itertools
import math
import random
import sys
import tomllib
from datetime import date
from pathlib import Path
from typing import Any

from openpyxl import Workbook

from stell.core.protocol.load import load_shipped
from stell.core.records import written_date

TOOLS = Path(__file__).parent
TARGET = TOOLS.parent / "src" / "stell" / "services" / "demo_data"
AGE_CURVE = ((150, 0.80), (180, 0.83), (270, 0.90), (365, 0.93), (480, 0.965), (730, 1.0))
PEAK_DAY = 274  # 1 October
PREFIXES = {"HS": "High Sallow", "CR": "Cold Ridding", "WH": "Wether Holm"}


def story() -> dict[str, Any]:
    """Return the story as it is written."""
    return tomllib.loads((TOOLS / "demo_story.toml").read_text(encoding="utf-8"))


class Rams:
    """The rams of the story, with their figures on any day."""

    def __init__(self, told: dict[str, Any]) -> None:
        self.told = told
        self.breeds = told["breed"]
        self.all = told["ram"]

    def draw(self, *key: object) -> random.Random:
        """Return a stream of chance of its own for this ram and purpose."""
        return random.Random(f"{self.told['seed']} {' '.join(map(str, key))}")

    def size_cm(self, ram: dict[str, Any]) -> float:
        """Return his circumference, grown and in season."""
        if "size" in ram:
            return ram["size"]
        breed = self.breeds[ram["breed"]]
        drawn = self.draw(ram["tag"], "size").gauss(breed["mean"], breed["sd"])
        return max(breed["mean"] - 0.8 * breed["sd"], min(drawn, breed["mean"] + 2 * breed["sd"]))

    def circumference_cm(self, ram: dict[str, Any], on: date) -> float:
        """Return what the tape shows that day."""
        born = ram.get("born") or date(2023, 4, 1)
        swing = 1 + 0.05 * math.cos(2 * math.pi * (on.timetuple().tm_yday - PEAK_DAY) / 365)
        error = self.draw(ram["tag"], on, "tape").gauss(0, 0.4)
        true = self.size_cm(ram) * age_factor((on - born).days) * swing / 1.045
        return round(2 * (true + error)) / 2

    def condition(self, ram: dict[str, Any], on: date) -> float:
        """Return his score that day."""
        own = self.draw(ram["tag"], "condition").gauss(3.55, 0.25)
        drawn = own + self.draw(ram["tag"], on, "condition").gauss(0, 0.15)
        return max(3.0, min(4.0, round(2 * drawn) / 2))

    def electronic(self, ram: dict[str, Any]) -> str:
        """Return an electronic number out of the range for tests."""
        return f"999{7000 + self.all.index(ram):012d}"


def age_factor(days: int) -> float:
    """Return the share of grown size at an age. [days]"""
    points = AGE_CURVE
    if days <= points[0][0]:
        return points[0][1]
    for (d0, f0), (d1, f1) in itertools.pairwise(points):
        if days <= d1:
            return f0 + (f1 - f0) * (days - d0) / (d1 - d0)
    return 1.0 if days < 2400 else 0.985


def is_there(ram: dict[str, Any], on: date) -> bool:
    """Tell whether he stands in the flock that day."""
    return ram.get("from", date.min) <= on <= ram.get("left", date.max)


def examined(rams: Rams, visit: dict[str, Any]) -> list[tuple[dict[str, Any], date, dict]]:
    """Return who was examined at a visit: the ram, the day, and what the story says of it."""
    listed: list[tuple[dict[str, Any], date, dict]] = []
    days = [visit["on"], *visit.get("also_on", [])]
    for day in days:
        for ram in rams.all:
            told = ram.get("at", {}).get(day.isoformat())
            belongs = ram["tag"].startswith(visit["prefix"]) and is_there(ram, day)
            everyone = day == visit["on"] and not visit.get("listed")
            if belongs and (told is not None or everyone):
                listed.append((ram, day, told or {}))
    return listed


class Sheet:
    """One sheet in the making: headings, and a row per examination."""

    def __init__(self, rams: Rams, visit: dict[str, Any]) -> None:
        self.rams = rams
        self.visit = visit
        self.protocol = load_shipped("house")
        self.exams = examined(rams, visit)
        self.checks = self._finding_checks()
        self.columns = self._columns()

    def _finding_checks(self) -> list[str]:
        met = {c for _, _, told in self.exams for c in told.get("found", {})}
        opened = {c for _, _, told in self.exams for c in told.get("open", [])}
        return [c for c in self.protocol.checks if c in met | opened]

    def _columns(self) -> list[tuple[str, str, str]]:
        """Return heading, meaning and style of every column."""
        made = []
        for text in self.visit["columns"]:
            if text == "*":
                made += [(self.protocol.checks[c].title, c, "finding") for c in self.checks]
            else:
                heading, _, meaning = text.partition("=")
                meaning, _, style = meaning.partition(":")
                made.append((heading, meaning, style))
        return made

    def headings(self) -> list[str]:
        """Return the first row."""
        return [heading for heading, _, _ in self.columns]

    def rows(self) -> list[list[Any]]:
        """Return the other rows, values as the vet's program would hold them."""
        return [
            [self._cell(meaning, style, *exam) for _, meaning, style in self.columns]
            for exam in self.exams
        ]

    def _cell(self, meaning: str, style: str, ram: dict, on: date, told: dict) -> Any:
        if style == "finding":
            return self._finding(meaning, told)
        breed = self.rams.breeds[ram["breed"]]
        simple = {
            "tag": ram["tag"],
            "name": ram.get("name", ""),
            "breed": breed["written"],
            "ram_type": breed["type"],
            "eid": self.rams.electronic(ram),
            "examiner": self.visit["examiner"],
            "note": told.get("note", ""),
            "override": told.get("vet", ""),
            "override_reason": told.get("why", ""),
            "weight": told.get("weight", ""),
            "circumstances": "bought in",
            "flock": PREFIXES[ram["tag"][:2]],
            "age_class": ram.get("age", {}).get(str(on.year), ""),
            "intended_use": intended_use(ram["breed"], breed["type"]),
            "rest_normal": "yes",
        }
        if meaning in simple:
            return simple[meaning]
        if meaning == "examined_on":
            return dated(on, style)
        if meaning == "born":
            return dated(ram["born"], style) if "born" in ram else ""
        return self._measured(meaning, ram, on, told, style)

    def _finding(self, check: str, told: dict) -> str:
        if check in told.get("open", []):
            return "not examined"
        answer = told.get("found", {}).get(check)
        short = self.visit.get("short", False)
        if answer is None:
            return "ok" if short else ""
        return self._word(check, answer) if short else self._label(check, answer)

    def _label(self, check: str, answer: str) -> str:
        return self.protocol.checks[check].rules[answer].label

    def _word(self, check: str, answer: str) -> str:
        """Return the first short word for an answer that the protocol lists."""
        options = {o.id: o for o in self.protocol.checks[check].spec.option}
        return next(iter(options[answer].also_called), self._label(check, answer))

    def _measured(self, meaning: str, ram: dict, on: date, told: dict, style: str) -> Any:
        if meaning == "condition":
            value = told.get("cs", self.rams.condition(ram, on))
            return value if value == "" else self._number(float(value), 1)
        value = told.get("sc", self.rams.circumference_cm(ram, on))
        readings = value if isinstance(value, list) else [value]
        return self._readings(readings, style)

    def _readings(self, readings: list[Any], style: str) -> Any:
        if readings == [""]:
            return ""
        if style == "mm":
            shown = [self._number(v * 10, 0) for v in readings]
        elif self.visit.get("inches"):
            shown = [self._number(round(v / 2.54 * 4) / 4, 2) for v in readings]
        else:
            shown = [self._number(float(v), 1) for v in readings]
        return shown[0] if len(shown) == 1 else "; ".join(map(str, shown))

    def _number(self, value: float, decimals: int) -> Any:
        if self.visit["file"].endswith(".xlsx"):
            return int(value) if value == int(value) else value
        text = f"{value:.{decimals}f}"
        return text.replace(".", ",") if self.visit.get("comma") else text


def intended_use(breed: str, kind: str) -> str:
    """Return what a ram of that breed is kept for on these farms."""
    if kind == "terminal":
        return "terminal"
    return "both" if breed in ("gotland", "cheviot", "poll_dorset") else "replacements"


def dated(day: date, style: str) -> Any:
    """Return a day as this sheet writes it."""
    if style == "real":
        return day
    if style == "month":
        return written_date(day).split(" ", 1)[1]
    if style == "words":
        return written_date(day)
    return day.strftime({"dots": "%d.%m.%Y", "slash": "%d/%m/%Y"}.get(style, "%Y-%m-%d"))


def as_csv(sheet: Sheet) -> str:
    """Return a sheet as CSV text."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=sheet.visit.get("delimiter", ","), lineterminator="\r\n")
    writer.writerow(sheet.headings())
    writer.writerows(sheet.rows())
    return out.getvalue()


def as_workbook(sheet: Sheet) -> Workbook:
    """Return a sheet as a workbook, dates as dates and numbers as numbers."""
    book = Workbook()
    page = book.active
    page.title = "Rams"
    page.append(sheet.headings())
    for row in sheet.rows():
        page.append([None if cell == "" else cell for cell in row])
    for cells in page.iter_rows(min_row=2):
        for cell in cells:
            if isinstance(cell.value, date):
                cell.number_format = "DD MMM YYYY"
    page.freeze_panes = "A2"
    return book


def leaving(told: dict[str, Any]) -> list[tuple[str, str, date, str]]:
    """Return tag, flock, day and reason of every ram that leaves."""
    return [
        (ram["tag"], PREFIXES[ram["tag"][:2]], ram["left"], ram["why"])
        for ram in told["ram"]
        if "left" in ram
    ]


def main() -> None:
    """Write every sheet."""
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else TARGET
    told = story()
    rams = Rams(told)
    for visit in told["visit"]:
        sheet = Sheet(rams, visit)
        path = target / visit["file"]
        if path.suffix == ".xlsx":
            as_workbook(sheet).save(path)
        else:
            path.write_text(as_csv(sheet), encoding="utf-8", newline="")
        print(f"{visit['file']}: {len(sheet.exams)} examinations")


if __name__ == "__main__":
    main()
