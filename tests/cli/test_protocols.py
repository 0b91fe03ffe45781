"""Commands about protocols, as a vet reads them and as a program does."""

import json
import re
import tomllib
from pathlib import Path

import pytest

from stell.cli.differences import differences
from stell.cli.protocol_words import condition_words
from stell.core.protocol.conditions import compile_condition, context_facts
from stell.core.protocol.load import load_shipped, load_text, shipped, shipped_text

HOUSE = load_shipped("house")


def one_line(text: str) -> str:
    """Return printed text without line breaks, so that wrapping does not matter."""
    return " ".join(text.split())


# ---------------------------------------------------------------- show


def test_show_leads_through_the_walk_in_its_order(stell) -> None:
    printed = stell("protocol", "show", "house").out
    heads = re.findall(r"(?m)^(\d)  ([A-Z][a-z ]+) [─-]", printed)
    assert [title for _, title in heads] == [s.title for s in HOUSE.spec.stop]
    assert [int(n) for n, _ in heads] == list(range(1, len(heads) + 1))


def test_show_names_every_check_and_answer(stell) -> None:
    printed = one_line(stell("protocol", "show", "house").out)
    missing = [c.spec.title for c in HOUSE.checks.values() if c.spec.title not in printed]
    assert not missing, f"not on the page: {missing}"


@pytest.mark.parametrize("name", shipped())
@pytest.mark.parametrize("width", [60, 80, 100])
def test_every_shipped_protocol_fits_the_terminal(stell, monkeypatch, name, width) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    lines = stell("protocol", "show", name, "--full").out.splitlines()
    assert max(map(len, lines)) <= width


def test_show_says_where_each_limit_comes_from(stell) -> None:
    printed = stell("protocol", "show", "house", "--stop", "circumference").out
    line = next(ln for ln in printed.splitlines() if "below 28.0 cm" in ln)
    number = re.search(r"\[(\d+)\] published", line)
    assert number, f"no source beside the limit: {line}"
    # Söderquist and Hultén 2006 set 26 and 28 cm for Gotland rams (knowledge: 41:61-62).
    source = printed[printed.index("Sources") :]
    assert re.search(rf"\[{number[1]}\].*Söderquist", source)


def test_show_of_one_stop_leaves_the_others_out(stell) -> None:
    printed = stell("protocol", "show", "house", "--stop", "legs").out
    assert "Feet" in printed
    assert "Lower jaw" not in printed


def test_show_of_nothing_is_refused(stell) -> None:
    refused = stell("protocol", "show", "house", "--stop", "wings", code=2)
    assert "nothing in house" in refused.err
    assert "stand_back" in refused.err


def test_full_adds_what_to_do_and_what_the_owner_is_told(stell) -> None:
    printed = one_line(stell("protocol", "show", "house", "--stop", "feet", "--full").out)
    assert "Do: " in printed
    assert "Owner: " in printed
    assert "Caution: Gloves" in printed


def test_show_as_json_is_the_file(stell) -> None:
    printed = stell("protocol", "show", "house", "--json").result
    written = tomllib.loads(shipped_text("house"))
    assert [c["id"] for c in printed["check"]] == [c["id"] for c in written["check"]]


def test_keys_are_those_of_the_schema(stell) -> None:
    printed = stell("protocol", "show", "--keys", "--json").result
    assert {row["key"] for row in printed["[[check.option]]"]} >= {"id", "label", "effects", "do"}
    stated = {row["key"]: row["required"] for row in printed["the file"]}
    assert stated["version"] is True
    assert stated["season"] is False
    assert "A key with ? may be left out" in stell("protocol", "show", "--keys").out


def test_ascii_terminal_gets_no_line_drawing(program) -> None:
    printed = program(
        "protocol", "show", "house", "--stop", "legs", PYTHONIOENCODING="ascii:replace"
    )
    assert "─" not in printed.out
    assert "Feet" in printed.out


