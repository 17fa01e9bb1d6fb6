"""The shape that DEVELOPERS.md promises: small modules, all of them on the map."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("api", "matching", "logistics", "demo_fixtures")
MOST_LINES, MOST_FUNCTION_LINES = 400, 60
KNOWN = {
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "manage.py",
    "pyproject.toml",
    "requirements.lock",
    "api",
    "matching",
    "logistics",
    "tests",
    "demo_fixtures",
}


def modules() -> list[Path]:
    return sorted(
        path
        for package in PACKAGES
        for path in (ROOT / package).rglob("*.py")
        if "migrations" not in path.parts and path.name != "__init__.py"
    )


def test_every_module_is_on_the_developers_map() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text()
    missing = [
        str(path.relative_to(ROOT))
        for path in modules()
        if f"`{path.stem}`" not in text and f"/{path.stem}" not in text
    ]
    assert not missing


@pytest.mark.parametrize(
    "path", modules(), ids=lambda path: str(path.relative_to(ROOT))
)
def test_a_module_has_one_subject_and_few_lines(path: Path) -> None:
    source = path.read_text()
    assert len(source.splitlines()) <= MOST_LINES
    long = [
        node.name
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.FunctionDef)
        and (node.end_lineno or 0) - node.lineno >= MOST_FUNCTION_LINES
    ]
    assert not long


def test_nothing_else_lies_at_the_top() -> None:
    assert {path.name for path in ROOT.iterdir() if path.name[0] != "."} <= KNOWN | {
        "__pycache__"
    }
