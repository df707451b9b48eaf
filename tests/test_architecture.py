"""The rules of the house: who imports whom, who reads the clock, how large things grow."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from statistics import median

import pytest

ROOT = Path(__file__).resolve().parent.parent
HOUSE = ROOT / "homeprog"
FILES = sorted(HOUSE.rglob("*.py"))

# A domain module imports domain modules to its left only.
LEFT_TO_RIGHT = (
    "errors", "clock", "hours", "course", "regime", "hold", "timetable", "contact", "bout",
    "credit", "adherence", "wear", "check", "pain", "monitor", "trouble", "alert", "gate",
    "caseload",
)  # fmt: skip
ON_THEIR_OWN = frozenset({"excursion", "outcome", "figure", "comprehension", "settings"})
# numpy: the arrays scipy itself is made of; the run lengths of the monitor are matrices.
PURE = frozenset(sys.stdlib_module_names) | {"scipy", "numpy"}

# What each part of the house may import of it. Composition (factory) may import all.
MAY_IMPORT = {
    "domain": {"domain"},
    "storage": {"storage", "domain"},
    "delivery": {"delivery", "domain"},
    # phrases: a patient's words are put into the patient's language where they leave the house.
    "services": {"services", "storage", "delivery", "domain", "phrases"},
    "web": {"web", "services", "storage", "domain", "clock", "config", "extensions", "phrases"},
    "commands": {
        "commands", "services", "storage", "delivery", "domain", "clock", "config", "extensions",
        "jobs",
    },
    "jobs": {"services", "storage", "delivery", "domain", "clock", "config", "extensions"},
    "cli": {"commands"},
    "config": set(),
    "clock": set(),
    "phrases": set(),
    "extensions": {"storage"},
    "__init__": set(),
}  # fmt: skip
WRITING = frozenset({"add", "add_all", "delete", "merge", "bulk_save_objects"})
MAY_COMMIT = {
    "dispatch_prompts.py": "a claim must be on disk before anything leaves the house",
    "engine.py": "the driver's own commit, which ends a writer's turn",
    "notify_staff.py": "a claim must be on disk before anything leaves the house",
    "pair_phone.py": "a wrong try counts although its request is refused",
}
CLOCK_CALLS = {
    ("datetime", "now"), ("datetime", "utcnow"), ("datetime", "today"), ("date", "today"),
    ("time", "time"), ("time", "monotonic"), ("time", "localtime"), ("time", "gmtime"),
}  # fmt: skip


@cache
def tree_of(file: Path) -> ast.Module:
    return ast.parse(file.read_text(), str(file))


@cache
def nodes(file: Path) -> tuple[ast.AST, ...]:
    return tuple(ast.walk(tree_of(file)))


def part_of(file: Path) -> str:
    """The part of the house a file belongs to: its folder, or its own name."""
    first = file.relative_to(HOUSE).parts[0]
    return first.removesuffix(".py")


def imported(file: Path) -> Iterator[tuple[str, ...]]:
    """Every module a file imports, as its parts, relative ones made whole."""
    package = ("homeprog", *file.relative_to(HOUSE).parts[:-1])
    for node in nodes(file):
        if isinstance(node, ast.Import):
            yield from (tuple(alias.name.split(".")) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else ()
            module = (*base, *(node.module.split(".") if node.module else ()))
            yield from ((*module, alias.name) for alias in node.names)


def of_the_house(file: Path) -> Iterator[tuple[str, ...]]:
    """What a file imports of the house, without 'homeprog'."""
    return (name[1:] for name in imported(file) if name[0] == "homeprog" and len(name) > 1)


def functions(file: Path) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    for node in nodes(file):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def at(file: Path, node: ast.AST) -> str:
    return f"{file.relative_to(ROOT)}:{getattr(node, 'lineno', 0)}"


def test_each_part_imports_only_what_lies_beneath_it() -> None:
    wrong = [
        f"{file.relative_to(ROOT)} imports {'.'.join(name)}"
        for file in FILES
        if (part := part_of(file)) != "factory"
        for name in of_the_house(file)
        if name[0] not in MAY_IMPORT[part]
    ]
    assert wrong == []


def test_nothing_imports_the_factory() -> None:
    assert [
        str(file) for file in FILES for name in of_the_house(file) if name[0] == "factory"
    ] == []


def test_the_domain_imports_the_standard_library_and_scipy_only() -> None:
    wrong = [
        f"{file.relative_to(ROOT)} imports {'.'.join(name)}"
        for file in FILES
        if part_of(file) == "domain"
        for name in imported(file)
        if name[0] != "homeprog" and name[0] not in PURE
    ]
    assert wrong == []


def test_a_domain_module_imports_only_modules_to_its_left() -> None:
    order = {name: place for place, name in enumerate(LEFT_TO_RIGHT)}
    wrong = []
    for file in FILES:
        if part_of(file) != "domain":
            continue
        own = file.relative_to(HOUSE).parts[1].removesuffix(".py")
        for name in of_the_house(file):
            other = name[1] if len(name) > 1 else ""
            if other in ("", own) or own in ON_THEIR_OWN:
                continue
            if order.get(other, len(order)) >= order.get(own, -1):
                wrong.append(f"domain.{own} imports domain.{other}")
    assert wrong == []


def test_every_domain_module_has_a_place_in_the_order() -> None:
    names = {
        file.relative_to(HOUSE).parts[1].removesuffix(".py")
        for file in FILES
        if part_of(file) == "domain"
    }
    assert names - {"__init__"} <= set(LEFT_TO_RIGHT) | ON_THEIR_OWN


def test_importing_the_domain_loads_neither_flask_nor_sqlalchemy() -> None:
    modules = [
        ".".join(("homeprog", *file.relative_to(HOUSE).with_suffix("").parts))
        for file in FILES
        if part_of(file) == "domain"
    ]
    said = (
        f"import sys, {', '.join(modules)}\n"
        "print([m for m in ('flask', 'sqlalchemy') if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", said], capture_output=True, text=True, cwd=ROOT, check=True
    )
    assert done.stdout.strip() == "[]"


def test_there_are_no_circles() -> None:
    graph = {name: set() for name in map(module_of, FILES)}
    for file in FILES:
        for name in of_the_house(file):
            graph[module_of(file)] |= set(closest(name, graph)) - {module_of(file)}
    assert circle(graph) == []


def module_of(file: Path) -> str:
    parts = file.relative_to(HOUSE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def closest(name: tuple[str, ...], graph: dict[str, set[str]]) -> list[str]:
    """The module a 'from x import y' reads: x.y where that is a module, otherwise x."""
    whole, outer = ".".join(name), ".".join(name[:-1])
    return [whole] if whole in graph else [outer] if outer in graph else []


def circle(graph: dict[str, set[str]]) -> list[str]:
    """One circle of modules, or nothing. A package's own front page does not count as one."""
    done: set[str] = set()

    def walk(name: str, path: list[str]) -> list[str]:
        if name in path:
            return path[path.index(name) :]
        if name in done:
            return []
        for other in sorted(graph[name]):
            if found := walk(other, [*path, name]):
                return found
        done.add(name)
        return []

    return next((found for name in sorted(graph) if (found := walk(name, []))), [])