def test_unknown_protocol_names_what_there_is(stell) -> None:
    refused = stell("protocol", "show", "horse", code=3)
    assert "house" in refused.err
    assert "merck_older" in refused.err


# ---------------------------------------------------------------- check, new


def test_check_of_a_good_file(stell, tmp_path: Path) -> None:
    file = tmp_path / "ours.toml"
    file.write_text(shipped_text("house"), encoding="utf-8")
    printed = one_line(stell("protocol", "check", file).out)
    assert "ours.toml is in order" in printed
    counted = stell("protocol", "check", file, "--json").result
    assert counted["checks"] == len(HOUSE.checks)
    assert sum(counted["basis"].values()) > 100


def test_check_names_line_got_and_legal(stell, tmp_path: Path) -> None:
    text = shipped_text("house")
    line = text[: text.index("within_days = 3")].count("\n") + 1
    file = tmp_path / "ours.toml"
    file.write_text(text.replace("within_days = 3", "within_days = -3", 1), encoding="utf-8")
    refused = stell("protocol", "check", file, code=3)
    assert f"line {line}" in one_line(refused.err)
    assert "-3" in refused.err
    assert "legal a number of at least 0" in one_line(refused.err)


def test_check_lists_every_problem(stell, tmp_path: Path) -> None:
    text = shipped_text("house")
    broken = text.replace('kind        = "choice"', 'kind = "chioce"', 2)
    file = tmp_path / "ours.toml"
    file.write_text(broken, encoding="utf-8")
    refused = json.loads(stell("--json", "protocol", "check", file, code=3).err)
    assert len([refused["error"], *refused["others"]]) >= 2


