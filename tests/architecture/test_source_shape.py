"""The shape of the source: every module says what it is for, stays on one topic and stays short."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "stell"
MOST_LINES = 600
MOST_BODY_LINES = 80
NAMES_THAT_SAY_NOTHING = {"utils", "util", "helpers", "helper", "misc", "common", "tools"}

WRITTEN = sorted(
    path
    for folder in ("src", "tests", "bench", "tools")
    for path in (ROOT / folder).rglob("*.py")
    if "migrations" not in path.parts  # written by Django
)
BROWSER = sorted(
    path
    for ending in ("*.js", "*.mjs")
    for path in (ROOT / "src").rglob(ending)
    if "vendor" not in path.parts
)


def name(path: Path) -> str:
    """Return the file's place in the repository, for messages and test ids."""
    return path.relative_to(ROOT).as_posix()


def body_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Count a function's lines from its first statement on, docstring left out."""
    body = function.body
    if ast.get_docstring(function, clean=False) is not None:
        body = body[1:]
    return 0 if not body else function.end_lineno - body[0].lineno + 1


def test_there_is_something_to_look_at() -> None:
    assert SOURCE / "core" / "__init__.py" in WRITTEN, "the walk found no source files"


def test_every_module_has_a_docstring() -> None:
    bare = [
        name(path)
        for path in WRITTEN
        if path.is_relative_to(SOURCE)
        and not ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert not bare, f"say in the first line what these are for: {bare}"


def test_no_module_is_named_after_nothing() -> None:
    vague = [
        name(path)
        for path in WRITTEN
        if path.is_relative_to(SOURCE) and {path.stem, path.parent.name} & NAMES_THAT_SAY_NOTHING
    ]
    assert not vague, f"name these after what they do: {vague}"


@pytest.mark.parametrize("path", WRITTEN + BROWSER, ids=name)
def test_file_is_short_enough_to_read(path: Path) -> None:
    lines = len(path.read_text(encoding="utf-8").splitlines())
    assert lines <= MOST_LINES, f"{name(path)} has {lines} lines, at most {MOST_LINES}: split it"


def test_functions_fit_on_a_screen_or_two() -> None:
    long = [
        f"{name(path)}:{node.lineno} {node.name}: {body_lines(node)} lines"
        for path in WRITTEN
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and body_lines(node) > MOST_BODY_LINES
    ]
    assert not long, f"at most {MOST_BODY_LINES} lines in a function's body:\n" + "\n".join(long)
