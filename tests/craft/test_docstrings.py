"""What the trade knows is said where it is worked out, and no file or function outgrows a look."""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

TOP = Path(__file__).parents[2]
LONGEST_MODULE, LONGEST_FUNCTION = 400, 50

Function = ast.FunctionDef | ast.AsyncFunctionDef


@cache
def modules() -> dict[str, ast.Module]:
    """Every module of the house by its path; migrations are written by Django."""
    paths = (path for house in ("decaljobs", "workshop") for path in (TOP / house).rglob("*.py"))
    return {
        path.relative_to(TOP).as_posix(): ast.parse(path.read_text(encoding="utf-8"))
        for path in sorted(paths)
        if "migrations" not in path.parts
    }


def craft() -> Iterator[tuple[str, ast.Module]]:
    return ((path, tree) for path, tree in modules().items() if "decaljobs/craft/" in path)


def public(kinds: object) -> Iterator[tuple[str, ast.AST]]:
    """All that is public in the craft of these kinds, by its path and name."""
    for path, tree in craft():
        for node in tree.body:
            if isinstance(node, kinds) and not node.name.startswith("_"):
                yield f"{path}: {node.name}", node


def test_it_looks_at_the_whole_house():
    needed = {"decaljobs/craft/drying.py", "decaljobs/views/bench.py", "workshop/urls.py"}
    assert needed <= modules().keys()
    assert "decaljobs/craft/drying.py: ready_at" in dict(public(Function))


def test_every_module_of_the_craft_says_what_it_is_for():
    assert not [path for path, tree in craft() if not ast.get_docstring(tree)]


def test_every_public_function_and_class_of_the_craft_says_what_it_is():
    assert not [
        name for name, node in public(Function | ast.ClassDef) if not ast.get_docstring(node)
    ]


def test_every_public_method_of_the_craft_says_what_it_is():
    methods = (
        (f"{name}.{method.name}", method)
        for name, node in public(ast.ClassDef)
        for method in node.body
        if isinstance(method, Function) and not method.name.startswith("_")
    )
    assert not [name for name, method in methods if not ast.get_docstring(method)]


def test_every_public_function_of_the_craft_shows_an_example_that_runs():
    # pytest runs them: --doctest-modules in .pytest.ini
    shown = {name: ast.get_docstring(node) or "" for name, node in public(Function)}
    assert not [name for name, said in shown.items() if ">>> " not in said]


def test_no_module_and_no_function_is_too_long_to_take_in():
    lengths = {path: len((TOP / path).read_text("utf-8").splitlines()) for path in modules()}
    assert not {path: lines for path, lines in lengths.items() if lines > LONGEST_MODULE}
    functions = {
        f"{path}: {node.name}": node.end_lineno - node.lineno + 1
        for path, tree in modules().items()
        for node in ast.walk(tree)
        if isinstance(node, Function)
    }
    assert not {name: lines for name, lines in functions.items() if lines > LONGEST_FUNCTION}
