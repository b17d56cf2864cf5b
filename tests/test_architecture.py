"""The rules of the code, held against the syntax tree of every module: who may import whom, who may write, who may ask
the clock, and where text may become mark-up. DEVELOPERS.md gives them in words.

An exception is a row of a table here, with its reason; a row that nothing needs any more fails too.
"""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "register"
LAYERS = ("fabric", "models", "policy", "sqlite", "exchange", "documents", "services", "web", "management", "templatetags")


@dataclass(frozen=True)
class May:
    """What a layer may import: other layers (itself always) and libraries (the standard one always)."""

    layers: frozenset[str]
    libraries: frozenset[str] = frozenset()


def may(layers: str = "", libraries: str = "") -> May:
    return May(frozenset(layers.split()), frozenset(libraries.split()))


OUTER = "services policy fabric models documents"
TABLE = {
    "fabric": may(),
    "models": may("fabric", "django simple_history"),
    "policy": may("models"),
    "sqlite": may("", "django"),
    "exchange": may("fabric", "openpyxl defusedxml"),
    "documents": may("fabric", "reportlab PIL"),
    "services": may("fabric models policy sqlite exchange documents", "django PIL defusedxml"),
    "web": may(OUTER, "django"),
    "management": may(OUTER, "django"),
    "templatetags": may("policy fabric documents web", "django"),
}
WIRING = {"settings", "urls", "wsgi", "apps", "checks", "admin"}
"""Modules at the top that join the layers; they may import any of them, and no layer imports them."""
WIRING_LIBRARIES = {"django", "environ"}

EXCHANGE_WORDS = {"register.exchange.schema", "register.exchange.faults"}
"""What the outer layers may have of ``exchange``: a form is made from the schema, a refusal is caught where it is shown
(docs/decisions/0007-forms-from-the-schema.md)."""


@dataclass(frozen=True)
class Module:
    """A module of the package: its dotted name, its layer ("" for wiring) and its tree."""

    path: Path
    name: str
    layer: str
    tree: ast.Module

    @property
    def where(self) -> str:
        return str(self.path.relative_to(PACKAGE))


@cache
def modules() -> tuple[Module, ...]:
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE).with_suffix("").parts
        if parts[0] == "migrations":
            continue  # Django writes them
        layer = parts[0] if parts[0] in LAYERS else ""
        name = ".".join(("register", *(part for part in parts if part != "__init__")))
        found.append(Module(path, name, layer, ast.parse(path.read_text(encoding="utf-8"), str(path))))
    return tuple(found)


def names_imported(module: Module) -> Iterator[tuple[str, int]]:
    """(dotted name, line) of everything a module imports, at its top or in a function: ``from a import b`` is a.b where
    that is a module of ours."""
    ours = {other.name for other in modules()}
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = "." * node.level + (node.module or "")
            for alias in node.names:
                full = f"{base}.{alias.name}"
                yield (full if full in ours else base), node.lineno


def layer_of(name: str) -> str:
    parts = name.split(".")
    return parts[1] if len(parts) > 1 else ""


def place(module: Module, line: int) -> str:
    return f"register/{module.where}:{line}"


def dotted(node: ast.AST) -> str:
    return ast.unparse(node)


def calls(module: Module) -> Iterator[ast.Call]:
    return (node for node in ast.walk(module.tree) if isinstance(node, ast.Call))


def called(call: ast.Call) -> str:
    """The last name of what is called: ``save`` of ``record.save()``."""
    if isinstance(call.func, ast.Attribute):
        return call.func.attr
    return call.func.id if isinstance(call.func, ast.Name) else ""


# Layers


def test_every_module_has_a_layer_or_is_wiring():
    unknown = [module.where for module in modules() if not module.layer and module.path.parent == PACKAGE and module.path.stem not in WIRING | {"__init__"}]
    folders = [folder.name for folder in PACKAGE.iterdir() if folder.is_dir() and folder.name not in {*LAYERS, "migrations", "static", "__pycache__"}]
    assert not unknown + folders, f"{unknown + folders}: give it a layer in TABLE and in DEVELOPERS.md"


def test_modules_import_only_what_their_layer_may():
    wrong = []
    for module in modules():
        rule = TABLE.get(module.layer)
        for name, line in names_imported(module):
            top = name.split(".")[0]
            if top in sys.stdlib_module_names:
                continue
            if name.startswith("."):
                wrong.append(f"{place(module, line)} imports relatively ({name}); say from register.x import y")
            elif rule is None:
                if top not in WIRING_LIBRARIES | {"register"}:
                    wrong.append(f"{place(module, line)}: wiring imports {name}")
            elif top != "register":
                if top not in rule.libraries:
                    wrong.append(f"{place(module, line)}: {module.layer} may not import the library {top}")
            elif layer_of(name) not in rule.layers | {module.layer} and not (module.layer in ("web", "management") and name in EXCHANGE_WORDS):
                wrong.append(f"{place(module, line)}: {module.layer} may not import {name}")
    assert not wrong, "\n".join(wrong)


