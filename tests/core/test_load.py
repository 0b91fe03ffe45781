"""The loader: a practice's own file is refused with line, key, what was got, what is legal."""

from __future__ import annotations

from pathlib import Path

import pytest

from stell.core.errors import ProtocolError
from stell.core.protocol.load import (
    MAX_BYTES,
    load,
    load_file,
    load_text,
    problems_of,
    shipped_text,
)
from stell.core.protocol.locate import _positions, line_of
from tests.core.mini import MINI, mini


def refused(text: str) -> ProtocolError:
    with pytest.raises(ProtocolError) as info:
        load_text(text, where="mine.toml")
    return info.value


def line_with(text: str, part: str) -> int:
    return next(i for i, line in enumerate(text.splitlines(), 1) if part in line)


def test_sides_become_checks_of_their_own_in_walk_order() -> None:
    walk = "jaw feet condition tone_left tone_right circumference sheath motility"
    assert list(mini().checks) == walk.split()


def test_an_unknown_key_is_refused_with_its_line() -> None:
    text = MINI.replace('title = "Sheath"', 'title = "Sheath"\ncolour = "red"')
    error = refused(text)
    assert error.where == f"mine.toml, line {line_with(text, 'colour')}"
    assert "key 'check[5].colour' (sheath)" in error.problem
    assert error.got == "red"
    assert "no key of that name" in error.legal


def test_every_problem_is_told_not_only_the_first() -> None:
    text = MINI.replace('kind = "choice"', 'kind = "pick"')
    problems = problems_of(text, where="mine.toml")
    assert len(problems) == 4
    assert all("'choice' or 'measure'" in p.legal for p in problems)


@pytest.mark.parametrize(
    ("old", "new", "code", "told"),
    [
        ('unit = "cm"\nplausible', 'unit = "inch"\nplausible', "protocol.unit", "legal: cm, score"),
        ('source = "book"\nwhere = "table 3"', 'source = "film"\nwhere = "x"', "protocol.source",
         "not in the bibliography"),
        ('source = "book"\nwhere = "table 2"\n', "", "protocol.source", "needs 'source'"),
        ("lt = 28, effects = [{ kind = \"reject\" }]", "lt = 27, effects = [{ kind = \"reject\" }]",
         "protocol.invalid", "leave a hole"),
        ("no_standard_between = [[0.1, 9.9]]", "", "protocol.invalid", "nothing for 0.1 to 9.9 %"),
        ("{ classed = \"satisfactory\", ge = 28 },", "{ classed = \"satisfactory\", ge = 27 },",
         "protocol.invalid", "two bands overlap"),
        ('restriction = "not_replacements" }', 'restriction = "never" }', "protocol.invalid",
         "legal: not_replacements"),
        ('stop = "turned_over"\ntitle = "Sheath"', 'stop = "tail"\ntitle = "Sheath"',
         "protocol.invalid", "legal: head, turned_over"),
        ('id = "sheath"', 'id = "jaw"', "protocol.invalid", "stands twice"),
        ('classed = "exceptional", gt = 36', 'classed = "satisfactory", gt = 36',
         "protocol.invalid", "a class stands twice"),
        ('classed = "exceptional"', 'classed = "splendid"', "protocol.invalid",
         "legal: unsatisfactory"),
    ],
)  # fmt: skip
def test_faults_across_the_file_are_refused(old: str, new: str, code: str, told: str) -> None:
    assert old in MINI
    error = refused(MINI.replace(old, new, 1))
    assert error.code == code
    assert told in str(error)
    assert ", line " in error.where


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("{ kind = \"defer\", days = 60 }]\ndo", "{ kind = \"defer\" }]\ndo", "defer needs it"),
        ('owner = "Too soft."', "", "needs 'do' and 'owner'"),
        ('label = "firm"\nnormal = true', 'label = "firm"', "needs effects"),
        ('label = "soft"', 'label = "soft"\nnormal = true', "the normal answer has no effects"),
        ("plausible = { min = 10, max = 60 }", "plausible = { min = 60, max = 10 }",
         "the wrong way round"),
    ],
)  # fmt: skip
def test_faults_within_a_table_are_refused(old: str, new: str, told: str) -> None:
    assert old in MINI
    assert told in str(refused(MINI.replace(old, new, 1)))


