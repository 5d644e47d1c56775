"""The order of the house: imports run downward only, and what starts quickly loads nothing heavy."""

import ast
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

import runner

HOUSE = Path(runner.__file__).parent

# Lower rooms first; a room may use those before it, never those after it.
STOREYS: tuple[tuple[str, ...], ...] = (
    ("frozen", "stamp", "safe_text", "quantities"),
    ("joint",),
    ("procedure",),
    ("toolbox",),
    ("job",),
    ("view",),
    ("picture", "outlook", "toolwords", "settingwords", "proof", "map", "outside", "places", "log"),
    ("settings", "review", "earlier", "ready"),
    ("typedline",),
    ("replaying",),
    ("run",),
    ("start",),
    ("plain", "bench"),
    ("cli",),
    ("__main__",),
)
PLACE = {room: place for place, rooms in enumerate(STOREYS) for room in rooms}
FILES = sorted(path for path in HOUSE.rglob("*.py") if "shipped" not in path.parts)
NO_NAMES = {"utils", "util", "helpers", "helper", "common", "misc", "tools_", "stuff", "shared"}


def _room(module: str) -> str:
    return module.split(".")[1] if "." in module else ""


def _name(path: Path) -> str:
    return ".".join(["runner", *path.relative_to(HOUSE).with_suffix("").parts]).removesuffix(".__init__")


@cache
def _tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text())


@cache
def _imports(path: Path, *, inside_too: bool = True) -> set[str]:
    """Modules that a file imports; with `inside_too` also those imported within functions."""
    tree = _tree(path)
    nodes = ast.walk(tree) if inside_too else iter(_at_import(tree))
    found: set[str] = set()
    for node in nodes:
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path} imports by dots; say the whole name"
            found.add(node.module or "")
            if node.module == "runner":
                found |= {f"runner.{alias.name}" for alias in node.names}
    return found


def _at_import(tree: ast.Module) -> list[ast.stmt]:
    """Statements run when the module is imported (not those for the type checker alone)."""
    waiting, found = list(tree.body), []
    while waiting:
        node = waiting.pop()
        found.append(node)
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test):
            continue
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            waiting += [child for child in ast.iter_child_nodes(node) if isinstance(child, ast.stmt)]
    return found


def test_every_module_has_its_room():
    rooms = {_room(_name(path)) for path in FILES} - {""}
    assert rooms <= set(PLACE), f"say where these stand: {sorted(rooms - set(PLACE))}"


def imports_run_downward_only(path: Path) -> None:
    here = _room(_name(path))
    if not here:
        assert not {name for name in _imports(path) if name.startswith("runner")}
        return
    for name in _imports(path):
        there = _room(name) if name.startswith("runner.") else ""
        if there and there in PLACE and there != here:
            assert PLACE[there] < PLACE[here] or _side_by_side(here, there), f"{here} may not use {name}"


def _side_by_side(here: str, there: str) -> bool:
    """Rooms of one storey may use those named before them; the two front ends know nothing of each other."""
    rooms = STOREYS[PLACE[here]]
    return there in rooms and rooms.index(there) < rooms.index(here) and "bench" not in rooms


def only_the_bench_imports_textual(path: Path) -> None:
    textual = {name for name in _imports(path) if name.split(".")[0] in ("textual", "rich")}
    assert not textual or _room(_name(path)) == "bench"


def modules_say_what_they_are_and_stay_readable(path: Path) -> None:
    parts = set(path.relative_to(HOUSE).with_suffix("").parts)
    assert not parts & NO_NAMES, "a module is named after what it holds"
    text = path.read_text()
    assert len(text.splitlines()) <= 450
    if text.strip():
        assert ast.get_docstring(_tree(path)), "every module says in a docstring why it exists"


def no_error_is_swallowed_and_nothing_is_left_undone(path: Path) -> None:
    tree = _tree(path)
    for node in ast.walk(tree):
        if isinstance(node, ast.ExceptHandler):
            assert node.type is not None, f"{path}:{node.lineno}: says which errors it means"
            broad = isinstance(node.type, ast.Name) and node.type.id in ("Exception", "BaseException")
            silent = all(isinstance(step, ast.Pass) for step in node.body)
            assert not (broad and silent), f"{path}:{node.lineno}: swallows every error"
        assert not (isinstance(node, ast.Raise) and "NotImplementedError" in ast.dump(node)), path
        if isinstance(node, ast.Call) and _called(node) == "suppress":
            broad = {getattr(arg, "id", "") for arg in node.args} & {"Exception", "BaseException"}
            assert not broad, f"{path}:{node.lineno}: suppresses every error"
    assert "TODO" not in path.read_text()
    assert "FIXME" not in path.read_text()


CHECKS = (
    imports_run_downward_only,
    only_the_bench_imports_textual,
    modules_say_what_they_are_and_stay_readable,
    no_error_is_swallowed_and_nothing_is_left_undone,
)


@pytest.mark.parametrize("path", FILES, ids=_name)
def test_a_module_keeps_the_order_of_the_house(path: Path) -> None:
    for check in CHECKS:
        check(path)


def _called(node: ast.Call) -> str:
    """The last name of what is called."""
    return node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")


HEAVY = ("textual", "rich", "yaml", "pint", "runner.bench", "runner.plain", "runner.log", "runner.cli")


def _loaded(statement: str) -> set[str]:
    code = f"import sys\n{statement}\nprint('\\n'.join(sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=HOUSE.parent
    )
    return set(done.stdout.split())


def test_importing_the_engine_loads_neither_screen_nor_yaml_nor_units():
    loaded = _loaded(
        "import runner.job, runner.job.decide, runner.job.evolve, runner.job.record, runner.job.asking, runner.picture"
    )
    assert "runner.job.decide" in loaded
    assert not {name for name in loaded if name in HEAVY}


JOINT = sorted(_name(path) for path in (HOUSE / "joint").glob("*.py"))


def test_importing_the_arithmetic_loads_neither_units_registry_nor_screen():
    assert {"runner.joint.preload", "runner.joint.sanity", "runner.joint.setting"} <= set(JOINT)
    loaded = _loaded("import " + ", ".join(JOINT))
    assert set(JOINT) <= loaded
    assert not {name for name in loaded if name in HEAVY}


def test_the_command_line_loads_the_screen_only_when_it_is_asked_for():
    loaded = _loaded("import runner.cli")
    assert not loaded & {"textual", "rich", "pint", "yaml", "runner.bench"}


def test_the_engine_knows_no_clock_no_files_and_no_chance():
    for path in sorted((HOUSE / "job").rglob("*.py")):
        top = {name.split(".")[0] for name in _imports(path)}
        outside = {
            "time",
            "os",
            "pathlib",
            "random",
            "secrets",
            "uuid",
            "socket",
            "threading",
            "asyncio",
            "io",
        }
        assert not top & outside, f"{path.name} reaches outside: {top & outside}"
        calls = {node.func.id for node in ast.walk(ast.parse(path.read_text()))
                 if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)}  # fmt: skip
        assert not calls & {"open", "input", "print", "exec", "eval"}, path.name
