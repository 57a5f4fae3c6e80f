"""The floors of the house: who may know whom, what each floor may touch, and how large things may grow."""

import ast
import itertools
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "formmaker"

# Room -> floor. A module stands in the room of its folder; those beside the door stand where this table says.
FLOORS = {
    "ground": 0,
    "geometry": 1,
    "model": 2,
    "engine": 3,
    "sources": 4,
    "files": 4,
    "solids": 4,
    "drawing": 4,
    "pictures": 4,
    "pipeline": 5,
    "desk": 6,
    "cli": 7,
    "door": 8,
}
ROOMS_BESIDE_THE_DOOR = {
    "errors": "ground",
    "units": "ground",
    "tolerances": "ground",
    "atomic": "ground",
    "__init__": "door",
    "__main__": "door",
}

# What is not the standard library, by room; numpy is everywhere.
LIBRARIES = {
    "ground": set(),
    "geometry": {"scipy", "numba", "shapely", "manifold3d", "trimesh"},
    "model": set(),
    "engine": {"scipy", "numba", "shapely"},
    "sources": {"scipy", "shapely", "manifold3d", "trimesh", "networkx", "lxml"},
    "files": {"tomlkit"},
    "solids": {"cadquery", "OCP", "scipy", "shapely", "trimesh"},
    "drawing": {"svgwrite", "ezdxf", "reportlab", "matplotlib", "shapely"},
    "pictures": {"matplotlib", "vtkmodules", "scipy", "PIL"},
    "pipeline": set(),
    "cli": {"click", "rich"},
    "desk": {"trame", "trame_server", "aiohttp", "vtkmodules"},
    "door": set(),
}

# What a declared library requires in its turn, and is used here beside it.
ARRIVES_WITH = {
    "OCP": "cadquery",
    "vtkmodules": "vtk",
    "PIL": "matplotlib",
    "aiohttp": "trame",
    "trame_server": "trame",
}

# Floors 0 to 3 touch no file, screen, clock or chance. `atomic` is the one way that every room of floor 4 puts a file
# in its place, so it stands below them; `job` holds paths and never looks at one.
WORLD = {
    *("os", "io", "sys", "time", "datetime", "random", "secrets", "tempfile", "shutil", "glob", "logging", "socket"),
    *("subprocess", "pathlib", "urllib", "http", "importlib", "tomllib", "json", "csv", "multiprocessing"),
}
WORLD_ALLOWED = {"atomic": {"os", "tempfile", "pathlib"}, "model.job": {"pathlib"}}
CALLS = {"print", "open", "input", "exec", "eval", "breakpoint"}
METHODS = {"read_text", "write_text", "read_bytes", "write_bytes", "default_rng", "loadtxt", "savetxt", "tofile"}

LONGEST_MODULE = 400
LONGEST_BODY = 60
USUAL_BODY = 25
MOST_METHODS = 12

TOP_LEVEL = {
    *("README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", ".gitignore", ".gitattributes"),
    *(".ci", "formmaker", "tests", "profiles", "exports", "benchmarks"),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Module:
    """One file of the package: its dotted name below ``formmaker``, its room and its syntax."""

    name: str
    room: str
    lines: int
    tree: ast.Module

    @property
    def imports(self) -> Iterator[str]:
        """Dotted names of all that is imported anywhere in the file, functions and type checks included."""
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Import):
                yield from (alias.name for alias in node.names)
            elif isinstance(node, ast.ImportFrom):
                yield from (f"{node.module}.{alias.name}" for alias in node.names)

    @property
    def functions(self) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
        """All functions and methods."""
        yield from (n for n in ast.walk(self.tree) if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef))


def read_module(path: Path) -> Module:
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    room = parts[0] if len(parts) > 1 else ROOMS_BESIDE_THE_DOOR[parts[0]]
    text = path.read_text(encoding="utf-8")
    return Module(name=".".join(parts), room=room, lines=len(text.splitlines()), tree=ast.parse(text))


MODULES = [read_module(path) for path in sorted(PACKAGE.rglob("*.py"))]
NAMES = {module.name.removesuffix(".__init__") for module in MODULES}
every_module = pytest.mark.parametrize("module", MODULES, ids=[module.name for module in MODULES])


def own_targets(module: Module) -> set[str]:
    """Modules of the package that a module imports, ``from formmaker import x`` included."""
    dotted = [name.removeprefix("formmaker.") for name in module.imports if name.startswith("formmaker.")]
    found = set()
    for name in dotted:
        head = name
        while head and head not in NAMES:
            head = head.rpartition(".")[0]
        found.add(head or "__init__")
    return found


