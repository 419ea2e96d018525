"""The shape of the package: imports point down, libraries have one home, nothing grows."""

import ast
from functools import cache
from pathlib import Path

import pytest

import thermo

PACKAGE = Path(thermo.__file__).parent
MODULES = sorted(p for p in PACKAGE.glob("*.py") if not p.stem.startswith("__"))

LAYERS = [  # bottom to top; names on one line do not import one another
    {"errors", "arrays", "bands", "curves", "exact", "exact_sources", "files", "grid", "history", "layout",
     "lesson_file", "nusselt", "readings", "report_pictures", "rosenthal", "schema", "toml_lines", "unit_table", "warmup", "clock_times", "chart_rows", "spreadsheet", "bench"},
    {"kernels", "tables", "units", "cooling", "console", "misfit", "card_sheet", "csv_text", "weld_log", "chart_journal", "workers"},
    {"lesson_words", "gases", "metal_data", "practice", "case_wording", "rule_expressions", "csv_lines"},
    {"catalogue", "materials", "surfaces", "csv_cells"},
    {"joint", "reading_file", "completion"},
    {"options", "lesson_plate", "arc", "drawing", "rings", "priors", "cautions", "checks", "handcheck", "rule_currents", "log_arcs", "helps_data"},
    {"beads", "clip", "fittings", "sampling", "fit_block", "case_defaults", "report_heat", "report_doubt", "check_words", "log_file", "as_welded"},
    {"exposure", "near", "places", "case_draft", "rule_values", "new_answers", "helps_passes"},
    {"section", "case_pipe", "case_values", "report_near", "rule_run", "helps_ideas"},
    {"body", "case_fitting", "case_weld", "rule_names"},
    {"model", "case_limits", "case_passes", "case_surroundings", "report_passes"},
    {"lesson_frames", "march", "probing", "case", "figures", "figures_parts", "report_checks"},
    {"noting", "lesson_joints", "figures_isotherms"},
    {"figures_section", "waits", "assumptions", "figures_material", "figures_ring", "rule_file", "new_case", "chart_keys"},
    {"lesson_numbers", "lesson_movie", "rule_sets", "quick", "figures_cut", "chart_spans"},
    {"lesson_sums", "lesson_figures", "lesson_tables", "rules", "ensemble", "reading_places", "heat_split", "limit_waits", "chart_axes"},
    {"lesson_sizes", "lesson_pieces", "families", "posterior", "figures_heat", "figures_limit", "helps"},
    {"doubt", "card_drawing", "lesson_questions", "reading_checks", "report_helps"},
    {"fit", "lesson_page", "chart_cells"},
    {"report", "report_data", "report_tables", "table_rows", "card_data", "next_wait", "fit_data", "figures_fit", "chart_solve", "compare"},
    {"saving", "report_page", "check_report", "table_view", "card", "card_page", "review", "fit_report", "chart", "figures_compare"},
    {"chart_report", "compare_report", "review_words"},
    {"chart_grid", "review_report", "review_data"},
    {"chart_figure", "command_plan", "command_check", "command_tables", "command_new"},
    {"command_lesson", "command_card", "command_fit", "command_review", "command_chart", "command_compare"},
    {"app"},
]  # fmt: skip
LEVEL = {name: level for level, names in enumerate(LAYERS) for name in names}

COMMANDS = {path.stem for path in MODULES if path.stem.startswith("command_")}

HOMES = {  # libraries that only these modules may import, anywhere in them
    "numba": {"kernels"},
    "matplotlib": {
        path.stem
        for path in MODULES
        if path.stem.startswith(("figures", "card", "lesson", "chart_figure"))
    },
    "typer": {"app", "options", *COMMANDS},
    "tomllib": {"case"},
    "pint": {"units"},
}

LONGEST_FILE = 664  # lines; these only go down
LONGEST_FUNCTION = 66  # lines, docstring and all
FEW_LONG_FILES = 5  # files over 300 lines


@cache
def tree(path):
    return ast.parse(path.read_text(encoding="utf-8"))


def imported(path):
    """Names of the package's modules that one module imports, anywhere in it."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.ImportFrom) and node.level == 1:
            yield from [node.module] if node.module else [a.name for a in node.names]


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


def test_every_module_has_its_place():
    """New modules are put into LAYERS, and those that are gone taken out."""
    assert {path.stem for path in MODULES} == set(LEVEL)
    assert sum(map(len, LAYERS)) == len(LEVEL)


def test_every_import_points_down():
    wrong = [
        f"{path.stem} imports {name}"
        for path in MODULES
        for name in imported(path)
        if not name.startswith("__")  # the version
        and LEVEL.get(name, -1) >= LEVEL.get(path.stem, len(LAYERS))
    ]
    assert not wrong


def test_modules_import_one_another_by_a_dot():
    """``from . import x``: an absolute import would hide from the test above."""
    assert not [path.stem for path in MODULES if "thermo" in set(libraries(path))]


@pytest.mark.parametrize("library", HOMES)
def test_library_has_one_home(library):
    users = {path.stem for path in MODULES if library in set(libraries(path))}
    assert users
    assert users <= HOMES[library]


def test_nothing_prints_but_app():
    wrong = [
        f"{path.stem}:{node.lineno}"
        for path in MODULES
        if path.stem != "app"
        for node in ast.walk(tree(path))
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "print"
    ]
    assert not wrong


def test_no_class_inherits_but_for_errors_and_plain_data():
    """Records, enumerations, mappings and exceptions; behaviour is in functions."""
    plain = {"NamedTuple", "IntEnum", "StrEnum", "Enum", "Mapping", "Protocol"}
    wrong = [
        f"{path.stem}.{node.name}"
        for path in MODULES
        for node in ast.walk(tree(path))
        if isinstance(node, ast.ClassDef)
        for base in node.bases
        if not (name := ast.unparse(base)).endswith(("Error", "Exception"))
        and name.split("[")[0] not in plain
    ]
    assert not wrong


def test_every_module_says_what_it_is():
    assert not [path.stem for path in MODULES if not ast.get_docstring(tree(path))]


def test_files_get_no_longer():
    lengths = {
        path.stem: len(path.read_text(encoding="utf-8").splitlines()) for path in MODULES
    }
    assert max(lengths.values()) <= LONGEST_FILE, max(lengths, key=lengths.__getitem__)
    long = sorted(name for name, lines in lengths.items() if lines > 300)
    assert len(long) <= FEW_LONG_FILES, long


def test_functions_get_no_longer():
    lengths = {
        f"{path.stem}.{node.name}": lines
        for path in MODULES
        for node, lines in functions(path)
    }
    assert max(lengths.values()) <= LONGEST_FUNCTION, max(
        lengths, key=lengths.__getitem__
    )
    ordered = sorted(lengths.values())
    assert ordered[len(ordered) // 2] <= 10  # the median