def test_the_package_is_never_imported_under_the_name_that_django_uses_too():
    wrong = [
        place(module, node.lineno)
        for module in modules()
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Import) and any(alias.name.split(".")[0] == "register" for alias in node.names)
    ]
    assert not wrong, f"say from register.x import y: {wrong}"


@pytest.mark.parametrize("layer", ["fabric", "exchange", "documents"])
def test_a_pure_layer_works_without_django(layer):
    """Imported whole in a process of its own, so that nothing that the tests have loaded helps."""
    names = [module.name for module in modules() if module.layer == layer]
    program = (
        "import importlib, sys\n"
        f"for name in {names!r}: importlib.import_module(name)\n"
        "found = sorted({name.split('.')[0] for name in sys.modules} & {'django', 'simple_history', 'environ', 'sqlite3', 'psycopg'})\n"
        "assert not found, found\n"
        "print('loaded', len(sys.modules))\n"
    )
    done = subprocess.run([sys.executable, "-c", program], cwd=ROOT, env={"PATH": ""}, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("loaded")


def test_the_core_works_with_the_standard_library_alone():
    """``-S`` leaves the installed packages out: a hidden import inside a function's module would fail here."""
    names = [module.name for module in modules() if module.layer == "fabric"]
    program = f"import importlib\nfor name in {names!r}: importlib.import_module(name)"
    done = subprocess.run([sys.executable, "-S", "-c", program], cwd=ROOT, env={"PATH": ""}, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_pages_and_commands_leave_paper_to_the_services():
    """They may use the words, the palette and the drawings of ``documents``, not what loads ReportLab."""
    by_name = {module.name: module for module in modules()}

    def loads_reportlab(name: str, seen: frozenset[str] = frozenset()) -> bool:
        module = by_name.get(name)
        if module is None or name in seen:
            return False
        imported = {one for one, _ in names_imported(module)}
        return any(one.split(".")[0] == "reportlab" for one in imported) or any(
            loads_reportlab(one, seen | {name}) for one in imported if layer_of(one) == "documents"
        )

    wrong = [
        f"{place(module, line)}: {name}"
        for module in modules()
        if module.layer in ("web", "management", "templatetags")
        for name, line in names_imported(module)
        if layer_of(name) == "documents" and loads_reportlab(name)
    ]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("package", ["", *LAYERS])
def test_package_files_are_empty(package):
    """A name is imported from the module that defines it. The models' package gathers its models, as Django needs."""
    path = PACKAGE / package / "__init__.py"
    if package == "policy":
        assert not path.exists(), "policy is one module"
    elif package != "models":
        assert path.read_text() == ""


# One way to write

WRITING = {"save", "delete", "update", "create", "bulk_create", "bulk_update", "get_or_create", "update_or_create", "raw", "aupdate", "asave", "adelete", "acreate"}
THE_WRITER = "services/change_sets.py"
CASE = "the case for a piece of work is no record of the register until it is carried out, which apply does"
NOT_RECORDS: dict[tuple[str, str], str] = {
    ("services/loading.py", "RegisterState.objects.get_or_create"): "the one row that says which register this is",
    ("services/remembered_lists.py", "ListMapping.objects.update_or_create"): "what was chosen for a list is no record of the register",
    ("services/remembered_lists.py", "kept.save"): "a question of a list that is ticked off is no record of the register",
    ("services/waiting.py", "ChangeSet.objects.create"): "what waits is no record of the register until it is applied",
    ("services/waiting.py", "ReviewEntry.objects.create"): "what was said in review; its table only grows",
    ("services/deciding.py", "found.save"): "the state of what waits; the records it holds go through apply",
    ("services/deciding.py", "one.save"): "the state of an opinion that stands; it is no record of the register",
    ("services/finds.py", "FindDraft.objects.create"): "a find being written down is no record of the register",
    ("services/finds.py", "draft.save"): "a find being written down is no record of the register",
    ("services/finds.py", "draft.delete"): "a find being written down is no record of the register",
    ("services/picture_tidying.py", "RemovedPicture.objects.bulk_create"): "the log of pictures that were taken away, which only grows",
    ("services/picture_lots.py", "lot.save"): "a lot of pictures on its way is no record of the register",
    ("services/finds_sent.py", "FindDraft.objects.create"): "a find being written down is no record of the register",
    ("services/finds_sent.py", "draft.save"): "a find being written down is no record of the register",
    ("services/finds_sent.py", "found.save"): "what waits is no record of the register until it is applied",
    ("services/accounts.py", "Group.objects.get_or_create"): "roles are not records of the register",
    ("services/accounts.py", "user.save"): "accounts are not records of the register; their changes have a log",
    ("services/accounts.py", "AccountChange.objects.create"): "the log of the accounts, which only grows",
    ("services/findings.py", "FindingNote.objects.create"): "what is said of a finding is no record of the register; it is only ever added to",
    ("services/demo.py", "Group.objects.get_or_create"): "roles are not records of the register",
    ("services/demo.py", "User.objects.get_or_create"): "people who sign in are not records of the register",
    ("services/demo.py", "user.save"): "people who sign in are not records of the register",
    ("services/drawings.py", "Drawing.objects.filter(name=name).delete"): "a drawing is the site's own picture, loaded anew from its file",
    ("services/drawings.py", "Drawing.objects.create"): "a drawing is the site's own picture, loaded anew from its file",
    ("services/vehicle_versions.py", "VehicleVersion.objects.bulk_create"): "under which version something may be kept in memory is no record",
    ("services/chain.py", "Entry.objects.create"): "an entry of the chain is no record of the register: it is only ever added",
    ("services/chain.py", "digest.update"): "adds bytes to a hash",
    ("services/issued.py", "digest.update"): "adds bytes to a hash",
    ("services/issuing.py", "Statement.objects.create"): "an issued statement is no record of the register: it is only ever added",
    ("services/issuing.py", "StatementFile.objects.bulk_create"): "an issued statement is no record of the register: it is only ever added",
    ("services/issuing.py", "IssueRequest.objects.create"): "that a second person is asked is no record of the register: it is only ever added",
    ("services/issue_requests.py", "IssueRequest.objects.create"): "that a request was taken back is no record of the register: it is only ever added",
    ("services/proposals.py", "Proposal.objects.create"): CASE,
    ("services/proposals.py", "made.alternatives.create"): CASE,
    ("services/proposals.py", "row.alternatives.exclude(pk=found.pk).update"): CASE,
    ("services/proposals.py", "found.save"): CASE,
    ("services/vehicle_policies.py", "VehiclePolicy.objects.create"): "a policy is the railway's rule, no record of its fabric; its versions are only ever added",
    ("services/significance_texts.py", "SignificanceText.objects.create"): "what it is worth in words has no place in the tables; its versions are only ever added",
    ("services/proposal_decision.py", "made.save"): CASE,
    ("services/proposal_decision.py", "made.alternatives.all().delete"): CASE,
    ("services/proposal_decision.py", "one.save"): CASE,
    ("services/proposal_record.py", "row.save"): CASE,
    ("services/proposal_record.py", "earlier.save"): CASE,
    ("services/proposal_record.py", "ProposalAct.objects.create"): "what happened to a proposal; its table only grows",
    ("services/seals.py", "Seal.objects.create"): "the seal of an act; its table only grows",
    ("services/seals.py", "digest.update"): "adds bytes to a hash",
    ("services/photographs.py", "upright.save"): "writes a picture, not a row",
}
"""Calls outside ``change_sets`` that look like writing a record, and what they are."""


def writing_calls() -> Iterator[tuple[Module, ast.Call]]:
    """In the layers that know the database; the pure ones have none to write to."""
    for module in modules():
        if module.layer in ("fabric", "exchange", "documents") or module.where == THE_WRITER:
            continue
        for call in calls(module):
            if isinstance(call.func, ast.Attribute) and call.func.attr in WRITING:
                yield module, call


def test_records_are_written_by_change_sets_alone():
    """``.update(`` and the bulk calls leave no history, ``.save(`` and ``.delete(`` one outside the act: an error in
    between would leave a record that nobody is known to have changed. For plain dicts and sets say ``|=``."""
    wrong = [f"{place(module, call.lineno)}: {dotted(call.func)}" for module, call in writing_calls() if (module.where, dotted(call.func)) not in NOT_RECORDS]
    assert not wrong, "\n".join(wrong)


def test_no_exception_from_the_one_way_to_write_has_outlived_its_use():
    used = {(module.where, dotted(call.func)) for module, call in writing_calls()}
    assert set(NOT_RECORDS) <= used, set(NOT_RECORDS) - used


def test_the_writer_writes_inside_a_transaction_and_behind_the_lock():
    """``apply`` alone opens the transaction, takes the lock first, and everything else that writes is called from it."""
    writer = next(module for module in modules() if module.where == THE_WRITER)
    public = [node for node in writer.tree.body if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")]
    writing = [function.name for function in public if any(called(call) in WRITING for call in ast.walk(function) if isinstance(call, ast.Call))]
    assert writing == ["apply"]
    apply = next(function for function in public if function.name == "apply")
    block = next(node for node in ast.walk(apply) if isinstance(node, ast.With) and dotted(node.items[0].context_expr) == "transaction.atomic()")
    assert dotted(block.body[0]) == "_lock()"
    outside = [call for statement in apply.body if statement is not block for call in ast.walk(statement) if isinstance(call, ast.Call)]
    assert not [dotted(call.func) for call in outside if called(call) in {"_write", "create", "save"}]


def test_no_signal_writes_behind_a_services_back():
    """Only the triggers of the append-only tables hang on a signal, after migrations."""
    allowed = {("apps.py", "post_migrate")}
    found = {
        (module.where, name.split(".")[-1])
        for module in modules()
        for node in ast.walk(module.tree)
        if isinstance(node, ast.ImportFrom) and node.module and node.module.endswith("signals")
        for name in (alias.name for alias in node.names)
    }
    assert found <= allowed, found - allowed


# The day is an argument

CLOCKS = {"now", "utcnow", "today", "localdate", "time", "time_ns", "monotonic", "localtime", "gmtime"}
CLOCK_OWNERS = {"date", "datetime", "timezone", "time", "dt"}
HOW_LONG_AGO = {
    "services/import_jobs.py": "how long a file has lain or a job has run; no date of the register",
    "services/list_jobs.py": "how long a list has lain or is being entered; no date of the register",
}
"""Services that measure how long something took. They may ask ``time.time()`` and no other clock."""
BELOW_THE_EDGE = ("fabric", "models", "policy", "exchange", "documents", "templatetags", "")


def asks_the_clock(call: ast.Call) -> bool:
    func = call.func
    if not isinstance(func, ast.Attribute) or func.attr not in CLOCKS or call.args:
        return False
    owner = func.value.attr if isinstance(func.value, ast.Attribute) else func.value.id if isinstance(func.value, ast.Name) else ""
    return owner in CLOCK_OWNERS


def test_nothing_below_pages_and_commands_asks_the_clock():
    wrong = [place(module, call.lineno) for module in modules() if module.layer in BELOW_THE_EDGE for call in calls(module) if asks_the_clock(call)]
    wrong += [
        place(module, node.lineno)
        for module in modules()
        for node in ast.walk(module.tree)
        if isinstance(node, ast.keyword) and node.arg in ("auto_now", "auto_now_add")
    ]
    wrong += [
        place(module, node.value.lineno)
        for module in modules()
        for node in ast.walk(module.tree)
        if isinstance(node, ast.keyword) and node.arg == "default" and dotted(node.value).endswith((".now", ".today"))
    ]
    assert not wrong, f"the day is an argument: {wrong}"


def test_a_service_asks_the_clock_only_where_it_was_not_told_the_time():
    """``at or timezone.now()``, where ``at`` is an argument: a test, a restore or a replay can say when it is."""
    wrong = []
    for module in modules():
        if module.layer != "services":
            continue
        for function in ast.walk(module.tree):
            if not isinstance(function, ast.FunctionDef | ast.AsyncFunctionDef):
                continue
            arguments = {argument.arg for argument in (*function.args.args, *function.args.kwonlyargs)}
            told = {
                id(node.values[1])
                for node in ast.walk(function)
                if isinstance(node, ast.BoolOp) and isinstance(node.op, ast.Or) and isinstance(node.values[0], ast.Name) and node.values[0].id in arguments
            }
            wrong += [
                place(module, call.lineno) for call in ast.walk(function)
                if isinstance(call, ast.Call) and asks_the_clock(call) and id(call) not in told
                and not (module.where in HOW_LONG_AGO and dotted(call.func) == "time.time")
            ]  # fmt: skip
    assert not wrong, wrong


def test_no_exception_from_the_clock_has_outlived_its_use():
    used = {module.where for module in modules() for call in calls(module) if dotted(call.func) == "time.time"}
    assert set(HOW_LONG_AGO) <= used


# Text stays text


def test_paper_text_is_escaped_in_one_place():
    """ReportLab reads a paragraph's text as mark-up: ``bolt <M12>`` loses its size and ``<img src=…>`` prints a file of
    the server. So one module makes paragraphs, and escapes what it is given."""
    makers = {module.where for module in modules() for call in calls(module) if called(call) == "Paragraph"}
    makers |= {
        module.where for module in modules() for node in ast.walk(module.tree)
        if isinstance(node, ast.ClassDef) and any(dotted(base).endswith("Paragraph") for base in node.bases)
    }  # fmt: skip
    assert all(where.startswith("documents/") for where in makers), makers


UNESCAPED = {"mark_safe", "SafeText", "csrf_exempt", "xframe_options_exempt", "eval", "exec", "RawSQL"}
EXCEPTED: dict[tuple[str, str], str] = {
    ("register/services/drawings.py", "mark_safe"): "load_drawing writes a drawing anew from a short list of elements and attributes, every text escaped",
    ("register/templatetags/fabric_tags.py", "mark_safe"): "the pictures of documents/svg.py, which escapes every string; one helper, used by the tags",
}
"""(file, name): why it is safe there, once in that file. Kept short."""
UNESCAPED_IN_TEMPLATES = re.compile(r"\|\s*safe(?:seq)?\b|{%-?\s*autoescape\s+off")


def unescaped() -> Iterator[tuple[str, str, int]]:
    """(file, name, line) of whatever switches escaping or a guard off, in code and in templates."""
    for module in modules():
        for node in ast.walk(module.tree):
            where = f"register/{module.where}"
            if isinstance(node, ast.Name | ast.Attribute):
                name = node.id if isinstance(node, ast.Name) else node.attr
                if name in UNESCAPED:
                    yield where, name, node.lineno
            elif isinstance(node, ast.Call) and called(node) == "SafeString" and not all(isinstance(one, ast.Constant) for one in node.args):
                yield where, "SafeString", node.lineno
            elif isinstance(node, ast.Call) and called(node) == "extra" and isinstance(node.func, ast.Attribute):
                yield where, "extra", node.lineno
    for path in sorted((ROOT / "templates").rglob("*")):
        if path.suffix in (".html", ".txt", ".xml", ".svg"):
            for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
                for found in UNESCAPED_IN_TEMPLATES.findall(line):
                    yield str(path.relative_to(ROOT)), found.strip("| "), number


def test_nothing_passes_for_markup_or_for_a_trusted_form():
    found = list(unescaped())
    wrong = [f"{where}:{line}: {name}" for where, name, line in found if (where, name) not in EXCEPTED]
    assert not wrong, "\n".join(wrong)
    places = [(where, name) for where, name, _ in found]
    assert [one for one in EXCEPTED if places.count(one) > 1] == [], "an exception is for one use"


def test_no_exception_for_markup_has_outlived_its_use():
    assert set(EXCEPTED) <= {(where, name) for where, name, _ in unescaped()}


def test_format_html_is_given_a_fixed_text():
    """``format_html(f"…{name}…")`` escapes nothing."""
    wrong = [
        place(module, call.lineno) for module in modules() for call in calls(module)
        if called(call) == "format_html" and not (call.args and isinstance(call.args[0], ast.Constant))
    ]  # fmt: skip
    assert not wrong


FIXED_WORDS = {("web/backends.py", "marks"): "made in that function from the table of roles"}
"""(file, expression) spread into a query although no request has a say in it."""


def spread_into_queries() -> Iterator[tuple[Module, ast.Call, str]]:
    verbs = {"filter", "exclude", "get", "annotate", "order_by", "values", "values_list", "alias"}
    for module in modules():
        if module.layer == "web":
            for call in calls(module):
                if called(call) in verbs:
                    yield from ((module, call, dotted(keyword.value)) for keyword in call.keywords if keyword.arg is None)


def test_no_request_chooses_the_columns_of_a_query():
    """``filter(**request.GET)`` lets a stranger ask by any column, a password's hash included."""
    wrong = [f"{place(module, call.lineno)}: **{what}" for module, call, what in spread_into_queries() if (module.where, what) not in FIXED_WORDS]
    assert not wrong, wrong
    assert set(FIXED_WORDS) <= {(module.where, what) for module, _, what in spread_into_queries()}


# Small habits


def test_annotations_are_never_evaluated():
    """One rule for every module with code, so that a type may be named before it is defined."""
    wrong = [
        module.where for module in modules()
        if any(isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.AnnAssign) for node in ast.walk(module.tree))
        and not any(isinstance(node, ast.ImportFrom) and node.module == "__future__" for node in module.tree.body)
    ]  # fmt: skip
    assert not wrong


def test_every_module_says_what_it_is_for():
    wrong = [module.where for module in modules() if module.tree.body and not ast.get_docstring(module.tree)]
    assert not wrong