def room_of(name: str) -> str:
    head = name.partition(".")[0]
    return ROOMS_BESIDE_THE_DOOR.get(head, head)


@every_module
def test_a_module_knows_only_its_own_room_and_floors_below(module: Module) -> None:
    for target in own_targets(module):
        room = room_of(target)
        assert room == module.room or FLOORS[room] < FLOORS[module.room], f"{module.name} imports {target}"


@every_module
def test_imports_are_absolute_and_name_what_they_take(module: Module) -> None:
    for node in ast.walk(module.tree):
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0
            assert all(alias.name != "*" for alias in node.names)
        if isinstance(node, ast.Import):
            assert all(not alias.name.startswith("formmaker") or alias.asname is None for alias in node.names)


def test_no_import_comes_round_to_where_it_began() -> None:
    left = {module.name.removesuffix(".__init__"): own_targets(module) for module in MODULES}
    while free := [name for name, targets in left.items() if not targets & left.keys()]:
        for name in free:
            del left[name]
    assert left == {}


@every_module
def test_a_room_uses_its_own_libraries(module: Module) -> None:
    tops = {name.partition(".")[0] for name in module.imports}
    foreign = tops - set(sys.stdlib_module_names) - {"formmaker", "numpy"}
    assert foreign <= LIBRARIES[module.room]


def test_every_library_that_is_imported_is_declared() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    declared = {re.split(r"[\[<>=~! ;]", word)[0] for word in project["dependencies"]}
    used = set.union(*({name.partition(".")[0] for name in module.imports} for module in MODULES))
    foreign = used - set(sys.stdlib_module_names) - {"formmaker"}
    assert {ARRIVES_WITH.get(name, name) for name in foreign} <= declared


@every_module
def test_floors_0_to_3_touch_no_file_screen_clock_or_chance(module: Module) -> None:
    if FLOORS[module.room] > 3:
        return
    tops = {name.partition(".")[0] for name in module.imports}
    assert tops & WORLD <= WORLD_ALLOWED.get(module.name, set())
    for call in (node for node in ast.walk(module.tree) if isinstance(node, ast.Call)):
        if isinstance(call.func, ast.Name):
            assert call.func.id not in CALLS
        if isinstance(call.func, ast.Attribute):
            assert call.func.attr not in METHODS


@every_module
def test_only_the_command_line_prints_or_exits(module: Module) -> None:
    if module.room == "cli":
        return
    for call in (node for node in ast.walk(module.tree) if isinstance(node, ast.Call)):
        name = ast.unparse(call.func)
        assert name not in {"print", "exit", "quit", "sys.exit", "os._exit", "sys.stdout.write", "sys.stderr.write"}


@every_module
def test_a_module_says_its_purpose_and_stays_a_chapter(module: Module) -> None:
    assert ast.get_docstring(module.tree)
    assert module.lines <= LONGEST_MODULE


def body_lines(function: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    body = function.body
    if isinstance(body[0], ast.Expr) and isinstance(body[0].value, ast.Constant) and len(body) > 1:
        body = body[1:]
    return (body[-1].end_lineno or 0) - body[0].lineno + 1


def test_functions_are_short() -> None:
    sizes = {f"{module.name}.{f.name}": body_lines(f) for module in MODULES for f in module.functions}
    assert {name: size for name, size in sizes.items() if size > LONGEST_BODY} == {}
    assert sum(size < USUAL_BODY for size in sizes.values()) >= 0.9 * len(sizes)


@every_module
def test_records_are_frozen_and_classes_small(module: Module) -> None:
    for node in (n for n in ast.walk(module.tree) if isinstance(n, ast.ClassDef)):
        for decorator in map(ast.unparse, node.decorator_list):
            if decorator.startswith("dataclass"):
                assert all(f"{word}=True" in decorator for word in ("frozen", "slots", "kw_only")), node.name
        public = [n for n in node.body if isinstance(n, ast.FunctionDef) and not n.name.startswith("_")]
        assert len(public) < MOST_METHODS


def test_the_top_level_holds_what_a_stranger_expects() -> None:
    if not (ROOT / ".git").exists():
        pytest.skip("not a checkout, so what belongs to the project cannot be told from what lies about")
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.split("\0")
    assert {name.partition("/")[0] for name in listed if name} <= TOP_LEVEL


def test_the_table_of_floors_is_itself_sound() -> None:
    folders = {path.name for path in PACKAGE.iterdir() if (path / "__init__.py").exists()}
    assert folders <= FLOORS.keys()
    assert LIBRARIES.keys() == FLOORS.keys()
    for one, other in itertools.combinations((m.name for m in MODULES), 2):
        assert one.lower() != other.lower()  # two systems of three cannot tell such files apart
