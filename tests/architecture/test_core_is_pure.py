"""core takes time and chance as arguments: it reads no clock and rolls no hidden dice.

import-linter forbids whole modules (random, socket, django); this looks at single calls of
modules that core may import, such as datetime and numpy.
"""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

CORE = Path(__file__).parents[2] / "src" / "stell" / "core"

CLOCKS = {
    "datetime.datetime.now",
    "datetime.datetime.today",
    "datetime.datetime.utcnow",
    "datetime.date.today",
}
# Modules of which nothing may be used: reading a clock or the system's randomness is all they do.
FORBIDDEN_MODULES = {"time", "random", "secrets"}
HIDDEN_CHANCE = {"os.urandom", "uuid.uuid1", "uuid.uuid4"}
# Of numpy.random only what carries its own state, so that the caller owns the seed.
SEEDED = {"Generator", "SeedSequence", "BitGenerator", "PCG64", "PCG64DXSM", "Philox"}


def imported_names(tree: ast.AST) -> dict[str, str]:
    """Map each name a module binds by importing to the dotted name it stands for."""
    names = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                bound = alias.asname or alias.name.split(".")[0]
                names[bound] = alias.name if alias.asname else bound
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            for alias in node.names:
                names[alias.asname or alias.name] = f"{node.module}.{alias.name}"
    return names


def dotted(node: ast.expr, names: dict[str, str]) -> str | None:
    """Return what ``a.b.c`` stands for, or None where it does not start at an import."""
    parts = []
    while isinstance(node, ast.Attribute):
        parts.append(node.attr)
        node = node.value
    if not isinstance(node, ast.Name) or node.id not in names:
        return None
    return ".".join([names[node.id], *reversed(parts)])


def is_impure(name: str) -> bool:
    """Tell whether using this dotted name reads a clock or a global random state."""
    if name in CLOCKS | HIDDEN_CHANCE or name.split(".")[0] in FORBIDDEN_MODULES:
        return True
    head, _, member = name.rpartition(".")
    return head == "numpy.random" and member not in SEEDED | {"default_rng"}


def impurities(source: str) -> Iterator[str]:
    """Yield ``line: name`` for every use of a clock or of chance that was not passed in."""
    tree = ast.parse(source)
    names = imported_names(tree)
    for node in ast.walk(tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            own = {full for full in imported_names(node).values() if is_impure(full)}
            yield from (f"{node.lineno}: import {full}" for full in sorted(own))
        elif isinstance(node, ast.Attribute | ast.Name):
            name = dotted(node, names)
            if name and is_impure(name):
                yield f"{node.lineno}: {name}"
        elif (
            isinstance(node, ast.Call)
            and not (node.args or node.keywords)
            and dotted(node.func, names) == "numpy.random.default_rng"
        ):
            yield f"{node.lineno}: numpy.random.default_rng() without a seed"


@pytest.mark.parametrize(
    "impure",
    [
        "from datetime import date\nd = date.today()",
        "import datetime as dt\nn = dt.datetime.now(dt.UTC)",
        "from datetime import datetime as when\nf = when.now",
        "import time\nt = time.time()",
        "from time import monotonic",
        "import numpy as np\nx = np.random.normal()",
        "from numpy.random import rand",
        "from numpy import random\nx = random.normal(3)",
        "import numpy as np\nrng = np.random.default_rng()",
        "import uuid\ni = uuid.uuid4()",
        "def f():\n    import random\n    return random.random()",
    ],
)
def test_the_check_sees(impure: str) -> None:
    assert list(impurities(impure)), f"not noticed:\n{impure}"


@pytest.mark.parametrize(
    "pure",
    [
        "import numpy as np\ndef f(rng: np.random.Generator): return rng.normal()",
        "import numpy as np\nrng = np.random.default_rng(20261004)",
        "from datetime import date\ndef f(today: date): return today.toordinal()",
        "import datetime\nd = datetime.date(2026, 10, 4)",
        "from stell.core.records import time\nx = time",
    ],
)
def test_the_check_lets_pass(pure: str) -> None:
    assert not list(impurities(pure)), f"wrongly refused:\n{pure}"


def test_core_reads_no_clock_and_no_hidden_chance() -> None:
    found = [
        f"{path.relative_to(CORE)}:{what}"
        for path in sorted(CORE.rglob("*.py"))
        for what in impurities(path.read_text(encoding="utf-8"))
    ]
    assert not found, "pass `today` or `rng` as an argument instead:\n" + "\n".join(found)
