"""A test that compares and throws the answer away looks like a check and checks nothing."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]
# Calls that answer yes or no; on a line of their own the answer is lost.
BOOLEAN_CALLS = {"allclose", "isclose", "array_equal", "array_equiv"}


def unasserted(source: str) -> Iterator[int]:
    """Yield the lines on which a comparison stands alone."""
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.Expr):
            continue
        value = node.value
        if isinstance(value, ast.BoolOp):
            value = value.values[-1]
        if isinstance(value, ast.Compare) or (
            isinstance(value, ast.Call)
            and ast.unparse(value.func).rsplit(".", 1)[-1] in BOOLEAN_CALLS
        ):
            yield node.lineno


def without_check(source: str) -> Iterator[str]:
    """Yield the names of test functions in which nothing could ever fail on purpose.

    A call counts as a check when its name starts with ``assert``, ``check`` or ``raises``-like
    words: pytest.raises, pytest.warns, pytest.fail, numpy.testing.assert_allclose, and so on.
    """
    checks = ("assert", "check", "raises", "warns", "fail", "expect")
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.FunctionDef) or not node.name.startswith("test_"):
            continue
        inside = list(ast.walk(node))
        calls = [ast.unparse(n.func).rsplit(".", 1)[-1] for n in inside if isinstance(n, ast.Call)]
        if not any(isinstance(n, ast.Assert) for n in inside) and not any(
            name.lstrip("_").startswith(checks) for name in calls
        ):
            yield node.name


@pytest.mark.parametrize(
    "line", ["a == 1", "np.allclose(a, b)", "a and a > 2", "math.isclose(a, 3)", "1 < a < 3"]
)
def test_the_check_sees(line: str) -> None:
    assert list(unasserted(f"def test_x():\n    {line}\n")) == [2], line


def test_the_check_lets_assertions_pass() -> None:
    good = "def test_x():\n    assert a == 1\n    assert np.allclose(a, b)\n    c = a == 2\n"
    assert not list(unasserted(good))


def test_the_check_sees_a_test_without_a_check() -> None:
    assert list(without_check("def test_x():\n    judge(ram)\n")) == ["test_x"]
    assert not list(without_check("def test_x():\n    with pytest.raises(E):\n        f()\n"))


@pytest.mark.parametrize("finder", [unasserted, without_check])
def test_every_comparison_is_asserted_and_every_test_checks(finder) -> None:
    found = [
        f"{path.relative_to(TESTS)}: {what}"
        for path in sorted(TESTS.rglob("*.py"))
        for what in finder(path.read_text(encoding="utf-8"))
    ]
    assert not found, "nothing is checked here:\n" + "\n".join(found)