@pytest.mark.parametrize("content", [b"", b"\xff\xfe\x00", b"x = [", b"x = 1"])
def test_check_of_something_else(stell, tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "ours.toml"
    file.write_bytes(content)
    assert stell("protocol", "check", file, code=3).err.startswith("stell: ")


def test_new_is_a_copy_that_can_be_used(stell, tmp_path: Path) -> None:
    file = tmp_path / "our-rams.toml"
    printed = one_line(stell("protocol", "new", file, "--from", "merck_older").out)
    assert "our_rams 1, a copy of merck_older" in printed
    copy = load_text(file.read_text(encoding="utf-8"))
    original = load_shipped("merck_older")
    assert copy.spec.copied_from == original.named
    assert list(copy.checks) == list(original.checks)
    assert not differences(copy, original), "a copy differs from what it was copied from"
    assert stell("protocol", "check", file).code == 0


def test_new_keeps_the_comments_of_the_file(stell, tmp_path: Path) -> None:
    file = tmp_path / "ours.toml"
    stell("protocol", "new", file)
    before = [ln for ln in shipped_text("house").splitlines() if ln.startswith("#")]
    after = [ln for ln in file.read_text(encoding="utf-8").splitlines() if ln.startswith("#")]
    assert after == before


def test_new_overwrites_nothing(stell, tmp_path: Path) -> None:
    file = tmp_path / "ours.toml"
    file.write_text("mine", encoding="utf-8")
    assert "exists" in stell("protocol", "new", file, code=5).err
    assert file.read_text(encoding="utf-8") == "mine"


# ---------------------------------------------------------------- compare


def test_the_published_standards_disagree_as_published() -> None:
    # Merck older: 28 cm at 8 to 14 months, 32 cm above. Lecture bands: more than 30 cm, 33 cm.
    # Normal sperm: above 50 % against above 70 %.
    found = differences(load_shipped("merck_older"), load_shipped("wrcc_type"))
    limits = [(d.first.text, d.second.text) for d in found if d.part == "limits" and d.second]
    whole = "\n".join(f"{a}\n{b}" for a, b in limits if a and b)
    for figure in ("28.0 cm", "32.0 cm", "30.0 cm", "33.0 cm", "50 %", "70 %"):
        assert figure in whole, f"{figure} is not among the limits that differ"
    sources = {d.first.source for d in found if d.part == "limits" and d.first}
    assert "merck_older" in sources


def test_nothing_differs_from_itself(stell) -> None:
    for name in shipped():
        assert not differences(load_shipped(name), load_shipped(name)), name
    assert (
        "No check, answer, limit or figure differs"
        in stell("protocol", "compare", "house", "house").out
    )


def test_a_changed_limit_a_changed_effect_and_a_changed_figure_are_found() -> None:
    text = shipped_text("house")
    changed = load_text(
        text.replace("days = 14 }]", "days = 21 }]", 1).replace("value      = 70", "value = 63", 1)
    )
    found = differences(HOUSE, changed)
    assert {d.part for d in found} == {"answer", "figure"}
    answer = next(d for d in found if d.part == "answer")
    assert "defer 14 days" in answer.first.text
    assert answer.second.text == answer.first.text.replace("defer 14 days", "defer 21 days")
    figure = next(d for d in found if d.part == "figure")
    assert (figure.first.text, figure.second.text) == ("70 days", "63 days")


def test_compare_prints_both_sides_and_says_so_in_its_exit_code(stell) -> None:
    printed = stell("protocol", "compare", "merck_older", "wrcc_type", code=11).out
    assert max(map(len, printed.splitlines())) <= 80
    assert "merck_older 2026.1 beside wrcc_type 2026.1" in printed
    as_json = stell("protocol", "compare", "merck_older", "wrcc_type", "--json", code=11).result
    assert {"part", "key", "title", "a", "b"} == set(as_json["differences"][0])


# ---------------------------------------------------------------- words


def test_every_fact_a_condition_may_ask_about_has_a_word() -> None:
    from stell.cli.protocol_words import FACT_WORDS

    assert set(context_facts()) == set(FACT_WORDS)


def test_a_deferral_until_the_season_says_so() -> None:
    from dataclasses import replace

    from stell.cli.protocol_words import effect_words

    effects = [e for _, rule in HOUSE.rules() for e in rule.effects if e.days == 60]
    effect = replace(effects[0], when=None, until_in_season=True)
    assert effect_words(effect, HOUSE) == "defer 60 days, and until he is in season"


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ({"age_months": {"gt": 14}}, "age over 14 months"),
        # Half steps: "more than 5 and less than 6" is the only value between; past it is 6.
        ({"age_months": {"gt": 5.5}}, "age from 6 months"),
        ({"age_months": {"ge": 5.5}}, "age over 5 months"),
        ({"age_months": {"lt": 5.5}}, "age up to 5 months"),
        ({"age_months": {"le": 5.5}}, "age under 6 months"),
        ({"age_months": {"between": [8, 14]}}, "age 8 months to 14 months"),
        ({"breed": {"known": True, "eq": "gotland"}}, "breed gotland"),
        ({"not": {"breed": {"eq": "gotland"}}}, "not (breed gotland)"),
        ({"in_season": False}, "out of season"),
        ({"ram_type": {"in": ["hill", "hair"]}}, "type hill or hair"),
        ({"condition": {"lt": 2}}, "condition score under 2.0"),
        ({"gait": {"eq": "not_bearing"}}, 'gait "very lame, hardly bears weight"'),
        (
            {"any": [{"in_season": True}, {"breed": {"eq": "soay"}, "age_months": {"gt": 14}}]},
            "in season or (breed soay and age over 14 months)",
        ),
        ({}, ""),
    ],
)
def test_conditions_in_words(written, said) -> None:
    from stell.core.protocol.conditions import Fact
    from stell.core.units import UNITS

    facts = context_facts() | {
        "condition": Fact("condition", "number", UNITS["score"]),
        "gait": Fact("gait", "word"),
    }
    node = compile_condition(written, facts, where="test")
    assert condition_words(node, HOUSE) == said
