"""The shape of the code: who may import whom, how large a piece may be, what only one place may do."""

from __future__ import annotations

import ast
import functools
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "maintain"

FILE_LINES = 400
FUNCTION_LINES = 40
ARGUMENTS = 6
COMPLEXITY = 10

# Larger than the limits, each with its reason: "file" or "file::function".
LONGER: dict[str, str] = {}
MORE_ARGUMENTS: dict[str, str] = {}

COMMANDS = PACKAGE / "cli"
SCREENS = PACKAGE / "render"
MODULES = sorted(PACKAGE.rglob("*.py"))
SOURCES = [*MODULES, *sorted((ROOT / "demo_fleet").glob("*.py")), ROOT / "docs" / "regenerate.py"]
TESTS = sorted((ROOT / "tests").rglob("*.py"))

MAY_ASK_THE_CLOCK = {"maintain/cli/_command.py", "maintain/records/journal.py"}
ASKING_THE_CLOCK = {"date.today", "datetime.now", "datetime.today", "datetime.utcnow", "time.time", "time.localtime"}

Function = ast.FunctionDef | ast.AsyncFunctionDef


def _name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


@functools.cache
def _tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def _nodes(paths: list[Path], kind: type[Any]) -> Iterator[tuple[Path, str, Any]]:
    """All nodes of a kind, with the file and the place in words."""
    for path in paths:
        for node in ast.walk(_tree(path)):
            if isinstance(node, kind):
                yield path, f"{_name(path)}:{node.lineno}", node


def _dotted(node: ast.AST) -> str:
    """The text of a name such as `np.random.seed`; empty for anything else."""
    if isinstance(node, ast.Name):
        return node.id
    before = _dotted(node.value) if isinstance(node, ast.Attribute) else ""
    return f"{before}.{node.attr}" if before and isinstance(node, ast.Attribute) else ""


def _imported_at_module_level(path: Path) -> Iterator[str]:
    for node in _tree(path).body:
        if isinstance(node, ast.Import):
            yield from (each.name for each in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from (f"{node.module}.{each.name}" for each in node.names)


def _functions(path: Path) -> Iterator[tuple[str, Function]]:
    for node in ast.walk(_tree(path)):
        if isinstance(node, Function):
            yield f"{_name(path)}::{node.name}", node


def _arguments(function: Function) -> list[ast.arg]:
    return function.args.posonlyargs + function.args.args + function.args.kwonlyargs


def _lines(function: Function) -> int:
    """Lines of code: what explains (the docstring) and what lists the arguments is not counted."""
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    return (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0


def test_imports_go_one_way_only() -> None:
    command = [Path(sys.executable).with_name("lint-imports"), "--config", ROOT / "pyproject.toml", "--no-cache"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_file_can_be_read_in_one_sitting() -> None:
    lines = {_name(path): len(path.read_text(encoding="utf-8").splitlines()) for path in SOURCES + TESTS}
    assert {name: count for name, count in lines.items() if count > FILE_LINES and name not in LONGER} == {}


def test_a_function_fits_on_a_screen() -> None:
    lines = {name: _lines(each) for path in SOURCES for name, each in _functions(path)}
    assert {name: count for name, count in lines.items() if count > FUNCTION_LINES and name not in LONGER} == {}


def test_a_function_takes_few_arguments() -> None:
    taken = {
        name: len([each for each in _arguments(function) if each.arg not in ("self", "cls")])
        for path in SOURCES
        if not path.is_relative_to(COMMANDS)  # a command's options are its arguments
        for name, function in _functions(path)
    }
    assert {name: count for name, count in taken.items() if count > ARGUMENTS and name not in MORE_ARGUMENTS} == {}


def test_no_function_branches_too_often() -> None:
    command = [Path(sys.executable).with_name("ruff"), "check", "--select=C901", "--isolated"]
    if not command[0].is_file():
        pytest.skip("ruff is not installed; the linter's own run keeps this")
    limit = f"lint.mccabe.max-complexity={COMPLEXITY}"
    done = subprocess.run(
        [*command, "--config", limit, "maintain"], cwd=ROOT, capture_output=True, text=True, timeout=60, check=False
    )
    assert done.returncode == 0, done.stdout


def test_every_exception_to_the_limits_is_still_needed() -> None:
    for name in LONGER:
        path, _, function = name.partition("::")
        if function:
            assert any(each == name and _lines(node) > FUNCTION_LINES for each, node in _functions(ROOT / path)), name
        else:
            assert len((ROOT / path).read_text(encoding="utf-8").splitlines()) > FILE_LINES, name
    for name in MORE_ARGUMENTS:
        assert any(each == name for each, _ in _functions(ROOT / name.partition("::")[0])), name


def test_only_two_places_ask_the_clock() -> None:
    asked = [
        where
        for path, where, node in _nodes(MODULES, ast.Call)
        if _name(path) not in MAY_ASK_THE_CLOCK and _dotted(node.func) in ASKING_THE_CLOCK
    ]
    assert asked == [], "today comes in as an argument"


def test_only_commands_and_screens_speak_to_the_user() -> None:
    silent = [path for path in MODULES if not path.is_relative_to(COMMANDS) and not path.is_relative_to(SCREENS)]
    spoken = [where for _, where, node in _nodes(silent, ast.Call) if _dotted(node.func) in ("print", "input")]
    streams = ("sys.stdout", "sys.stderr", "sys.stdin")
    assert spoken + [where for _, where, node in _nodes(silent, ast.Attribute) if _dotted(node) in streams] == []


def test_nothing_warns_exits_or_draws_unseeded_numbers() -> None:
    forbidden = ("warnings.warn", "sys.exit", "os._exit", "exit", "quit", "random.random", "np.random.seed")
    assert [where for _, where, node in _nodes(MODULES, ast.Call) if _dotted(node.func) in forbidden] == []
    unseeded = [
        where
        for _, where, node in _nodes(MODULES, ast.Call)
        if _dotted(node.func).endswith("default_rng") and not node.args and not node.keywords
    ]
    assert unseeded == [], "a generator comes in as an argument, or has a fixed seed"


def test_a_command_module_starts_with_light_imports_only() -> None:
    ours = ("maintain.__version__", "maintain.vocabulary", "maintain.errors", "maintain.cli")
    heavy = [
        f"{_name(path)}: {module}"
        for path in sorted(COMMANDS.glob("*.py"))
        for module in _imported_at_module_level(path)
        if module.partition(".")[0] not in {*sys.stdlib_module_names, "typer"} and not module.startswith(ours)
    ]
    assert heavy == []


def test_the_core_has_numpy_only_at_module_level() -> None:
    heavy = [
        f"{_name(path)}: {module}"
        for path in sorted((PACKAGE / "core").glob("*.py"))
        for module in _imported_at_module_level(path)
        if module.partition(".")[0] not in {*sys.stdlib_module_names, "numpy", "maintain"}
    ]
    assert heavy == []


def test_everything_public_says_what_it_is_for() -> None:
    silent = [
        f"{_name(path)}::{node.name}"
        for path in MODULES
        for node in _tree(path).body
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
        if not node.name.startswith("_") and not ast.get_docstring(node)
    ]
    assert silent + [_name(path) for path in MODULES if not ast.get_docstring(_tree(path))] == []


def test_migrations_stand_on_their_own() -> None:
    for path in sorted((ROOT / "migrations" / "versions").glob("*.py")):
        assert "maintain" not in path.read_text(encoding="utf-8"), f"{path.name} would change with the program"