def test_no_import_hides_inside_a_function_or_behind_type_checking() -> None:
    wrong = [
        at(file, inner)
        for file in FILES
        for function in functions(file)
        for inner in ast.walk(function)
        if isinstance(inner, ast.Import | ast.ImportFrom)
    ]
    wrong += [
        at(file, node)
        for file in FILES
        for node in nodes(file)
        if isinstance(node, ast.Name | ast.Attribute | ast.alias)
        and "TYPE_CHECKING" in ast.unparse(node)
    ]
    assert wrong == []


def may_read_the_clock(file: Path) -> bool:
    return part_of(file) in ("clock", "jobs", "cli", "commands", "web")


def test_the_clock_is_read_only_at_the_edges() -> None:
    """`clock()` too: a rule, a query or a use case is given its now."""
    wrong = [
        f"{at(file, node)} {ast.unparse(node)}"
        for file in FILES
        if not may_read_the_clock(file)
        for node in nodes(file)
        if isinstance(node, ast.Call) and reads_the_clock(node)
    ]
    assert wrong == []


def reads_the_clock(call: ast.Call) -> bool:
    said = ast.unparse(call.func).split(".")
    return tuple(said[-2:]) in CLOCK_CALLS


def test_the_database_is_never_asked_for_the_time() -> None:
    wrong = [
        at(file, node)
        for file in FILES
        for node in nodes(file)
        if isinstance(node, ast.Attribute)
        and ast.unparse(node) in ("func.now", "func.current_timestamp", "func.localtimestamp")
    ]
    assert wrong == []


