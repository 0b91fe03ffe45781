"""What a person sees when something goes wrong: one message, one exit code, no traceback."""

import errno
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from stell.cli import failing
from stell.cli.endings import EXIT_CODES
from stell.cli.whole_files import write_whole
from stell.core import errors
from stell.core.errors import SheetError, StellError, ValueRefused


def all_kinds(kind: type[StellError] = StellError) -> set[type[StellError]]:
    """Return the error family."""
    return {kind}.union(*(all_kinds(k) for k in kind.__subclasses__()))


def test_every_error_has_a_documented_exit_code() -> None:
    assert {k.exit_code for k in all_kinds()} <= EXIT_CODES.keys()


def test_exit_codes_of_the_family_stay_what_they_are() -> None:
    # Scripts lean on these; docs/commands.md promises them.
    codes = {k.__name__: k.exit_code for k in all_kinds() if k.__module__ == errors.__name__}
    assert codes == {
        "StellError": 1,
        "ValueRefused": 2,
        "ProtocolError": 3,
        "SheetError": 4,
        "RecordError": 5,
        "StoreError": 6,
    }


def test_an_error_says_where_got_legal_example() -> None:
    error = SheetError(
        "row.value",
        "a circumference cannot be that",
        got="345",
        legal="10.0 cm to 60.0 cm",
        example="34.5",
        where="rams.csv, row 3, column SC (cm)",
    )
    assert failing.laid_out(error, width=80).splitlines() == [
        "stell: rams.csv, row 3, column SC (cm): a circumference cannot be that",
        "  got      345",
        "  legal    10.0 cm to 60.0 cm",
        "  example  34.5",
    ]


def test_a_long_place_gets_a_line_of_its_own() -> None:
    place = "/a/very/" + "deep/" * 20 + "rams.csv, row 3"
    lines = failing.laid_out(SheetError("row.value", "no", where=place), width=80).splitlines()
    assert lines[0] == "stell: no"
    assert lines[1].startswith("  where    /a/very/deep/")


def test_long_errors_are_wrapped_and_cut() -> None:
    error = ValueRefused("value.choice", "no " * 60, got="x" * 5000, legal="word, " * 40)
    lines = failing.laid_out(error, width=80).splitlines()
    legal = [line for line in lines if "word," in line]
    assert len(legal) > 2
    assert max(map(len, legal)) <= 80
    assert sum(map(len, lines)) < 1000, "what was got is printed at full length"


def test_control_characters_of_a_sheet_do_not_reach_the_terminal() -> None:
    error = SheetError("row.value", "not a word", got="\x1b[2Jgone\r\n\x07")
    printed = failing.laid_out(error, width=80)
    assert "\x1b" not in printed
    assert "\x07" not in printed
    assert len(printed.splitlines()) == 2, "a line break in the value broke the message"


def test_others_are_listed_up_to_a_limit(capsys) -> None:
    error = SheetError("row.value", "first")
    error.others = [SheetError("row.value", f"number {i}") for i in range(30)]
    assert failing.tell(error, as_json=False) == 4
    printed = capsys.readouterr().err
    assert "number 19" in printed
    assert "number 20" not in printed
    assert "and 10 more" in printed


def test_error_as_json_has_every_key(capsys) -> None:
    code = failing.tell(StellError("usage", "no", got=3, example="yes"), as_json=True)
    printed = json.loads(capsys.readouterr().err)
    assert printed["exit_code"] == code == 1
    assert set(printed["error"]) == {
        "code",
        "title",
        "problem",
        "got",
        "legal",
        "example",
        "where",
        "detail",
    }


def test_the_unforeseen_is_one_sentence_and_a_file(capsys) -> None:
    def work() -> int:
        raise ZeroDivisionError("inside")

    assert failing.guarded(work, []) == 70
    printed = capsys.readouterr().err
    assert "did not expect (ZeroDivisionError)" in printed
    assert "Traceback" not in printed
    place = Path(printed.split("The details are in")[1].strip().rstrip("."))
    try:
        assert "ZeroDivisionError: inside" in place.read_text(encoding="utf-8")
    finally:
        place.unlink()


def test_ctrl_c_says_that_nothing_is_half_done(capsys) -> None:
    def work() -> int:
        raise KeyboardInterrupt

    assert failing.guarded(work, []) == 130
    assert "Nothing was left half-done" in capsys.readouterr().err


