"""The shape of the package: wings import down, one home for every library, nothing grows."""

import ast
import re
from collections import defaultdict
from functools import cache
from pathlib import Path

import interpass
import pytest

PACKAGE = Path(interpass.__file__).parent
MODULES = sorted(PACKAGE.rglob("*.py"))

WINGS = [  # from the ground up; a wing imports only from wings before it
    "text", "trade", "physics", "joint", "heat", "case_file", "rules", "doubt", "readings",
    "logs", "remedies", "charts", "report", "results", "pictures", "pages", "lesson",
    "face", "desk", "commands",
]  # fmt: skip
FLOOR = {name: number for number, name in enumerate(WINGS)}

HOMES = {  # libraries that only these wings or modules may import, anywhere in them
    "numba": {"heat/kernel", "heat/compiling", "heat/lowering"},
    "llvmlite": {"heat/machine"},
    "matplotlib": {"pictures", "pages", "lesson"},
    "jinja2": {"pages/templates"},
    "typer": {"commands"},
    "tomllib": {"text/toml"},
    "difflib": {"text/errors"},
    "pint": {"text/units"},
    "distributed": {"charts/processes"},
    "starlette": {"desk"},
    "uvicorn": {"desk"},
    "segno": {"desk"},
}

LONGEST_FILE = 400  # lines; these only go down
LONGEST_FUNCTION = 66  # lines, docstring and all
TWICE = 62  # public names defined in two modules or more
SAME_NAME_ON_PURPOSE = {  # what plays the same part for each command
    "text", "json_text", "csv_text", "results", "first_screen", "EXAMPLE", "SCHEMA",
    "plan", "check", "fit", "review", "chart", "compare", "lesson", "card",
}  # fmt: skip


def where(path):
    """Wing and module of a file, like ``heat/kernels``; the face of a wing is the wing."""
    return path.relative_to(PACKAGE).with_suffix("").as_posix().removesuffix("/__init__")


def wing(path):
    return where(path).partition("/")[0]


@cache
def tree(path):
    return ast.parse(path.read_text(encoding="utf-8"))


def imported(path):
    """Modules of the package that a file imports, anywhere in it, as ``wing/module``."""
    parts = path.relative_to(PACKAGE).parts[:-1]
    for node in ast.walk(tree(path)):
        if not isinstance(node, ast.ImportFrom) or not node.level:
            continue
        start = parts[: len(parts) - node.level + 1]
        names = node.module.split(".") if node.module else []
        base = "/".join((*start, *names))
        if (PACKAGE / f"{base}.py").exists():
            yield base
        else:
            yield from (f"{base}/{a.name}".strip("/") for a in node.names)


def libraries(path):
    """Top names of everything else it imports."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            yield from (a.name.split(".")[0] for a in node.names)
        if isinstance(node, ast.ImportFrom) and node.level == 0:
            yield node.module.split(".")[0]


def functions(path):
    """Every function of a module, with its length in lines."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node, node.end_lineno - node.lineno + 1


INSIDE = [p for p in MODULES if "/" in where(p)]


def test_every_wing_has_its_floor_and_its_face():
    assert {wing(path) for path in INSIDE} == set(WINGS)
    for name in WINGS:
        body = tree(PACKAGE / name / "__init__.py").body
        assert len(body) == 1, f"the face of {name} says what it is, and does nothing"


def test_every_import_points_down():
    wrong = [
        f"{where(path)} imports {name}"
        for path in INSIDE
        for name in imported(path)
        if "/" in name and FLOOR[name.partition("/")[0]] > FLOOR[wing(path)]
    ]
    assert not wrong


def test_no_module_imports_itself_in_a_circle():
    needs = {where(path): set(imported(path)) for path in INSIDE}
    while leaves := {name for name, below in needs.items() if not below & set(needs)}:
        needs = {name: below for name, below in needs.items() if name not in leaves}
    assert not needs


def test_commands_import_from_no_command():
    shared = {"app", "options", "console", "running", "__init__"}
    commands = {p.stem for p in INSIDE if wing(p) == "commands"} - shared
    wrong = [
        f"{where(path)} imports {name}"
        for path in INSIDE
        if wing(path) == "commands" and path.stem != "app"
        for name in imported(path)
        if name.removeprefix("commands/") in commands and name.startswith("commands/")
    ]
    assert not wrong


