"""Documents that can fail: their figures are computed again, their commands and columns compared with the program, and
their links followed."""

from __future__ import annotations

import re
import shlex
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest
from django.core.management import get_commands, load_command_class
from django.core.management.base import BaseCommand

from register.documents.figure_view import command_lines
from register.exchange.schema import TABLES
from register.fabric import vocabulary
from register.fabric.dates import DateError, read_date, span_of
from register.fabric.figures import figures
from register.fabric.figures_json import TypedIds, as_json
from register.fabric.fraction import COMPOSITION
from register.fabric.inputs import BASES
from register.fabric.interval import ONE
from register.fabric.quantities import QuantityError, read_length, read_mass
from register.fabric.rounding import shown_high, shown_low
from register.fabric.survival import SHARES, survival
from register.policy import ACTIONS, PUBLIC_COLUMNS, ROLES
from tests.exchange_page import END, START, columns_section
from tests.fabric.builders import day
from tests.fabric.worked_example_inputs import worked_example

ROOT = Path(__file__).resolve().parent.parent
DOCS = ROOT / "docs"
PAGES = sorted([*DOCS.rglob("*.md"), ROOT / "README.md", ROOT / "DEVELOPERS.md"])
CODE = re.compile(r"`([^`]+)`")


@cache
def text_of(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def name_of(path: Path) -> str:
    return str(path.relative_to(ROOT))


def rows_below(text: str, heading: str) -> list[list[str]]:
    """The cells of the first table after ``heading``, its head left out."""
    after = text[text.index(heading) + len(heading) :]
    found: list[list[str]] = []
    for line in after.splitlines():
        if line.startswith("|"):
            found.append([one.strip().replace("\\|", "|") for one in re.split(r"(?<!\\)\|", line.strip().strip("|"))])
        elif found:
            break
    return found[2:]


# The method


def example(comment: str) -> tuple[list[list[str]], str, str, str, str]:
    """(rows, vehicle, day, basis, reference) of the table in docs/method.md that bears this mark."""
    text = text_of(DOCS / "method.md")
    mark = next(one for one in re.findall(r"<!-- checked: (.+?) -->", text) if one.startswith(comment))
    _, vehicle, when, basis, label = shlex.split(mark)
    return rows_below(text, f"<!-- checked: {mark} -->"), vehicle, when, basis, label


def computed(comment: str) -> tuple[list[list[str]], Any]:
    """(rows, the answer of the core to the question in the mark)"""
    rows, vehicle, when, basis, label = example(comment)
    inputs = worked_example(vehicle)
    reference = next(one for one in inputs.references if one.label == label)
    if comment == "survival":
        answer: Any = survival(inputs, day=day(when), reference=reference, basis=basis)
    else:
        answer = figures(inputs, day=day(when), reference=reference, basis=basis)
    return rows, answer


def ids(vehicle: str) -> TypedIds:
    inputs = worked_example(vehicle)
    return TypedIds(vehicle, {key: key.upper() for key in inputs.positions}, {key: key.upper() for key in inputs.parts})


@pytest.mark.parametrize("comment", ["fabric", "survival"])
def test_the_worked_example_of_the_method_is_what_the_program_computes(comment):
    """The figures were worked out by hand from the tables of tests/worked_example (see the page there)."""
    rows, answer = computed(comment)
    printed = as_json(answer, ids("BRIN"))
    assert len(rows) > 10
    for path, value in rows:
        found: Any = printed
        for step in path.split("."):
            found = found[step]
        told = f"{found:.6f}" if isinstance(found, float) else str(found)
        assert told == value, f"{path}: the page says {value}, the program {told}"


def test_the_items_of_the_worked_example_weigh_and_survive_as_the_page_says():
    rows, answer = computed("items")
    number = {"none": None}
    assert len(rows) == len(answer.rows)
    for told, row in zip(rows, answer.rows, strict=True):
        position, part, *values, category = told
        weights, fractions = ([number.get(value, value) for value in group] for group in (values[:3], values[3:]))
        assert (position, part) == (row.position.upper(), row.part.upper())
        assert category == row.category.replace("_", " ")
        found = [None] * 3 if row.weight is None else [row.weight.low, row.weight.best, row.weight.high]
        assert [None if value is None else round(float(value) * 1000) for value in weights] == found, part
        found = [row.f.low, row.f.best, row.f.high]
        assert [None if value is None else round(float(value) * 1_000_000) * (ONE // 1_000_000) for value in fractions] == found, part


def test_the_range_that_may_be_printed_is_the_one_the_page_prints():
    _, answer = computed("fabric")
    assert f"**{shown_low(answer.whole_vehicle.low)} to {shown_high(answer.whole_vehicle.high)} %**" in text_of(DOCS / "method.md")


def test_the_figure_that_officers_are_taught_to_read_is_what_the_command_says():
    _, answer = computed("fabric")
    shown = re.search(r"```text\n(.+?)\n```", text_of(DOCS / "officer/read-a-figure.md"), re.DOTALL)
    assert shown is not None
    lines = shown[1].splitlines()
    assert len(lines) > 4
    said = [line.replace("\u00a0", " ") for line in command_lines(answer, "BRIN")]
    assert lines == said[: len(lines)]


def test_every_date_of_the_method_is_read_as_the_table_says():
    """EDTF as in the specification of the Library of Congress, 4 February 2019, in the profile of section 2."""
    read = 0
    for typed, kept, _ in rows_below(text_of(DOCS / "method.md"), "## 2. Dates"):
        forms, stored = CODE.findall(typed), CODE.findall(kept)
        for number, form in enumerate(forms):
            expected = stored[number] if len(stored) == len(forms) else stored[0]
            assert read_date(form, as_built=True).edtf == expected, form
            read += 1
    assert read > 25


@pytest.mark.parametrize("text", ["1903/1907", "94", "1900s", "winter 1894", "1894-97", "30 February 1894", "[1907..1903]", "1499", "2201", "1894-05/.."])
def test_every_date_that_the_method_refuses_is_refused(text):
    with pytest.raises(DateError):
        span_of(read_date(text).edtf)


def test_every_quantity_of_the_method_is_read_as_the_table_says():
    """1 lb = 0.45359237 kg and 1 in = 25.4 mm: international yard and pound agreement, 1959."""
    forms = [form for typed, _ in rows_below(text_of(DOCS / "method.md"), "## 11. ") for form in CODE.findall(typed)]
    assert len(forms) >= 10
    for form in forms:
        (read_length if re.search(r"ft|in|\"", form) else read_mass)(form)
    pound = 0.45359237
    assert read_mass("2 cwt 3 qr 14 lb").best == round(1000 * pound * (2 * 112 + 3 * 28 + 14))
    assert read_mass("1 ton 4 cwt").best == round(1000 * pound * (2240 + 4 * 112))
    assert read_mass("2.4 t").best == 2_400_000
    assert (read_mass("12 kg ±10%").low, read_mass("12 kg ±10%").high) == (10_800, 13_200)
    assert read_mass("10-12 kg").best == 11_000
    assert float(read_length("3 ft 6 in").best) == 42 * 25.4


@pytest.mark.parametrize("text", ["2 T", "2 t 3 cwt", "4 cwt 5 qr", "-1 kg", "NaN", "inf"])
def test_every_mass_that_the_method_refuses_is_refused(text):
    with pytest.raises(QuantityError):
        read_mass(text)


@pytest.mark.parametrize("text", ["3 ft 14 in", "1-3/8 in"])
def test_every_length_that_the_method_refuses_is_refused(text):
    with pytest.raises(QuantityError):
        read_length(text)


def test_the_method_names_every_basis_share_and_category():
    text = text_of(DOCS / "method.md")
    assert all(f"`{word}`" in text for word in (*BASES, *SHARES))
    assert all(f"composition.{word}" in text for word in COMPOSITION)


# The exchange format


def test_every_column_is_on_the_page_as_the_schema_has_it():
    page = text_of(DOCS / "exchange.md")
    shown = page[page.index(START) : page.index(END) + len(END)]
    assert shown == columns_section(), "docs/exchange.md is behind the schema: run python -m tests.exchange_page"


def test_every_private_column_is_named_among_what_is_never_public():
    """The table that pages and exports are made from, and the page, tell the same."""
    page = text_of(DOCS / "exchange.md")
    section = page[page.index("## What is never public") : page.index("## Commands")]
    private = {column.name for name, table in TABLES.items() if name in PUBLIC_COLUMNS for column in table.columns if column.name not in PUBLIC_COLUMNS[name]}
    said_in_words = {"tag": "not private: it stands on the label", "consent": "of people", "public_as": "takes the place of the name"}
    unnamed = {name for name in private - set(said_in_words) if f"`{name}`" not in section}
    assert not unnamed, unnamed


# Commands


def commands() -> list[str]:
    return sorted(name for name, app in get_commands().items() if app == "register")


COMMON = {one for action in BaseCommand().create_parser("manage.py", "x")._actions for one in action.option_strings}


def options_of_django(name: str) -> set[str]:
    """Those of every command, and of Django's own of that name where the register's stands in front of it."""
    if not find_spec(f"django.core.management.commands.{name}"):
        return COMMON
    actions = load_command_class("django.core", name).create_parser("manage.py", name)._actions
    return COMMON | {one for action in actions for one in action.option_strings}


def arguments(name: str) -> tuple[set[str], set[str], list[str]]:
    """(options, those that are needed, positional arguments that are needed) of a command, Django's own left out."""
    actions = load_command_class("register", name).create_parser("manage.py", name)._actions
    of_django = options_of_django(name)
    options = {one: action.required for action in actions for one in action.option_strings if one.startswith("--") and one not in of_django}
    return set(options), {one for one, needed in options.items() if needed}, [action.dest for action in actions if not action.option_strings and action.nargs != "?"]


def documented() -> dict[str, str]:
    """Usage by command, from the page."""
    usages = [CODE.findall(row[0])[0] for row in rows_below(text_of(DOCS / "commands.md"), "## Commands")]
    return {usage.split()[0]: usage for usage in usages}


def test_the_page_lists_the_commands_that_there_are():
    assert sorted(documented()) == commands()


@pytest.mark.parametrize("name", commands())
def test_the_page_gives_each_commands_options_and_arguments(name):
    options, needed, positional = arguments(name)
    usage = documented()[name]
    outside = re.sub(r"\[[^\]]*\]", "", usage)  # brackets: may be left out
    assert set(re.findall(r"--[a-z-]+", usage)) == options
    assert set(re.findall(r"--[a-z-]+", outside)) == needed
    assert len(re.sub(r"--[a-z-]+ \S+", "", outside).split()[1:]) == len(positional)


@pytest.mark.parametrize("document", PAGES, ids=name_of)
def test_a_command_that_a_page_tells_people_to_run_exists_with_those_options(document):
    for line in re.findall(r"manage\.py ((?:[^\n`|#\\]|\\\n)+)", text_of(document)):
        name, *words = line.replace("\\\n", " ").split()
        if not re.fullmatch(r"[a-z_]+", name) or name in ("help",):
            continue
        assert name in get_commands(), f"{name_of(document)}: there is no command {name}"
        if get_commands()[name] == "register":
            unknown = {word.split("=")[0] for word in words if word.startswith("--")} - arguments(name)[0] - COMMON
            assert not unknown, f"{name_of(document)}: {name} has no {unknown}"


@pytest.mark.parametrize("document", PAGES, ids=name_of)
def test_a_make_target_that_a_page_names_exists(document):
    targets = set(re.findall(r"^([a-z]+):", text_of(ROOT / "Makefile"), re.MULTILINE))
    named = set(re.findall(r"`make ([a-z]+)", text_of(document))) | set(re.findall(r"^\s*make ([a-z]+)", text_of(document), re.MULTILINE))
    assert named <= targets, named - targets


# Settings


def test_the_page_on_deployment_lists_the_variables_that_the_settings_read():
    read = set(re.findall(r"env\.[a-z]+\(\s*\"([A-Z_]+)\"", text_of(ROOT / "register/settings.py")))
    listed = {CODE.findall(row[0])[0] for row in rows_below(text_of(DOCS / "deploy.md"), "## Settings")}
    assert listed == read


def test_the_page_for_officers_says_who_may_do_what():
    text = text_of(DOCS / "officer/README.md")
    told = {row[0]: {role for role, cell in zip(ROLES, row[1:], strict=True) if cell == "yes"} for row in rows_below(text, "## Who may do what")}
    assert told == {action: set(roles) for action, roles in ACTIONS.items()}


# Words


def words_of_the_register() -> set[str]:
    lists = [value for name, value in vars(vocabulary).items() if name.isupper()]
    return {word for words in lists for word in words} | set(ROLES) | set(BASES)


PLAIN_WORDS = {"other", "none"}


def test_the_glossary_has_every_word_that_a_field_may_hold():
    text = text_of(DOCS / "glossary.md").lower()
    missing = {word for word in words_of_the_register() - PLAIN_WORDS if not re.search(rf"\*\*{re.escape(word)}\*\*|`{re.escape(word)}`", text)}
    assert not missing, missing


def test_the_glossary_defines_each_term_once():
    terms = re.findall(r"^\*\*(.+?)\*\*", text_of(DOCS / "glossary.md"), re.MULTILINE)
    assert len(terms) > 40
    assert len({term.lower() for term in terms}) == len(terms)
    assert [term.lower() for term in terms] == sorted(term.lower() for term in terms)


# Links and places


def anchors(path: Path) -> set[str]:
    """As code hosts make them: lower case, punctuation dropped, spaces to hyphens."""
    headings = re.findall(r"^#+ (.+)$", text_of(path), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in headings}


@pytest.mark.parametrize("document", PAGES, ids=name_of)
def test_every_link_within_the_documents_leads_somewhere(document):
    for target in re.findall(r"\]\(([^)\s]+)\)", text_of(document)):
        if "://" in target or target.startswith("mailto:"):
            continue
        place, _, anchor = target.partition("#")
        path = (document.parent / place).resolve() if place else document
        assert path.exists(), f"{name_of(document)}: {target}"
        if anchor:
            assert anchor in anchors(path), f"{name_of(document)}: {target} has no such heading"


@pytest.mark.parametrize("document", PAGES, ids=name_of)
def test_every_file_of_the_project_that_a_page_names_is_there(document):
    for found in CODE.findall(text_of(document)):
        if re.fullmatch(r"(?:register|tests|templates|fixtures|docs|requirements|\.ci)/[\w./-]*", found):
            assert (ROOT / found).exists(), f"{name_of(document)}: {found}"


def test_every_document_can_be_reached_from_the_two_that_people_open_first():
    reached: set[Path] = set()
    waiting = [ROOT / "README.md", ROOT / "DEVELOPERS.md"]
    while waiting:
        page = waiting.pop()
        if page in reached:
            continue
        reached.add(page)
        for target in re.findall(r"\]\(([^)\s#]+\.md)(?:#[^)]*)?\)", text_of(page)):
            if "://" not in target:
                waiting.append((page.parent / target).resolve())
        made = [DOCS / name for name in re.findall(r"\bdocs/(\w+\.md)\b", text_of(page))]  # named, but only there once made
        waiting += [path for path in made if path.exists()]
    assert set(PAGES) <= reached, [name_of(page) for page in set(PAGES) - reached]


def test_the_layout_in_developers_names_every_folder_of_the_code():
    text = text_of(ROOT / "DEVELOPERS.md")
    folders = {path.name for path in (ROOT / "register").iterdir() if path.is_dir() and path.name != "__pycache__"}
    missing = {name for name in folders if f"`register/{name}/`" not in text}
    assert not missing, missing
