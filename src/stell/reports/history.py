"""A ram's history as a PDF: all his examinations, newest first, and what has changed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from stell.core.comparison import Comparison
from stell.core.protocol.ready import ReadyProtocol
from stell.core.records import Born, Ram, written_date
from stell.press.compile import to_pdf
from stell.press.wording import month_year, shortened
from stell.reports.cautions import OWNER
from stell.reports.charts import size_history
from stell.reports.drawing import svg
from stell.reports.figures import measured_columns, size_check, size_on_day
from stell.reports.judged import JudgedRam
from stell.reports.lines import Bibliography, ram_line
from stell.reports.owner import plain_values
from stell.reports.values import Compared, HistoryReport, Past

TEMPLATE = "reports/history.typ"
_FOOT = 48


def history_values(
    *,
    ram: Ram,
    flock: str = "",
    practice: str = "",
    protocol: ReadyProtocol,
    examinations: Sequence[JudgedRam],
    corrected: frozenset[str] = frozenset(),
    comparisons: Sequence[Comparison] = (),
    today: date,
) -> HistoryReport:
    """Return the values of a ram's history.

    Parameters
    ----------
    ram : Ram
    flock, practice : str
    protocol : ReadyProtocol
        The one in use, which says what is measured; each examination names its own judge in
        `JudgedRam.protocol`.
    examinations : sequence of JudgedRam
        All of them, in any order.
    corrected : frozenset of str
        Ids of examinations that a later record replaced.
    comparisons : sequence of Comparison
        From `core.change.compare`.
    today : date
    """
    cited = Bibliography()
    columns = measured_columns(protocol)
    ordered = sorted(examinations, key=lambda j: (j.exam.examined_on, j.exam.exam_id))
    sizes_of = size_check(protocol)
    standing = [j for j in ordered if j.exam.exam_id not in corrected]
    sizes = [
        s for j in standing if sizes_of and (s := size_on_day(j, sizes_of, j.protocol or protocol))
    ]
    entries = (
        Past(
            line=ram_line(j, protocol, columns, cited, today),
            protocol=(j.protocol or protocol).named,
            corrected=j.exam.exam_id in corrected,
        )
        for j in reversed(ordered)
    )
    return HistoryReport(
        label=ram.label,
        tag=ram.tag,
        name=ram.name,
        eid=ram.eid,
        kind=", ".join(part.replace("_", " ") for part in (ram.breed, ram.ram_type) if part),
        born=_born_text(ram.born),
        flock=flock,
        practice=practice,
        today=today,
        made=written_date(today),
        entries=tuple(entries),
        compared=tuple(_compared(c) for c in comparisons),
        sizes=tuple(sizes),
        size_title=sizes_of.title if sizes_of else "",
        cautions=OWNER[:1],
        sources=tuple(cited.entries()),
    )


def _born_text(born: Born | None) -> str:
    if born is None:
        return ""
    if born.is_exact:
        return f"born {written_date(born.earliest)}"
    if (born.earliest.year, born.earliest.month) == (born.latest.year, born.latest.month):
        return f"born {month_year(born.earliest)}"
    if born.earliest.year == born.latest.year:
        return f"born {born.earliest.year}"
    return f"born between {month_year(born.earliest)} and {month_year(born.latest)}"


def _compared(comparison: Comparison) -> Compared:
    then, now = written_date(comparison.then_on), written_date(comparison.now_on)
    return Compared(f"{then} and {now}", comparison.sentences())


def build(report: HistoryReport) -> bytes:
    """Return the history as a tagged PDF; equal values give equal bytes."""
    pictures: dict[str, Any] = {}
    if len(report.sizes) > 1:
        pictures["sizes"] = size_history(report.sizes, report.size_title)
    about = [p for p in (report.kind, report.born, report.eid, report.flock) if p]
    values = {
        "report": plain_values(asdict(report)),
        "alt": {name: spec["description"] for name, spec in pictures.items()},
        "subtitle": about,
        "foot_name": shortened(report.label, _FOOT),
    }
    return to_pdf(
        TEMPLATE,
        values,
        files={name: svg(spec).encode() for name, spec in pictures.items()},
        title=f"History of ram {report.label}, {report.made}",
        author=report.practice or "stell",
        made_on=report.today,
    )
