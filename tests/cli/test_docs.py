"""docs/commands.md says what the program does; the README's first day runs as it stands."""

import importlib.util
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import typer.main

from stell.cli.endings import EXIT_CODES
from stell.cli.main import ORDER, app

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")
TOUR = re.findall(r"<!-- tour -->\n```sh\n(.*?)```", README, re.DOTALL)


@pytest.fixture(scope="module")
def writer():
    """The tool that writes the page."""
    place = ROOT / "tools" / "write_command_docs.py"
    spec = importlib.util.spec_from_file_location("write_command_docs", place)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_is_up_to_date(writer) -> None:
    assert writer.page() == PAGE, "run tools/write_command_docs.py"


def test_every_command_is_on_the_page_with_its_json(writer) -> None:
    listed = dict(writer.commands(typer.main.get_command(app)))
    assert len(listed) > 20
    assert {words.split()[0] for words in listed} == set(ORDER)
    assert set(writer.EXAMPLES) == set(listed)
    with_json = {w for w, c in listed.items() if any("--json" in p.opts for p in c.params)}
    assert set(writer.RESULTS) == with_json
    assert set(listed) - with_json == {"serve"}, "a command that prints data has no --json"


def test_examples_on_the_page_use_words_that_exist(writer) -> None:
    listed = dict(writer.commands(typer.main.get_command(app)))
    for words, examples in writer.EXAMPLES.items():
        options = {o for p in listed[words].params for o in p.opts}
        for example in examples:
            given = shlex.split(example.split("|")[0])
            assert " ".join(given).startswith(f"stell {words}"), example
            unknown = [w for w in given if re.match(r"--?[a-z]", w) and w not in options]
            assert not unknown, f"{example}: {unknown}"


def test_every_option_has_a_help_and_no_command_hides_one(writer) -> None:
    for words, command in writer.commands(typer.main.get_command(app)):
        for parameter in command.params:
            assert parameter.help, f"{words}: {parameter.name} says nothing of itself"


def test_exit_codes_are_documented() -> None:
    for code, meaning in EXIT_CODES.items():
        assert f"| {code} | {meaning} |" in PAGE


def test_readme_opens_with_the_job_then_the_two_commands_then_a_picture() -> None:
    title, job, commands = README.split("\n\n")[:3]
    assert title == "# stell"
    assert job.startswith("A farm vet has to see to it")
    assert "./run demo" in commands
    assert "./run test" in commands
    picture = re.search(r"!\[[^]]+\]\(([^)]+)\)", README)
    assert picture, "no picture with a description"
    assert (ROOT / picture[1]).is_file()
    assert README.index("./run test") < picture.start()


def test_files_that_the_readme_names_are_there() -> None:
    for target in re.findall(r"\]\(((?!http)[^)#]+)\)", README):
        assert (ROOT / target).exists(), target


@pytest.mark.slow
def test_the_first_day_of_the_readme(tmp_path: Path) -> None:
    """Run it line by line in a folder that looks like a clone, as a shell would."""
    sheets = tmp_path / "src" / "stell" / "services" / "demo_data"
    shutil.copytree(ROOT / "src" / "stell" / "services" / "demo_data", sheets)
    run = tmp_path / "run"
    run.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m stell "$@"\n')
    run.chmod(0o755)
    # compare ends with 11 where two protocols differ; a fresh copy differs in nothing.
    script = "set -eu\n" + "\n".join(TOUR)
    done = subprocess.run(
        ["/bin/sh", "-c", script],
        cwd=tmp_path,
        env={**os.environ, "COLUMNS": "80", "NO_COLOR": "1"},
        capture_output=True,
        encoding="utf-8",
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, f"{done.stdout[-2000:]}\n{done.stderr[-2000:]}"
    assert len(TOUR) >= 6
    text = " ".join(done.stdout.split())
    for said in (
        "37 rams, judged by house",
        "33 examinations stored, 33 rams new on the books",
        "), said your name: three front teeth gone",
        "No check, answer, limit or figure differs",
    ):
        assert said in text, said
    for file in ("report.pdf", "run-sheet.pdf", "records.xlsx", "backup.stell", "ours.toml"):
        assert (tmp_path / "data" / file).stat().st_size > 1000, file