def test_checks_that_wait_for_each_other_are_a_cycle() -> None:
    text = MINI.replace(
        'id = "jaw"\nstop = "head"',
        'id = "jaw"\nstop = "head"\nasked_when = { sheath = { eq = "clean" } }',
    ).replace(
        'id = "sheath"\nstop = "turned_over"',
        'id = "sheath"\nstop = "turned_over"\nasked_when = { jaw = { eq = "meets" } }',
    )
    error = refused(text)
    assert error.code == "protocol.cycle"
    assert error.got == "jaw -> sheath -> jaw"


def test_the_season_may_not_ask_about_itself() -> None:
    text = MINI.replace("in_season = { any = [", "in_season = { in_season = true, any = [")
    assert "fact that does not exist" in str(refused(text))


def test_text_that_is_not_toml_names_the_line() -> None:
    error = refused("format = 1\nid = oops\n")
    assert error.code == "protocol.unreadable"
    assert "line 2" in str(error)


def test_files_that_cannot_be_protocols_are_refused(tmp_path: Path) -> None:
    binary = tmp_path / "b.toml"
    binary.write_bytes(b"\xff\xfe\x00\x01")
    with pytest.raises(ProtocolError, match="not UTF-8 text"):
        load_file(binary)
    huge = tmp_path / "h.toml"
    huge.write_bytes(b"#" * (MAX_BYTES + 1))
    with pytest.raises(ProtocolError, match="more than"):
        load_file(huge)
    with pytest.raises(ProtocolError, match="No such file"):
        load(str(tmp_path / "none.toml"))
    with pytest.raises(ProtocolError, match="no protocol of that name"):
        load("nonesuch")
    with pytest.raises(ProtocolError, match=r"nested too deeply|not valid TOML"):
        load_text("a = " + "[" * 100_000)


def test_a_device_without_end_is_refused() -> None:
    with pytest.raises(ProtocolError, match="more than"):
        load_file(Path("/dev/zero"))


@pytest.mark.parametrize("number", ["nan", "inf", "-inf", "1e308", "9" * 400, "9" * 5000])
def test_numbers_beyond_every_measure_are_refused(number: str) -> None:
    house = shipped_text("house")
    for before, after in (
        ("plausible                 = { min = 10, max = 60 }", f"plausible = {{ max = {number} }}"),
        ("age_months = { gt = 14 }", f"age_months = {{ gt = {number} }}"),
    ):
        assert before in house
        with pytest.raises(ProtocolError) as caught:
            load_text(house.replace(before, after, 1))
        assert caught.value.legal, f"{number}: {caught.value}"


def test_a_file_with_hundreds_of_faults_is_read_once_for_their_lines() -> None:
    _positions.cache_clear()
    text = "format = 1\n" + '[[check]]\nid = "No"\n' * 300
    with pytest.raises(ProtocolError):
        load_text(text)
    assert _positions.cache_info().misses == 1, "each fault would read the whole file again"


def test_line_of_follows_headers_lists_and_long_texts() -> None:
    text = (
        'a = """\n[[b]]\n"""\n[[b]]\nc = 1\n[[b.d]]\ne = 2\n[[b.d]]\ne = 3\n[[b]]\n[[b.d]]\ne = 4\n'
    )
    assert line_of(text, ("b", 0, "c")) == 5
    assert line_of(text, ("b", 0, "d", 1, "e")) == 9
    assert line_of(text, ("b", 1, "d", 0, "e")) == 12
    assert line_of(text, ("nowhere",)) is None