def test_web_writes_only_through_services() -> None:
    wrong = [
        f"{at(file, node)} {ast.unparse(node.func)}"
        for file in FILES
        if part_of(file) == "web"
        for node in nodes(file)
        if isinstance(node, ast.Call) and writes(node)
    ]
    assert wrong == []


def writes(call: ast.Call) -> bool:
    said = ast.unparse(call.func).split(".")
    return len(said) > 1 and said[-1] in WRITING and said[-2] in ("session", "db")


def test_only_the_edges_commit_but_for_those_with_a_reason() -> None:
    wrong = [
        at(file, node)
        for file in FILES
        if part_of(file) in ("domain", "storage", "services") and file.name not in MAY_COMMIT
        for node in nodes(file)
        if isinstance(node, ast.Call) and ast.unparse(node.func).endswith(".commit")
    ]
    assert wrong == []


def test_files_named_for_no_one_thing_do_not_exist() -> None:
    banned = {
        "utils",
        "helpers",
        "manager",
        "data",
        "info",
        "session",
        "sessions",
        "misc",
        "common",
    }
    assert [str(file) for file in FILES if file.stem in banned] == []


def test_every_module_says_in_a_line_what_it_is() -> None:
    assert [str(file) for file in FILES if not ast.get_docstring(tree_of(file))] == []


def lines_of(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of a function from its def on, its docstring left out."""
    first = function.body[0]
    told = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant)
    docstring = (first.end_lineno or 0) - first.lineno + 1 if told else 0
    return (function.end_lineno or 0) - function.lineno + 1 - docstring


def ninetieth(sizes: list[int]) -> int:
    return sorted(sizes)[int(len(sizes) * 0.9)]


def test_functions_are_small() -> None:
    sizes = {at(file, f): lines_of(f) for file in FILES for f in functions(file)}
    assert {name: size for name, size in sizes.items() if size > 50} == {}
    assert median(sizes.values()) <= 8
    assert ninetieth(list(sizes.values())) <= 30


def test_files_are_small() -> None:
    sizes = {str(file.relative_to(ROOT)): len(file.read_text().splitlines()) for file in FILES}
    assert {name: size for name, size in sizes.items() if size > 400} == {}
    assert ninetieth(list(sizes.values())) <= 250


def test_files_of_the_browser_are_small() -> None:
    scripts = [*(ROOT / "static").rglob("*.js")]
    sizes = {str(file.relative_to(ROOT)): len(file.read_text().splitlines()) for file in scripts}
    assert scripts
    assert {name: size for name, size in sizes.items() if size > 200} == {}


@pytest.mark.parametrize("name", ["domain", "storage", "delivery", "services", "web"])
def test_no_part_of_the_house_is_missing(name: str) -> None:
    assert any(part_of(file) == name for file in FILES)
