"""The documents are true: made by the program where they show it, and naming only what exists."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from docs.regenerate import leaves, walk

ROOT = Path(__file__).resolve().parents[1]
DOCUMENTS = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md"))]

RUN_IT = "python3 -m venv .venv && .venv/bin/pip install --quiet . && .venv/bin/maintain demo"
TEST_IT = 'python3 -m venv .venv && .venv/bin/pip install --quiet -e ".[test]" && .venv/bin/python -m pytest'

_NAMED = re.compile(r"\bmaintain((?: [a-z][a-z-]+)+)")


def _name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def _cog(*args: str | Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "cogapp", "-I", ROOT, *args]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=600, check=False)


def _typed(text: str) -> str:
    """What somebody typed: the document without the output of cog."""
    return re.sub(r"(?<=\]\]\]).*?(?=\[\[\[end\]\]\])", "", text, flags=re.DOTALL)


def _fences(text: str) -> list[tuple[str, str]]:
    """Language and content of every fenced block."""
    return re.findall(r"^ *```(\w*)\n(.*?)^ *```", text, flags=re.DOTALL | re.MULTILINE)


def _not_a_command(words: str) -> bool:
    """Whether words after "maintain" call nothing that exists."""
    known = dict(walk())
    first, *rest = words.split()
    if (first,) not in known:
        return True
    return (first,) not in leaves() and bool(rest) and (first, rest[0]) not in known


@pytest.mark.parametrize("path", DOCUMENTS, ids=_name)
def test_what_a_document_shows_is_what_the_program_answers(path: Path) -> None:
    done = _cog("--check", "--diff", path)
    assert done.returncode == 0, f"run: cog -I . -r README.md DEVELOPERS.md docs/*.md\n{done.stdout}{done.stderr}"


def test_an_edited_answer_is_noticed(tmp_path: Path) -> None:
    edited = tmp_path / "exit-codes.md"
    edited.write_text((ROOT / "docs" / "exit-codes.md").read_text(encoding="utf-8").replace("| 3 |", "| 33 |"))
    assert _cog("--check", edited).returncode == 5


@pytest.mark.parametrize("path", DOCUMENTS, ids=_name)
def test_no_answer_of_the_program_is_typed_by_hand(path: Path) -> None:
    typed = _fences(_typed(path.read_text(encoding="utf-8")))
    assert [
        block for language, block in typed if language == "console" or re.search(r"^\$ ", block, re.MULTILINE)
    ] == []


@pytest.mark.parametrize("path", DOCUMENTS, ids=_name)
def test_a_document_names_only_commands_that_exist(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    code = [block for _, block in _fences(text)] + re.findall(r"(?<!`)`([^`\n]+)`(?!`)", text)
    called = [words for each in code for words in re.findall(r"(?:^\$? *|/)" + _NAMED.pattern[2:], each, re.MULTILINE)]
    assert [f"maintain{words}" for words in called if _not_a_command(words)] == []


def test_a_hint_names_only_commands_that_exist() -> None:
    named = [
        f"{_name(path)}:{line}: maintain{words}"
        for path in sorted((ROOT / "maintain").rglob("*.py"))
        for line, text in _texts(path)
        for words in _NAMED.findall(text)
        if _not_a_command(words)
    ]
    assert named == []


def _texts(path: Path) -> Iterator[tuple[int, str]]:
    """All texts of a module but its docstrings and the sentences about the program as a whole."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    documented = (ast.Module, ast.ClassDef, ast.FunctionDef)
    docs = {
        id(node.body[0].value) for node in ast.walk(tree) if isinstance(node, documented) and ast.get_docstring(node)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs:
            yield node.lineno, node.value


def test_every_command_is_in_the_reference() -> None:
    text = (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")
    assert [path for path in leaves() if f"`maintain {' '.join(path)} " not in text] == []


def test_every_answer_that_only_reads_has_its_keys_in_the_reference() -> None:
    text = (ROOT / "docs" / "json.md").read_text(encoding="utf-8")
    options = {path: {option for each in command.params for option in each.opts} for path, command in leaves().items()}
    reading = [path for path, taken in options.items() if "--json" in taken and "--who" not in taken]
    writing_files = {("export",), ("demo",)}
    missing = [path for path in reading if not re.search(rf"^## maintain {' '.join(path)}\b", text, re.MULTILINE)]
    assert set(missing) <= writing_files


@pytest.mark.parametrize("path", DOCUMENTS, ids=_name)
def test_links_within_the_project_lead_somewhere(path: Path) -> None:
    links = re.findall(r"\]\(([^)#\s]+)[^)]*\)", path.read_text(encoding="utf-8"))
    local = [each for each in links if "://" not in each and not each.startswith("mailto:")]
    assert [each for each in local if not (path.parent / each).exists()] == []


def test_the_readme_starts_with_two_commands_and_the_second_is_what_ci_runs() -> None:
    readme = [line.strip() for line in (ROOT / "README.md").read_text(encoding="utf-8").splitlines()]
    assert RUN_IT in readme
    assert TEST_IT in readme
    assert TEST_IT in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()


def test_the_changelog_has_room_for_what_comes() -> None:
    assert "## Unreleased" in (ROOT / "docs" / "changelog.md").read_text(encoding="utf-8")
