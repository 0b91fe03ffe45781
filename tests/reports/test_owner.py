"""The owner's report as printed: nothing lost, nothing off the page, the same every time."""

import io
import random
import subprocess
import sys
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from stell.core.judge import judge
from stell.core.records import Born, Ram, Season
from stell.core.verdict import Decision
from stell.reports.judged import JudgedRam
from stell.reports.owner import build
from tests.reports.pages import outside, texts, words
from tests.reports.sample import RAMS_IN, TODAY, house_protocol, judged, report, sample_protocol

MARGIN_PT = 17 * 72 / 25.4  # the page's margin is 18 mm; a millimetre is left for rounding
FOOT_PT = 9 * 72 / 25.4  # the footer stands lower


def tags_of(made: Any) -> list[str]:
    return [r.tag for r in made.rams]


@pytest.mark.parametrize("count", [1, 60, pytest.param(300, marks=pytest.mark.slow)])
def test_every_ram_is_there_and_nothing_runs_off(count: int, tmp_path: Path) -> None:
    made = report(count)
    content = build(made)
    said = set(" ".join(texts(content)).split())
    missing = [tag for tag in tags_of(made) if tag not in said]
    assert not missing, f"rams without a line: {missing[:5]}"
    off = [w for w in outside(content, tmp_path, FOOT_PT) if w.text]
    sideways = [w for w in outside(content, tmp_path, MARGIN_PT) if w.left < MARGIN_PT]
    assert not off, f"words beyond the edge: {off[:3]}"
    assert not sideways, f"words in the left margin: {sideways[:3]}"


def test_page_one_says_first_what_to_do() -> None:
    first = texts(build(report(18)))[0]
    heads = ["Harrow Beck", "Of 18 rams examined", "What to do, and by when", "The rams",
             "The season to scale", "page 1 of"]  # fmt: skip
    places = [first.find(h) for h in heads]
    assert -1 not in places, f"not on page one: {heads[places.index(-1)]}"
    assert places == sorted(places), f"read in another order: {places}"


PAGE_ONE = ("What to do, and by when", "The rams", "The season to scale",
            "A verdict speaks of the day")  # fmt: skip


@pytest.mark.parametrize("count", [1, 9, 48, 60, pytest.param(300, marks=pytest.mark.slow)])
def test_page_one_holds_list_rams_season_and_caution(count: int) -> None:
    made = report(count, protocol=house_protocol())
    pages = texts(build(made))
    for part in PAGE_ONE:
        assert part in pages[0], part
    assert "overleaf" not in pages[0]
    first = " ".join(pages[0].split())
    for todo in made.todos:
        assert f"{todo.due} {todo.away}".strip() in first, f"{todo.kind} is not on page one"
        assert todo.what in first, todo.what
    assert len(pages[1]) > 500, "a page left nearly empty"


def troubled(count: int, share: float, seed: int = 3) -> list[JudgedRam]:
    """Return rams of whom a share has up to three findings of the house, seen on several days."""
    house, dice = house_protocol(), random.Random(seed)
    found = [
        (check.id, (option,) if check.spec.several else option)
        for check in house.checks.values()
        for option, rule in check.rules.items()
        if rule.effects
    ]
    result = []
    for one in judged(count, house):
        picked = (
            dict(dice.sample(found, dice.choice((1, 1, 2, 3)))) if dice.random() < share else {}
        )
        on = one.exam.examined_on - timedelta(days=dice.choice((0, 0, 4, 19)))
        seen = dict(one.exam.observations) | picked
        exam = replace(one.exam, observations=seen, examined_on=on)
        verdict = judge(house, one.ram, exam, Season(RAMS_IN, 54.4))
        result.append(JudgedRam(one.ram, exam, Decision(verdict), one.before))
    return result


@pytest.mark.parametrize(("count", "share"), [(12, 1.0), (41, 0.5), (60, 0.3), (60, 1.0)])
def test_page_one_holds_its_parts_however_much_there_is_to_do(
    count: int, share: float, tmp_path: Path
) -> None:
    made = report(protocol=house_protocol(), judged=troubled(count, share))
    content = build(made)
    pages = texts(content)
    for part in PAGE_ONE:
        assert part in pages[0], part
    assert not outside(content, tmp_path, FOOT_PT)
    said = set(" ".join(pages).split())
    assert not [tag for tag in tags_of(made) if tag not in said]


def test_forty_one_rams_take_six_pages() -> None:
    made = report(protocol=house_protocol(), judged=troubled(41, 0.2))
    assert len(texts(build(made))) <= 6


def test_rams_with_nothing_found_stand_close_together(tmp_path: Path) -> None:
    made = report(41, protocol=house_protocol())
    plain = [r for r in made.rams if r.is_plain]
    assert len(plain) > 20
    _, found = words(build(made), tmp_path)
    for left, right in zip(plain[::2], plain[1::2], strict=False):
        rows = {(w.page, round(w.top)) for w in found if w.text in (left.tag, right.tag)}
        both = [row for row in rows if sum((w.page, round(w.top)) == row for w in found
                                           if w.text in (left.tag, right.tag)) == 2]  # fmt: skip
        assert both, f"{left.tag} and {right.tag} share no line"


def test_a_months_figures_are_named_once_and_the_others_apart() -> None:
    rams = [j for j in judged(30, house_protocol()) if j.before and not j.reasons]
    odd = rams[0]
    moved = replace(odd, before=replace(odd.before, examined_on=date(2025, 10, 2)))
    text = " ".join(" ".join(texts(build(report(judged=[moved, *rams[1:]])))).split())
    assert f"“was” is the figure of Aug 2025 ({odd.ram.tag}: Oct 2025)" in text