def test_modules_import_one_another_by_a_dot():
    """``from .x import y``: an absolute import would hide from the tests above."""
    assert not [where(p) for p in MODULES if "interpass" in set(libraries(p))]


@pytest.mark.parametrize("library", HOMES)
def test_library_has_one_home(library):
    users = {where(path) for path in MODULES if library in set(libraries(path))}
    assert users
    assert not {name for name in users if not {name, name.split("/")[0]} & HOMES[library]}


def test_nothing_prints():
    wrong = [
        f"{where(path)}:{node.lineno}"
        for path in MODULES
        for node in ast.walk(tree(path))
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "print"
    ]
    assert not wrong


STREAMS = {"commands/console", "__main__"}  # clean what they say; the latter has one line
CSV = {
    "text/records",
    "text/sheets",
    "trade/rows",
    "desk/events",
}  # the others are read back


def test_nothing_writes_round_the_places_that_clean_text():
    """A terminal, a spreadsheet and a page each have one place that makes text harmless."""
    wrong = []
    for path in MODULES:
        text = path.read_text(encoding="utf-8")
        if re.search(r"\bsys\.(stdout|stderr)\b", text) and where(path) not in STREAMS:
            wrong.append(f"{where(path)} writes to a stream")
        if "csv" in set(libraries(path)) and where(path) not in CSV:
            wrong.append(f"{where(path)} writes CSV")
        if "autoescape=False" in text or ("Markup(" in text and wing(path) != "pages"):
            wrong.append(f"{where(path)} writes HTML as it comes")
    assert not wrong


def test_no_class_inherits_but_for_errors_and_plain_data():
    """Records, enumerations, mappings and exceptions; behaviour is in functions."""
    plain = {"NamedTuple", "IntEnum", "StrEnum", "Enum", "Mapping", "Protocol"}
    # numba takes other behaviour only so
    plain |= {"CompilerBase", "JITCodeLibrary", "JITCPUCodegen"}
    wrong = [
        f"{where(path)}.{node.name}"
        for path in MODULES
        for node in ast.walk(tree(path))
        if isinstance(node, ast.ClassDef)
        for base in node.bases
        if not (name := ast.unparse(base)).endswith(("Error", "Exception"))
        and name.split("[")[0] not in plain
    ]
    assert not wrong


def test_every_module_says_what_it_is():
    assert not [where(path) for path in MODULES if not ast.get_docstring(tree(path))]


def test_what_computes_says_which_section_of_the_model_it_is():
    """``thermo/MODEL.md`` has the section that the docstring names."""
    model = (PACKAGE.parent / "MODEL.md").read_text(encoding="utf-8")
    for path in INSIDE:
        if wing(path) not in {"heat", "physics", "doubt", "readings"}:
            continue
        if path.stem == "__init__":
            continue
        found = re.search(r"MODEL.md``, section (\d+)", ast.get_docstring(tree(path)))
        assert found, where(path)
        assert f"\n## {found[1]}. " in model


def test_files_get_no_longer():
    lengths = {
        where(path): len(path.read_text(encoding="utf-8").splitlines())
        for path in MODULES
    }
    assert max(lengths.values()) <= LONGEST_FILE, max(lengths, key=lengths.__getitem__)


def test_functions_get_no_longer():
    lengths = {
        f"{where(path)}.{node.name}": lines
        for path in MODULES
        for node, lines in functions(path)
    }
    assert max(lengths.values()) <= LONGEST_FUNCTION, max(
        lengths, key=lengths.__getitem__
    )
    ordered = sorted(lengths.values())
    assert ordered[len(ordered) // 2] <= 10  # the median


def public_names(path):
    """Names a module defines at its top, constants too, but for private ones."""
    for node in tree(path).body:
        names = [getattr(node, "name", "")]
        if isinstance(node, ast.Assign):
            names = [t.id for t in node.targets if isinstance(t, ast.Name)]
        yield from (n for n in names if n and not n.startswith("_"))


def test_names_stand_for_one_thing_each():
    """A ratchet: how many public names are defined twice may only go down."""
    places = defaultdict(set)
    for path in INSIDE:
        for name in public_names(path):
            places[name].add(where(path))
    twice = {
        name: sorted(found)
        for name, found in places.items()
        if len(found) > 1 and name not in SAME_NAME_ON_PURPOSE
    }
    assert len(twice) <= TWICE, twice
