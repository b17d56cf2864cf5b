"""What the project stands on: the lock files, the licence, the settings of a site, and files that fit any machine."""

from __future__ import annotations

import re
import sys
import tomllib
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path

import pytest

from tests.demo_register import plant_demo_register

ROOT = Path(__file__).resolve().parent.parent
LOCKS = [ROOT / "requirements" / name for name in ("runtime.txt", "dev.txt")]
KEPT = ("register", "templates", "tests", "fixtures", "docs", "requirements", ".ci")
"""The folders that are handed on; the rest of the project's folder is made here or is somebody's own."""

PIN = re.compile(r"^([a-z0-9][a-z0-9.-]*)(?:\[[a-z,]+\])?==(\S+?)(?: ; (.+?))? \\$", re.MULTILINE)


def pins(path: Path) -> dict[str, list[str]]:
    """Versions by package: more than one where they differ by Python or machine."""
    found: dict[str, list[str]] = {}
    for name, pinned, _ in PIN.findall(path.read_text()):
        found.setdefault(name, []).append(pinned)
    return found


def names_of(requirements: list[str]) -> set[str]:
    return {re.split(r"[\[<>=!~ ]", line)[0].lower() for line in requirements}


def handed_on() -> Iterator[Path]:
    """Every text file that a person who fetches the project gets."""
    yield from (path for path in ROOT.iterdir() if path.is_file())
    for name in KEPT:
        yield from (path for path in (ROOT / name).rglob("*") if path.is_file() and "__pycache__" not in path.parts)


def texts() -> Iterator[tuple[Path, str]]:
    for path in handed_on():
        try:
            yield path.relative_to(ROOT), path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue


# The lock files


@pytest.mark.parametrize("path", LOCKS, ids=lambda path: path.name)
def test_a_lock_file_holds_nothing_of_the_machine_that_made_it(path):
    lines = path.read_text().splitlines()
    found = [line for line in lines if re.search(r"://|^\s*--(?!hash=)|index|find-links|trusted-host|@ ?file|@ ?git", line, re.IGNORECASE)]
    assert not found, f"{path.name} names an address or an option: {found[:3]}. Make it again with make lock."


@pytest.mark.parametrize("path", LOCKS, ids=lambda path: path.name)
def test_every_package_is_pinned_and_hashed(path):
    text = path.read_text()
    entries = [entry for entry in re.split(r"^(?=[a-z0-9])", text, flags=re.MULTILINE) if entry.strip()]
    assert len(entries) > 10
    for entry in entries:
        assert PIN.match(entry), f"{path.name}: not pinned to one version: {entry.splitlines()[0]}"
        assert re.search(r"--hash=sha256:[0-9a-f]{64}", entry), f"{path.name}: no hash: {entry.splitlines()[0]}"


def test_the_lock_files_hold_what_pyproject_asks_for():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())
    runtime = names_of(project["project"]["dependencies"])
    rest = names_of(project["dependency-groups"]["dev"] + project["project"]["optional-dependencies"]["postgres"])
    run_lock, dev_lock = (set(pins(path)) for path in LOCKS)
    assert runtime <= run_lock, "make lock has not been run since a dependency was added"
    assert runtime | rest <= dev_lock, "make lock has not been run since a dependency was added"


def test_development_and_the_site_run_the_same_versions():
    site, development = (pins(path) for path in LOCKS)
    assert {name: development.get(name) for name in site} == site


def test_this_environment_is_the_locked_one():
    """Otherwise the other tests prove something about other versions. Pins for other machines or Pythons are passed over."""
    wrong = {}
    for name, pinned, marker in PIN.findall(LOCKS[1].read_text()):
        if marker and ("win32" in marker or "python_full_version" in marker or "platform" in marker):
            continue
        if version(name) != pinned:
            wrong[name] = (version(name), pinned)
    assert not wrong, f"installed and locked differ: {wrong}. Run make setup."


def test_the_python_that_runs_is_one_that_the_project_promises():
    wanted = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["requires-python"]
    assert wanted == ">=3.11,<3.14"
    assert (3, 11) <= sys.version_info[:2] < (3, 14)


# The tests


@pytest.mark.django_db
def test_the_demo_register_that_tests_are_given_is_the_one_that_an_import_makes(tmp_path):
    """Copied rows and imported rows are exported alike, history is as long, and numbers go on where they were."""
    from builders import empty_the_register, read_folder

    from register.models import Act, Part
    from register.services.export_register import export_register

    told = []
    for name in ("first", "second", "third"):  # whichever of them imports, the others copy
        plant_demo_register()
        export_register(tmp_path / name)
        told.append((read_folder(tmp_path / name), Part.history.count(), Act.objects.count()))
        empty_the_register()
    assert told[0] == told[1] == told[2]
    assert told[0][1] == len(told[0][0]["parts"]) > 100


# The files


def test_no_file_names_a_place_on_somebodys_machine():
    """Neither a home folder of any system, nor the folder in which this copy of the project happens to lie."""
    homes = r"(?<![\w./-])/(?:home|Users)/\w|[A-Za-z]:\\+Users\\+\w"
    here = [str(place) for place in {ROOT, Path.home(), Path(sys.base_prefix)} if len(place.parts) > 2]
    pattern = re.compile("|".join([homes, *(rf"(?<![\w./-]){re.escape(place)}(?![\w-])" for place in here if place != "/usr/local")]))
    found = [f"{path}: {match.group()}" for path, text in texts() for match in pattern.finditer(text)]
    assert not found, found


def test_no_file_holds_a_secret():
    """Private keys, and tokens in the forms that the large services give them (from memory)."""
    pattern = re.compile(r"-----BEGIN [A-Z ]*PRIVATE KEY|\bgh[pousr]_[A-Za-z0-9]{30,}|\bAKIA[0-9A-Z]{16}\b|\bxox[abp]-[0-9A-Za-z-]{10,}")
    found = [str(path) for path, text in texts() if pattern.search(text)]
    assert not found


def test_text_files_end_their_lines_as_one_system_does():
    """CSV files aside: the exchange format ends its lines as RFC 4180 does."""
    found = [str(path) for path, _ in texts() if path.suffix != ".csv" and b"\r" in (ROOT / path).read_bytes()]
    assert not found


def test_the_licence_is_an_open_one_and_is_the_one_named():
    licence = (ROOT / "LICENSE").read_text()
    assert licence.startswith("BSD 3-Clause License") and "the fabric register contributors" in licence
    assert tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["license"]["file"] == "LICENSE"


def test_fresh_things_are_not_kept_with_the_project():
    ignored = (ROOT / ".gitignore").read_text().split()
    assert {".venv", ".var/", "__pycache__/"} <= set(ignored)  # a link to an environment is none of ours either
