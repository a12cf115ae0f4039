"""The house sizes: small modules, small functions, plain names, no code where none is looked for."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "upsides"
FOLDERS = ("src", "tests", "tools", "benchmarks")
MOST_LINES, MOST_IN_FUNCTION, MOST_IN_VIEW = 400, 60, 15
NOT_A_NAME = {"utils", "util", "common", "helpers", "helper", "misc"}
NOT_AN_ORIGIN = re.compile(r"\b(transcripts?|interview(s|ed|ee)?|podcasts?|webinars?|talk(s|ing|ed)?)\b|\B/work/", re.I)
BEGINNINGS = ("transcript", "interview", "podcast", "webinar", "talk", "/work/")
WRITTEN = {".py", ".toml", ".md", ".html", ".css", ".sh", ".svg", ".js", ".csv", ".typed", ""}

Function = ast.FunctionDef | ast.AsyncFunctionDef
HOLDS = ("body", "orelse", "handlers", "finalbody", "cases")
"""The parts of a statement that hold statements, and so functions."""


def _modules() -> list[Path]:
    found = [path for folder in FOLDERS for path in (ROOT / folder).rglob("*.py")]
    return sorted(path for path in found if "migrations" not in path.parts)


@cache
def _parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def _functions(path: Path) -> Iterator[Function]:
    found: list[ast.AST] = [_parsed(path)]
    while found:
        node = found.pop()
        found += [inner for part in HOLDS for inner in getattr(node, part, ())]
        if isinstance(node, Function):
            yield node


def _lines(function: Function) -> int:
    """Return the lines of a function with its docstring, its decorators left out."""
    return (function.end_lineno or function.lineno) - function.lineno + 1


def _called(path: Path, function: Function) -> str:
    return f"{path.relative_to(ROOT)}:{function.lineno} {function.name}"


def test_no_module_is_long() -> None:
    """No module of the package, the tests, the tools or the benchmarks has more than 400 lines."""
    long = {str(path.relative_to(ROOT)): len(path.read_text(encoding="utf-8").splitlines()) for path in _modules()}
    assert {path: lines for path, lines in long.items() if lines > MOST_LINES} == {}


def test_no_function_is_long() -> None:
    """No function has more than 60 lines, its docstring included."""
    found = {_called(path, f): _lines(f) for path in _modules() for f in _functions(path)}
    assert {name: lines for name, lines in found.items() if lines > MOST_IN_FUNCTION} == {}


def test_views_are_short() -> None:
    """No function of a `views.py` has more than 15 lines."""
    views = sorted(SOURCE.rglob("views.py"))
    assert views, "there are no views to look at"
    found = {_called(path, f): _lines(f) for path in views for f in _functions(path)}
    assert {name: lines for name, lines in found.items() if lines > MOST_IN_VIEW} == {}


def test_modules_are_named_for_their_subject() -> None:
    """No module or folder is called utils, common, helpers or the like."""
    named = {name for path in _modules() for name in path.relative_to(ROOT).with_suffix("").parts}
    assert named & NOT_A_NAME == set()


def _is_reexport(node: ast.stmt) -> bool:
    match node:
        case ast.Import() | ast.ImportFrom() | ast.Expr(value=ast.Constant(value=str())):
            return True
        case ast.Assign(targets=[ast.Name(id="__all__")]):
            return True
    return False


def test_init_holds_reexports_only() -> None:
    """An `__init__.py` of the package holds a docstring, imports and `__all__`, nothing else."""
    found = {
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in SOURCE.rglob("__init__.py")
        for node in _parsed(path).body
        if not _is_reexport(node)
    }
    assert found == set()


def test_every_test_says_what_must_hold() -> None:
    """Every test function has a docstring that is a sentence."""
    tests = [path for path in _modules() if path.name.startswith("test_")]
    said = {
        _called(path, f): (ast.get_docstring(f) or "").strip()
        for path in tests
        for f in _functions(path)
        if f.name.startswith("test_")
    }
    assert said
    assert [name for name, text in said.items() if not text.split("\n\n")[0].endswith((".", ":"))] == []


def _written() -> Iterator[Path]:
    """Yield every text file of the tree: the root's own, and those of its folders."""
    yield from (path for path in ROOT.iterdir() if path.suffix in {".md", ".toml"} or path.name == "Makefile")
    for folder in (*FOLDERS, "docs", ".ci"):
        yield from (path for path in (ROOT / folder).rglob("*") if path.is_file() and path.suffix in WRITTEN)


def _may_name_one(path: Path) -> list[str]:
    """Return the lines of a file, none if no word of the pattern begins anywhere in it: most files are told at once."""
    text = path.read_text(encoding="utf-8")
    low = text.lower()
    return text.splitlines() if any(word in low for word in BEGINNINGS) else []


def test_nothing_names_an_origin_outside_the_project() -> None:
    """No file of the tree names a spoken source or a path of one machine; only the patterns themselves may."""
    found = [
        f"{path.relative_to(ROOT)}:{number}: {match[0]}"
        for path in _written()
        for number, line in enumerate(_may_name_one(path), start=1)
        if not (path == Path(__file__).resolve() and line.startswith(("NOT_AN_ORIGIN =", "BEGINNINGS =")))
        for match in NOT_AN_ORIGIN.finditer(line)
    ]
    assert found == []
