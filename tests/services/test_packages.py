"""The package of a statement: a bag that a stranger opens, checks and recomputes without the register."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
import subprocess
import sys
import zipfile

import pytest
from builders import WORKED, planted

from register.exchange.bag.readme import CODES
from register.exchange.schema import TABLES
from register.fabric import vocabulary
from register.models import StatementFile
from register.services.import_register import import_register
from register.services.packages import bag_of, package_of
from tests.services.issued import issue, plant

pytestmark = pytest.mark.django_db
REGISTERS = ["tiny", "worked"]


@pytest.fixture(params=REGISTERS)
def statement(request, tmp_path):
    if request.param == "tiny":
        plant(tmp_path, treatments=[{"part_id": "P1", "date": "1950s", "work": "patched", "replaced": "0.2"}])
        return issue("L1")
    import_register(WORKED)
    return issue("BRIN")


@pytest.fixture
def unpacked(statement, tmp_path):
    def unpack(edition="assessor"):
        with zipfile.ZipFile(io.BytesIO(package_of(statement, edition))) as archive:
            archive.extractall(tmp_path / edition)
        return tmp_path / edition / f"{statement.number}-{edition}"

    return unpack


def faults_of_bag(folder):
    """RFC 8493, sections 2.1 and 3: declaration, complete (every file listed is there, every payload file is listed), valid
    (every checksum is right), and the payload's octets and number."""
    found = []
    if (folder / "bagit.txt").read_bytes() != b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n":
        found.append("bagit.txt")
    listed = {}
    for manifest in ("manifest-sha256.txt", "tagmanifest-sha256.txt"):
        for line in (folder / manifest).read_text(encoding="utf-8").splitlines():
            told, name = re.fullmatch(r"([0-9a-f]{64})\s+(\S.*)", line).groups()
            name = name.replace("%0A", "\n").replace("%0D", "\r").replace("%25", "%")
            listed[name] = told
            path = folder / name
            if manifest.startswith("manifest") != name.startswith("data/"):
                found.append(f"{manifest} lists {name}")
            if not path.is_file() or hashlib.sha256(path.read_bytes()).hexdigest() != told:
                found.append(name)
    files = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    found += sorted(files - set(listed) - {"tagmanifest-sha256.txt"})
    payload = [folder / name for name in listed if name.startswith("data/")]
    info = dict(line.split(": ", 1) for line in (folder / "bag-info.txt").read_text(encoding="utf-8").splitlines())
    if info["Payload-Oxum"] != f"{sum(path.stat().st_size for path in payload)}.{len(payload)}":
        found.append("Payload-Oxum")
    return found


@pytest.mark.outside
@pytest.mark.parametrize("edition", ["assessor", "internal"])
def test_the_bag_is_complete_and_valid(edition, unpacked):
    """RFC 8493; and sha256sum of the GNU core utilities, as the README tells strangers to use it."""
    folder = unpacked(edition)
    assert faults_of_bag(folder) == []
    for manifest in ("manifest-sha256.txt", "tagmanifest-sha256.txt"):
        done = subprocess.run(["sha256sum", "--check", "--strict", "--quiet", manifest], cwd=folder, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stdout + done.stderr
    victim = folder / "data" / "read" / "parts.csv"
    victim.write_bytes(victim.read_bytes()[:-1])
    assert "data/read/parts.csv" in faults_of_bag(folder)


def test_a_stranger_recomputes_the_printed_digits_from_the_csv_files_alone(unpacked):
    """``-I -S``: nothing of this project or its libraries can be imported."""
    folder = unpacked()
    done = subprocess.run([sys.executable, "-I", "-S", "data/recompute.py"], cwd=folder, capture_output=True, text=True, check=False, env={"PYTHONUTF8": "1"})
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)
    issued = json.loads((folder / "data/statement/figures.json").read_text(encoding="utf-8"))
    assert (answer["vehicle"], answer["as_at"], answer["reference"]) == (issued["vehicle"], issued["as_at"], issued["reference"])
    assert len(answer["figures"]) == 3
    for found, told in zip(answer["figures"], issued["fabric"][:3], strict=True):
        assert told["reference"] == answer["reference"]
        assert {name: told[name] for name in found} == found


def test_the_figures_and_the_paper_are_those_that_were_issued(statement):
    files = bag_of(statement)
    for name in ("assessor.pdf", "figures.json"):
        assert files[f"data/statement/{name}"] == bytes(StatementFile.objects.get(statement=statement, name=name).data)
    assert package_of(statement) == package_of(statement)


def test_the_internal_entry_hashes_as_the_readme_says(statement):
    entry = json.loads(bag_of(statement, "internal")["data/statement/entry.json"])
    assert hashlib.sha256(b"\0" + entry["previous"].encode() + entry["content"].encode()).hexdigest() == entry["hash"]


def test_the_readme_explains_every_code_and_every_column(statement):
    text = bag_of(statement)["data/README.md"].decode()
    words = {word for name, value in vars(vocabulary).items() if name.isupper() for word in value}
    assert {word for word in words if f"- `{word}`:" not in text} == set()
    assert {column.name for table in TABLES.values() if table.name != "export" for column in table.columns if f"- `{column.name}`:" not in text} == set()
    issued = json.loads(bag_of(statement)["data/statement/figures.json"])
    shares = {*issued["fabric"][0]["composition"], *issued["survival"][0]["shares"]} - {"not_assessed"}
    assert {share for share in shares if f"`{share}`" not in text} == set()
    assert all(meaning for codes in CODES.values() for _, meaning in codes)


def test_the_tables_of_an_assessor_hold_no_store_and_no_private_name(tmp_path):
    from builders import write_folder

    import_register(write_folder(tmp_path / "planted", planted()))
    statement = issue("L1")
    files = bag_of(statement)
    text = b"\n".join(data for name, data in files.items() if name.endswith((".csv", ".json", ".md"))).decode()
    for marker in ("CANARY-NAME", "CANARY-CONSENT", "CANARY-REAL-NAME", "CANARY-STORE", "CANARY-OWNER", "CANARY-PART-OWNER", "CANARY-TITLE", "CANARY-AUTHOR",
                   "CANARY-REPOSITORY", "CANARY-LOCATOR", "CANARY-NOTE", "CANARY-MOVE", "CANARY-DONE-BY", "CANARY-HOLDER", "CANARY-JUDGE", "canary-owner", "secret-canary"):
        assert marker not in re.sub("CANARY-(DRAFT-LOCATOR|TITLE-NOTES|MOVE-2)", "", text), marker
    everything = b"".join(bag_of(statement, "internal").values()).decode("latin-1")
    assert "CANARY-STORE" in everything and "CANARY-REAL-NAME" in everything


def test_every_table_is_read_back_as_it_is_described(statement):
    files = bag_of(statement)
    described = json.loads(files["data/tables/datapackage.json"])
    assert {f"data/tables/{one['path']}" for one in described["resources"]} == {name for name in files if name.startswith("data/tables/") and name.endswith(".csv")}
    for one in described["resources"]:
        rows = list(csv.DictReader(io.StringIO(files[f"data/tables/{one['path']}"].decode())))
        assert rows and list(rows[0]) == [field["name"] for field in one["schema"]["fields"]]


@pytest.mark.outside
def test_frictionless_finds_nothing_wrong_with_the_tables(unpacked):
    """frictionless, a reference reader of Data Package and Table Schema, from frictionlessdata.io."""
    import frictionless

    folder = unpacked()
    report = frictionless.validate(str(folder / "data/tables/datapackage.json"))
    assert report.valid, report.flatten(["fieldName", "rowNumber", "note"])[:10]
