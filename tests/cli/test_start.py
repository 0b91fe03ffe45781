"""How the command starts: quickly, and with one message where its words do not fit."""

import json
import subprocess
import sys

import pytest

HEAVY = ("pydantic", "django", "numpy", "scipy", "rich.table", "openpyxl", "typst", "altair")


def test_help_loads_nothing_heavy() -> None:
    code = (
        "import sys; sys.argv = ['stell', '--help']\n"
        "from stell.cli.main import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        f"print([m for m in {HEAVY} if m in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]", "these are loaded for nothing when help is asked for"


def test_help_lists_the_commands_in_the_order_of_the_job(stell) -> None:
    from stell.cli.main import ORDER

    lines = stell("--help").out.split("Commands:")[1].split("\n")
    listed = [line.split()[0] for line in lines if line.strip()]
    assert tuple(listed) == ORDER


def test_help_fits_eighty_columns_and_no_command_is_cut_short(stell) -> None:
    printed = stell("--help").out
    assert max(map(len, printed.splitlines())) <= 80
    assert "..." not in printed.split("Commands:")[1], (
        "a command's first sentence is too long for the list"
    )


def test_stell_alone_shows_the_help(stell) -> None:
    assert stell().out == stell("--help").out


def test_version(stell) -> None:
    from stell import __version__

    assert stell("--version").out == f"stell {__version__}\n"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["jugde", "x.csv"], "there is no such command got jugde legal judge, import"),
        (["judge"], "SHEET is missing"),
        (["judge", "x.csv", "--flok", "y"], "no such option got --flok legal --flock"),
        (["judge", "x.csv", "--latitude"], "the option --latitude needs a value"),
        (["flock", "add", "x"], "the option --latitude is missing"),
        (["due", "--within", "soon"], "got soon legal a whole number of at least 0"),
        (["due", "--within", "-1"], "got -1 legal a whole number of at least 0"),
        (["serve", "--port", "90000"], "got 90000 legal a whole number from 1 to 65535"),
        (["flock", "show", "High", "Sallow"], "names of several words in quotation marks"),
    ],
)
def test_wrong_words_are_answered_with_an_example(stell, words, said) -> None:
    refused = stell(*words, code=2)
    assert said in " ".join(refused.err.split()), refused.err
    assert "--help" in refused.err
    assert "Invalid value" not in refused.err
    assert "Traceback" not in refused.err
    assert refused.out == ""


@pytest.mark.parametrize("given", ["north", "154.9", "", "5 4"])
def test_a_latitude_that_is_none_says_what_one_is(stell, tmp_path, given) -> None:
    for words in (["judge", "x.csv"], ["protocol", "compare", "house", "house"]):
        refused = " ".join(stell(*words, f"--latitude={given}", code=2).err.split())
        assert "--latitude: this is no latitude" in refused
        assert "legal degrees from -90 to 90" in refused
        assert "example --latitude 54.9" in refused


def test_a_type_that_is_none_names_the_types(stell) -> None:
    refused = stell("judge", "x.csv", "--type", "mule", code=2).err
    assert "legal    hill, lowland, terminal, longwool, dairy, hair" in refused


def test_wrong_words_as_json(stell) -> None:
    refused = stell("--json", "jugde", code=2)
    error = json.loads(refused.err)
    assert error["error"]["code"] == "usage"
    assert error["exit_code"] == 2
    assert refused.out == ""


@pytest.mark.parametrize("given", ["4/10/2026", "2026-13-01", "tomorrow", "04-10-2026", ""])
def test_a_day_that_could_be_misread_is_refused(stell, given) -> None:
    if given == "":
        assert stell("protocol", "compare", "house", "house", "--today", "").code == 0
        return
    refused = stell("protocol", "compare", "house", "house", "--today", given, code=2)
    assert "--today: the date could not be understood" in refused.err
    assert '"4 Oct 2026"' in refused.err


@pytest.mark.parametrize("given", ["2026-10-04", "4 Oct 2026", "4 October 2026", " 04 oct 2026 "])
def test_days_as_iso_and_with_the_month_as_a_word(stell, given) -> None:
    printed = stell("protocol", "compare", "house", "house", "--today", given, "--json")
    assert printed.json["today"] == "2026-10-04"


def test_shared_options_stand_before_or_after(stell) -> None:
    before = stell("--json", "--today", "2026-10-04", "protocol", "compare", "house", "house")
    after = stell("protocol", "compare", "house", "house", "--json", "--today", "2026-10-04")
    assert before.json == after.json