def test_the_target_is_said_once() -> None:
    text = " ".join(texts(build(report(41, protocol=house_protocol()))))
    assert text.count("target at mating 3.0–4.0, aim for 3.5") == 1


def test_what_is_pressing_comes_first_and_dates_have_weekdays() -> None:
    first = texts(build(report(18)))[0]
    # 13 Aug 2026 is a Thursday and 14 Aug 2026 a Friday (any calendar)
    assert "Thu 13 Aug 2026" in first
    assert first.find("Keep apart") < first.find("Fri 14 Aug 2026")


@pytest.mark.parametrize(
    "typed", ['#import "x"', "*bold* $x$ @ref", "<script>", "\\", "=T 1", "a & b < c"]
)
def test_a_ram_called_anything_is_printed_as_typed(typed: str) -> None:
    rams = judged(3)
    rams[0] = replace(rams[0], ram=replace(rams[0].ram, tag=typed, name=typed))
    content = build(report(3, judged=rams))
    said = "".join("".join(texts(content)).split())
    assert said.count("".join(typed.split())) >= 2, "as tag and as name"


def test_names_everywhere_may_hold_markup() -> None:
    typed = "*x* #y $z$ @r"
    made = report(3, flock=typed, owner=typed, practice=typed)
    assert typed in texts(build(made))[0]


def test_long_names_stay_on_the_page(tmp_path: Path) -> None:
    rams = judged(4)
    rams[0] = replace(
        rams[0],
        ram=replace(rams[0].ram, tag="UK0123456" * 6, name="Hollinbrook " * 9, breed="x" * 70),
    )
    made = report(
        4, judged=rams, flock="Overhollinbrookshire " * 6, owner="P. " * 40, practice="Q" * 90
    )
    content = build(made)
    assert not outside(content, tmp_path, FOOT_PT)


def test_same_report_same_bytes_whatever_the_hash_seed() -> None:
    program = (
        "import sys; sys.path.insert(0, '.')\n"
        "from stell.reports.owner import build\n"
        "from tests.reports.sample import report\n"
        "sys.stdout.buffer.write(build(report(9)))"
    )
    made = {
        subprocess.run(
            [sys.executable, "-c", program],
            capture_output=True,
            check=True,
            env={"PYTHONHASHSEED": seed, "PATH": ""},
        ).stdout
        for seed in ("1", "2")
    }
    made.add(build(report(9)))
    assert len(made) == 1, "two prints of one report differ"


def test_properties() -> None:
    reader = PdfReader(io.BytesIO(build(report(2))))
    assert reader.metadata.title == "Rams before mating: Harrow Beck, 13 Aug 2026"
    assert reader.metadata.author == "Stonegate Farm Vets"
    assert reader.metadata.creation_date.date() == TODAY


def test_no_ram_examined() -> None:
    said = " ".join(texts(build(report(0))))
    assert "No ram of this flock has been examined this season." in said
    assert "Ram by ram" not in said


def test_no_start_of_mating() -> None:
    said = " ".join(texts(build(report(9, mating_start_on=None))))
    assert "No start of mating is set for this flock" in said
    assert "Rams go in" not in said


def test_nothing_to_do() -> None:
    untimed = replace_timing(sample_protocol())
    rams = judged(1, untimed)
    made = report(1, protocol=untimed, judged=rams, not_examined=())
    assert made.todos == ()
    assert "Nothing has to be done" in " ".join(texts(build(made)))


def replace_timing(protocol: Any) -> Any:
    return replace(protocol, spec=protocol.spec.model_copy(update={"timing": None}))


def test_after_the_rams_went_in() -> None:
    said = " ".join(texts(build(report(6, today=date(2026, 11, 3)))))
    assert "Rams go in" in said
    assert "9 days ago" in said


def test_reasons_name_source_place_and_basis() -> None:
    said = " ".join(" ".join(texts(build(report(18)))).split())
    assert "Testis: soft. K106 (left)" in said
    assert "published, read in the source · source [1], p. 44" in said
    assert "[1] Fellwright A (2014). A handbook of rams. Hazel Press (read in part)." in said
    assert "common practice, no source" in said


def test_own_verdict_stands_beside_the_proposal() -> None:
    said = " ".join(" ".join(texts(build(report(18)))).split())
    assert "The vet's own verdict, deferred: Served badly last year" in said.replace("’", "'")
    assert "both stay on record" in said


def test_cautions_are_printed() -> None:
    said = " ".join(" ".join(texts(build(report(18)))).split())
    for caution in (
        "no promise that he is fertile", "Never turn your back", "Orf and ringworm pass",
        "keep the withdrawal periods", "This report prescribes nothing", "come before anything",
        "Can pass to people: wear gloves",
    ):  # fmt: skip
        assert caution in said, caution


def test_greek_and_japanese_names() -> None:
    rams = judged(2)
    rams[0] = replace(rams[0], ram=replace(rams[0].ram, name="Κριός"))
    rams[1] = replace(rams[1], ram=replace(rams[1].ram, name="雄"))
    said = " ".join(texts(build(report(2, judged=rams))))
    assert "Κριός" in said
    # U+96C4: The Unicode Standard, CJK Unified Ideographs
    assert "[U+96C4]" in said
    assert "Written as code points" in said


def test_ram_known_by_electronic_number_alone() -> None:
    ram = Ram("r", eid="826012345600001", born=Born.on(date(2023, 3, 1)))
    one = judged(1)[0]
    rams = [replace(one, ram=ram, decision=Decision(one.decision.proposed))]
    assert "826012345600001" in " ".join(texts(build(report(1, judged=rams))))


def test_house_protocol_prints(tmp_path: Path) -> None:
    content = build(report(30, protocol=house_protocol()))
    assert not outside(content, tmp_path, FOOT_PT)
