"""Commands that say what was done, and that it was not: done, not-done, and lists that follow."""

from __future__ import annotations

from datetime import date

import pytest

from stell.cli.work_lines import work_lines
from stell.services.seasons import ToDo

TODAY = ("--today", "2026-09-14")
PUT_DOWN = ("done", "HS 142", "treat", "--on", "2026-09-09", *TODAY)


def one_line(text: str) -> str:
    """Return printed text without line breaks, so that wrapping does not matter."""
    return " ".join(text.split())


def asked_of(demo, ram: str) -> list[str]:
    """Return what the work list asks of a ram."""
    items = demo("due", *TODAY, "--json").result
    return [i["kind"] for i in items if i["ram"] and ram in i["ram"]]


def test_the_demo_s_list_is_that_of_a_flock_that_is_looked_after(demo) -> None:
    items = demo("due", *TODAY, "--json").result
    assert not [i for i in items if i["kind"] in ("isolate", "withdraw", "report")]
    assert 0 < sum(i["overdue"] for i in items) <= len(items) / 3
    assert asked_of(demo, "Bracken") == ["reexamine"]


def test_done_goes_off_the_list(demo) -> None:
    assert "treat" in asked_of(demo, "HS 142")
    printed = demo("--by", "D. Roake", *PUT_DOWN, "--done-by", "T. Fellwright", "--note", "sprayed")
    text = one_line(printed.out)
    assert text.startswith("HS 142: treated on 9 Sep 2026 by T. Fellwright: sprayed.")
    assert "Still open for him: examine again by 22 Sep 2026." in text
    assert max(map(len, printed.out.splitlines())) <= 80
    assert asked_of(demo, "HS 142") == ["reexamine"]
    entry = demo("history", "HS 142", "--json").result["entries"][0]
    assert entry["decision"]["outcome"] == "deferred", "a deed changed the verdict"
    (deed,) = entry["deeds"]
    assert (deed["done_by"], deed["entered_by"]) == ("T. Fellwright", "D. Roake")
    assert len(deed["rules"]) == 2, "scald and lameness both ask for it"


def test_putting_apart_goes_on(demo) -> None:
    words = ["not-done", "Bracken", "isolate", "--reason", "back with the others", *TODAY]
    assert "Still open for him: keep apart now" in one_line(demo(*words).out)
    assert asked_of(demo, "Bracken") == ["isolate", "reexamine"]
    printed = demo("done", "Bracken", "keep apart", *TODAY)
    assert "holds for as long as his verdict does" in printed.out
    shown = one_line(demo("history", "Bracken", *TODAY).out)
    assert "taken back on 14 Sep 2026" in shown
    assert "put apart on 14 Sep 2026" in shown


def test_a_treatment_with_its_withdrawal(demo) -> None:
    given = ["--product", "Invented B", "--dose", "as prescribed", "--withdrawal", "14 days"]
    printed = demo(*PUT_DOWN, *given, "--withdrawal-until", "25 Sep 2026", "--json").result
    assert printed["deed"]["medicine"] == {
        "product": "Invented B",
        "dose": "as prescribed",
        "withdrawal": "14 days",
        "withdrawal_until": "2026-09-25",
    }
    told = "not for slaughter before 25 Sep 2026, as entered by"
    assert f"HS 142: {told}" in one_line(demo("flock", "show", "high-sallow", *TODAY).out)
    assert f"N{told[1:]}" in one_line(demo("history", "HS 142", *TODAY).out)
    left = demo("leave", "HS 142", "--why", "sold for slaughter", *TODAY)
    assert told in one_line(left.err), "he is sold, and nobody is told"


def test_a_product_without_a_withdrawal_is_remarked_on(demo) -> None:
    printed = demo(*PUT_DOWN, "--product", "Invented B")
    assert "no withdrawal was entered for Invented B" in one_line(printed.err)
    assert "no withdrawal" not in demo("done", "HS 113", "treat", *TODAY).err


def test_a_rejected_ram_is_told_with_his_withdrawal(demo) -> None:
    demo("override", "Bracken", "--verdict", "unsatisfactory", "--reason", "again", *TODAY)
    text = one_line(demo("due", *TODAY).out)
    assert "; not for slaughter before 2 Oct 2026, as" in text
    assert "; not for slaughter before 2 Oct 2026, as" in one_line(
        demo("due", "--full", *TODAY).out
    )


def test_flock_show_says_what_was_done(demo) -> None:
    text = one_line(demo("flock", "show", "high-sallow", *TODAY).out)
    assert "HS 104 Corin put apart on 25 Aug 2026 by Thea Fellwright" in text
    season = demo("flock", "show", "high-sallow", *TODAY, "--json").result
    done = {r["ram"]["tag"]: [d["kind"] for d in r["deeds"]] for r in season["rams"] if r["deeds"]}
    assert done["HS 103"] == ["isolate", "treat"]


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (["Bracken", "reexamine"], 2, "stell import"),
        (["HS 144", "complete"], 2, "stell correct"),
        (["Bracken", "vaccinate"], 2, "isolate (keep apart)"),
        (["Bracken", "report"], 5, "does not ask for that"),
        (["Bracken", "isolate"], 5, "stell not-done"),
        (["HS 142", "treat", "--rule", "gait"], 2, "feet.scald"),
        (["HS 142", "treat", "--on", "2026-09-20"], 2, "yet to come"),
        (["HS 142", "treat", "--dose", "10 ml"], 2, "--product"),
        (["HS 142", "treat", "--withdrawal-until", "4/10/2026"], 2, "--withdrawal-until"),
        (["Nobody", "treat"], 5, "on the books"),
        (["HS 142", "treat", "--examined-on", "2020-01-01"], 5, "2026-09-08"),
    ],
)
def test_what_cannot_be_done_is_told(demo, words: list[str], code: int, told: str) -> None:
    assert told in one_line(demo("done", *words, *TODAY, code=code).err)


def test_one_finding_of_two(demo) -> None:
    demo(*PUT_DOWN, "--rule", "feet.scald")
    (left,) = [
        i
        for i in demo("due", *TODAY, "--json").result
        if i["kind"] == "treat" and "142" in i["ram"]
    ]
    assert "feet.scald" not in left["rules"]


def test_not_done_needs_what_was_done(demo) -> None:
    words = ["not-done", "Harrow", "isolate", "--reason", "x", *TODAY]
    assert "treated on 27 Aug 2026" in one_line(demo(*words, code=5).err)
    assert "--reason" in demo("not-done", "Harrow", "treat", *TODAY, code=2).err


# ---------------------------------------------------------------- short lines


def test_a_short_line_holds_the_whole_finding_however_it_is_written() -> None:
    # The finding itself has a capital after a colon; a line that is cut there says too little.
    finding = "Gait: Lame: bears weight"
    day = date(2026, 9, 14)
    todos = [
        ToDo("treat", day, f"{finding}: Treat him.", finding=finding),
        ToDo("last_purchase", day, "Last day (6 weeks): for this.", finding="Last day (6 weeks)"),
    ]
    lines = work_lines(("", todo) for todo in todos)
    assert [line.text for line in lines] == [f"treat: {finding}", "Last day (6 weeks)"]
    full = work_lines((("", todo) for todo in todos), full=True)
    assert full[0].text == f"treat: {finding}: Treat him."


def test_what_has_no_finding_is_said_in_its_sentence() -> None:
    (line,) = work_lines([("", ToDo("set_mating_start", date(2026, 9, 14), "no start is set"))])
    assert line.text == "no start is set"
