"""Why: each rule once, with all its rams; and what else is on record."""

from dataclasses import replace
from datetime import date

from stell.core.judge import judge
from stell.core.records import Season
from stell.core.verdict import Decision
from stell.reports.judged import JudgedRam
from tests.reports.sample import RAMS_IN, house_protocol, judged, report


def with_answers(one: JudgedRam, **seen: object) -> JudgedRam:
    house = house_protocol()
    exam = replace(one.exam, observations=dict(one.exam.observations) | seen)
    return JudgedRam(one.ram, exam, Decision(judge(house, one.ram, exam, Season(RAMS_IN, 54.4))))


def test_every_reason_stands_once_with_all_its_rams() -> None:
    flock = judged(60)
    made = report(judged=flock)
    titles = [(g.found, g.follows) for g in made.grounds]
    assert len(set(titles)) == len(titles)
    for judged_ram in flock:
        for reason in judged_ram.reasons:
            title = reason.check.spec.title
            assert any(
                g.found.startswith(title) and any(judged_ram.ram.tag in r for r in g.rams)
                for g in made.grounds
            ), f"{judged_ram.ram.tag}: {reason.rule.rule_id}"


def test_both_sides_are_one_reason() -> None:
    one = with_answers(
        judged(1, house_protocol())[0], testis_tone_left="soft", testis_tone_right="soft"
    )
    made = report(protocol=house_protocol(), judged=[one])
    assert [g.rams for g in made.grounds] == [("K101 (left and right)",)]
    assert made.rams[0].findings == ("Tone of the testis (left and right): soft",)


def test_a_measured_reason_gives_the_band_once_and_each_figure() -> None:
    first, second = judged(2, house_protocol())
    made = report(
        protocol=house_protocol(),
        judged=[with_answers(first, condition=(275,)), with_answers(second, condition=(225,))],
    )
    (ground,) = made.grounds
    # house.toml, condition: above 2 and below 3 is thin
    assert ground.found == "Condition score above 2.0 to below 3.0 (rams before mating)."
    assert ground.rams == ("K101 (2.75)", "K102 (2.25)")


def test_worst_first_and_sources_in_that_order() -> None:
    made = report(60)
    cited = [g.source for g in made.grounds if g.source]
    first_met = list(dict.fromkeys(cited))
    assert first_met == sorted(first_met)
    assert made.grounds[0].follows == "Not to be used."


def test_a_note_on_a_ram_with_nothing_found_is_left_out() -> None:
    plain, lame = judged(3, house_protocol())[:3:2]
    noted = [
        replace(j, exam=replace(j.exam, note=note))
        for j, note in ((plain, "penis brought out, normal"), (lame, "off fore"))
    ]
    made = report(protocol=house_protocol(), judged=noted)
    assert [r.said for r in made.remarks if r.title == "Notes"] == [((lame.ram.tag, "Off fore."),)]
    assert [r.tag for r in made.rams if r.is_plain] == [plain.ram.tag]


def test_who_was_examined_when_by_whom() -> None:
    flock = judged(5, house_protocol())
    late = replace(flock[4], exam=replace(flock[4].exam, examined_on=date(2026, 8, 20)))
    assert report(judged=[*flock[:4], late]).visits == (
        "12 Aug 2026 by M. Harrow: all others.",
        "20 Aug 2026 by M. Harrow: K105.",
    )
    assert report(judged=flock[:1]).visits == ("12 Aug 2026 by M. Harrow: 1 ram.",)