@pytest.mark.slow
def test_ctrl_c_from_outside() -> None:
    code = (
        "import time\n"
        "from stell.cli.failing import guarded\n"
        "def work():\n"
        "    print('ready', flush=True)\n"
        "    time.sleep(60)\n"
        "raise SystemExit(guarded(work, ['--json']))\n"
    )
    running = subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert running.stdout.readline() == "ready\n"
    time.sleep(0.1)
    running.send_signal(signal.SIGINT)
    _, err = running.communicate(timeout=20)
    assert running.returncode == 130
    assert json.loads(err)["stopped"] is True


def test_a_reader_that_leaves_is_no_error() -> None:
    # As in `stell protocol show house | head -1`: far more is printed than a pipe holds.
    running = subprocess.Popen(
        [sys.executable, "-m", "stell", "protocol", "show", "house", "--full"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert "House protocol" in running.stdout.readline()
    running.stdout.close()
    assert running.stderr.read() == ""
    assert running.wait(timeout=30) == 0
    running.stderr.close()


def test_a_file_that_cannot_be_written_leaves_what_was_there(tmp_path, monkeypatch) -> None:
    target = tmp_path / "due.ics"
    target.write_bytes(b"old")

    def is_full(path: Path, content: bytes) -> None:
        with path.open("wb") as file:
            file.write(content[:1])
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", is_full)
    with pytest.raises(OSError, match="No space") as caught:
        write_whole(target, b"new")
    assert [p.name for p in tmp_path.iterdir()] == ["due.ics"], "no half file is left"
    assert target.read_bytes() == b"old"
    told = failing.file_refused(caught.value)
    assert (told.code, told.where) == ("store.full", str(target))
    assert told.legal
    assert told.example


def test_no_name_on_record_steers_the_terminal(stell, tmp_path) -> None:
    # ESC and U+009B begin orders to a terminal; U+202E turns the reading order round.
    bad, data = "\x1b[31mRed\x9b2J\u202eEnd", ["--data", tmp_path]
    stell("flock", "add", bad, "--latitude", "54.9", "--owner", bad, *data)
    shown = stell("flock", "list", *data)
    assert "\N{REPLACEMENT CHARACTER}[31mRed\N{REPLACEMENT CHARACTER}2J" in shown.out
    as_json = stell("flock", "list", "--json", *data)
    assert as_json.result[0]["owner"] == bad, "in JSON it stands whole, as an escape"
    for text in (shown.out, shown.err, as_json.out):
        assert not set("\x1b\x9b\u202e") & set(text), ascii(text)


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01", "1 Jan 1066", "2206-11-02"])
def test_a_day_in_a_year_that_cannot_be_meant_is_refused(stell, tmp_path, day: str) -> None:
    for words in (
        ("due", "--today", day),
        ("flock", "add", "Hill End", "--latitude", "54", "--mating-start", day),
    ):
        told = stell(*words, "--data", tmp_path, code=2)
        assert "a year that cannot be meant" in told.err, told.err


def test_a_pipe_is_written_to_and_not_replaced(tmp_path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    write_whole(pipe, b"new")
    assert os.read(reader, 10) == b"new"
    os.close(reader)
    assert pipe.is_fifo()


def test_a_link_stays_a_link(tmp_path) -> None:
    (tmp_path / "kept").mkdir()
    link = tmp_path / "due.ics"
    link.symlink_to(tmp_path / "kept" / "real.ics")
    write_whole(link, b"new")
    assert link.is_symlink()
    assert (tmp_path / "kept" / "real.ics").read_bytes() == b"new"


@pytest.mark.parametrize(
    ("ending", "code"),
    [(">&-", 0), ("2>&-", 0), (">/dev/full", 6), (">/dev/full 2>/dev/full", 6)],
)
@pytest.mark.parametrize("words", ["protocol show house", "protocol show house --json"])
def test_streams_that_are_closed_or_full(words: str, ending: str, code: int) -> None:
    if "full" in ending and not Path("/dev/full").is_char_device():
        pytest.skip("no /dev/full here")
    command = f"{sys.executable} -m stell {words} {ending}"
    done = subprocess.run(["/bin/sh", "-c", command], capture_output=True, text=True, check=False)
    assert done.returncode == code, done.stderr
    assert "Exception ignored" not in done.stderr, done.stderr
