"""The rules of the house that no import linter sees: read from the source itself."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
APPS = ("workshop", "inventory", "batches")
BELOW = {"workshop": set(), "inventory": {"workshop"}, "batches": {"workshop", "inventory"}}
LABELS_OF = {  # Django app labels, by the app they live in
    "workshop": {"workshop", "people", "reminders"},
    "inventory": {"inventory"},
    "batches": {"batches"},
}
POSTINGS = {"Posting", "Movement", "Stock", "ChainHead"}
RELATIONS = {"ForeignKey", "OneToOneField", "ManyToManyField"}
WRITERS = {"update", "create", "get_or_create", "update_or_create", "Stock"}
PURE = ("workshop.calc", "inventory.calc", "batches.calc", "batches.stages", "batches.labels")
FRAMEWORKS = ("django", "celery", "weasyprint", "redis", "psycopg")
MOST_LINES = 400


def sources(*, migrations: bool = False) -> Iterator[Path]:
    """Python files of the three apps."""
    for app in APPS:
        for path in sorted((ROOT / app).rglob("*.py")):
            if migrations or "migrations" not in path.parts:
                yield path


def name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path))


def called(node: ast.AST) -> str:
    """The last name of what a call calls, or nothing."""
    if not isinstance(node, ast.Call):
        return ""
    return getattr(node.func, "attr", getattr(node.func, "id", ""))


def reexports(module: ast.Module) -> list[str]:
    """Names of the ledger's own tables that a package hands on."""
    handed = []
    for node in ast.walk(module):
        if isinstance(node, ast.ImportFrom | ast.Import):
            handed += [alias.asname or alias.name for alias in node.names]
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            handed.append(node.value)
    return [one for one in handed if one in POSTINGS]


def upward_keys(module: ast.Module, app: str) -> list[str]:
    """String keys of relations that point to an app above."""
    allowed = set().union(*(LABELS_OF[each] for each in BELOW[app] | {app}))
    return [
        arg.value
        for node in ast.walk(module)
        if called(node) in RELATIONS
        for arg in (*node.args, *(keyword.value for keyword in node.keywords if keyword.arg == "to"))
        if isinstance(arg, ast.Constant) and "." in str(arg.value)
        if str(arg.value).split(".")[0] not in allowed
    ]


def balance_writes(module: ast.Module) -> list[int]:
    """Lines that write `on_hand`: as a keyword of something that writes, or by assignment."""
    lines = []
    for node in ast.walk(module):
        if called(node) in WRITERS and any(keyword.arg == "on_hand" for keyword in node.keywords):
            lines.append(node.lineno)
        targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
        lines += [one.lineno for one in targets if _is_balance(one)]
    return lines


def _is_balance(target: ast.AST | None) -> bool:
    """A row's `on_hand`. An object's own attribute of that name (`self.on_hand`) is no row of stock."""
    if not isinstance(target, ast.Attribute) or target.attr != "on_hand":
        return False
    return not (isinstance(target.value, ast.Name) and target.value.id == "self")


def test_the_ledgers_tables_are_named_in_their_own_module_only() -> None:
    packages = [path for path in sources() if path.name == "__init__.py"]
    assert len(packages) > 10
    assert {name(path): found for path in packages if (found := reexports(tree(path)))} == {}


def test_no_model_is_looked_up_by_a_string() -> None:
    asked = [name(path) for path in sources() if any(called(n) == "get_model" for n in ast.walk(tree(path)))]
    assert asked == []


def test_string_keys_point_downward() -> None:
    found = {
        name(path): keys
        for path in sources()
        if (keys := upward_keys(tree(path), path.relative_to(ROOT).parts[0]))
    }
    assert found == {}


def test_only_the_ledger_writes_balances() -> None:
    writes = {name(path): lines for path in sources() if (lines := balance_writes(tree(path)))}
    assert writes != {}
    assert {path for path in writes if not path.startswith("inventory/ledger/")} == set()


def test_no_file_is_longer_than_a_reader_can_bear() -> None:
    files = [*sources(), *(ROOT / "tests").rglob("*.py")]
    files += [*(ROOT / "templates").rglob("*.html"), *(ROOT / "static").rglob("*.css")]
    files += (ROOT / "static").rglob("*.js")
    long = {name(path): n for path in files if (n := len(path.read_text("utf-8").splitlines())) > MOST_LINES}
    assert long == {}


@pytest.mark.parametrize("package", PURE)
def test_the_arithmetic_loads_no_framework(package: str) -> None:
    """Every module of the package, imported in a fresh interpreter."""
    folder = ROOT.joinpath(*package.split("."))
    modules = [
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
        for path in sorted(folder.rglob("*.py"))
    ]
    code = (
        f"import importlib, sys\nfor one in {modules!r}: importlib.import_module(one)\n"
        f"print([one for one in {FRAMEWORKS!r} if one in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.stdout.strip() == "[]", done.stdout + done.stderr


@pytest.mark.parametrize(
    ("check", "planted"),
    [
        (lambda t: reexports(t), "from inventory.models.postings import Movement"),
        (lambda t: reexports(t), "__all__ = ['Stock']"),
        (lambda t: upward_keys(t, "inventory"), "x = models.ForeignKey('batches.Batch', on_delete=1)"),
        (lambda t: upward_keys(t, "workshop"), "x = models.OneToOneField(to='inventory.Lot')"),
        (lambda t: balance_writes(t), "Stock.objects.filter(pk=1).update(on_hand=3)"),
        (lambda t: balance_writes(t), "row.on_hand += 3"),
        (lambda t: balance_writes(t), "row.on_hand = 3"),
        (lambda t: balance_writes(t), "Stock(lot=1, on_hand=3)"),
    ],
)
def test_these_checks_find_what_is_planted(check: object, planted: str) -> None:
    assert check(ast.parse(planted))  # type: ignore[operator]
    assert not check(ast.parse("from inventory.models import Lot\nrows.filter(on_hand__gt=0)"))  # type: ignore[operator]
