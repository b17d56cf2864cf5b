"""A statement to take away: a BagIt bag of its paper, its figures, the rows that it was frozen from and a program that
works the figures out again."""

from __future__ import annotations

import json
from pathlib import Path

from register.documents.statement_editions import ASSESSOR, INTERNAL
from register.exchange import bag as bag_folder
from register.exchange.bag.bags import Files, bag, csv_bytes, zipped
from register.exchange.bag.readme import readme
from register.exchange.datapackage import describe
from register.exchange.frozen import canonical, register_of, sheets_of
from register.exchange.records import DEFAULTS, Register, Row
from register.exchange.schema import ORDER, TABLES
from register.models import Statement, StatementFile
from register.services.chain import told_by
from register.services.photographs import copy_path
from register.services.public import NOT_PUBLISHED, stub
from register.services.read_tables import read_tables
from register.services.statement_figures import stated, typed_ids_of
from register.services.statement_texts import for_an_assessor as texts_outside

PACKAGED = (INTERNAL, ASSESSOR)
"""Editions that there is a package of; the first is the office's."""
LEFT_OUT = (
    "Owners, notes on title, and persons who did not agree to be named.",
    "Places that are not public, and what was moved there.",
    "What restricted sources say: their kind and date are left, since figures depend on them.",
    "Photographs that are not public.",
    "Of the texts: private names, where parts are kept, and what was written beside a decision.",
)


def package_of(statement: Statement, edition: str = ASSESSOR) -> bytes:
    """The bag as a zip file: of the ``assessor``'s edition, or the ``internal`` one with everything in it. The same
    statement gives the same rows and papers whenever it is asked for."""
    return zipped(bag_of(statement, edition), f"{statement.number}-{edition}")


def bag_of(statement: Statement, edition: str = ASSESSOR) -> Files:
    """Its files by path."""
    if edition not in PACKAGED:
        raise ValueError(f"There is no package of the {edition} edition.")
    held = {
        one.name: bytes(one.data) for one in StatementFile.objects.filter(statement=statement).order_by("name")
    }
    told = told_by(statement.entry)
    frozen = register_of(held["inputs.json"])
    shown = frozen if edition == INTERNAL else for_an_assessor(frozen)
    payload: Files = {
        "README.md": readme(
            statement.number, _about(statement), edition=edition, left_out=() if edition == INTERNAL else LEFT_OUT
        ),
        "recompute.py": (Path(str(bag_folder.__path__[0])) / "recompute.py").read_bytes(),
        f"statement/{edition}.pdf": held[f"{edition}.pdf"],
        "statement/figures.json": held["figures.json"],
        "statement/entry.json": _entry(statement, edition),
    }
    if edition == INTERNAL:
        payload["statement/inputs.json"] = held["inputs.json"]
    if "texts.json" in held:
        texts = held["texts.json"]
        payload["statement/texts.json"] = texts if edition == INTERNAL else canonical(texts_outside(json.loads(texts)))
    payload |= _photographs(shown)
    payload |= _tables(shown)
    payload |= _read(frozen, statement)
    return bag(
        payload,
        [
            ("Source-Organization", ""),
            ("External-Identifier", statement.number),
            ("External-Description", f"Conservation statement of {statement.name}, {edition} edition"),
            ("Bagging-Date", str(told["at"])[:10]),
            ("Bag-Software-Agent", f"fabric register {told['software_version']}"),
        ],
    )


def _about(statement: Statement) -> list[str]:
    return [
        f"{statement.name} ({statement.code}), as at {statement.day.isoformat()}, measured against "
        f"{statement.reference}. Issue {statement.issue} of this vehicle."
    ]


def _entry(statement: Statement, edition: str) -> bytes:
    """The entry in the chain. Its content is text, to be hashed as it stands; the reasons in it are the railway's own, so
    another edition has the hashes without the content."""
    entry = statement.entry
    if edition == INTERNAL:
        return canonical({"content": entry.content, "hash": entry.hash, "previous": entry.previous})
    told = told_by(entry)
    known = {name: told[name] for name in ("seq", "number", "at", "as_at", "files", "method_version", "software_version")}
    return canonical({**known, "hash": entry.hash, "previous": entry.previous})


def _tables(shown: Register) -> Files:
    sheets = [sheet for sheet in sheets_of(shown) if sheet[2]]
    described = describe([(name, header) for name, header, _ in sheets], title="Frozen rows of a statement")
    files = {f"tables/{name}.csv": csv_bytes(header, rows) for name, header, rows in sheets}
    files["tables/datapackage.json"] = (json.dumps(described, ensure_ascii=False, indent=2) + "\n").encode()
    return files


def _read(frozen: Register, statement: Statement) -> Files:
    answer = stated(frozen, statement.vehicle, statement.day, statement.reference)
    vehicles = {key: row["_code"] for key, row in frozen.tables["vehicles"].items()}
    sheets = read_tables(answer, typed_ids_of(frozen, statement.vehicle), vehicles)
    return {f"read/{name}.csv": csv_bytes(header, rows, guard=False) for name, header, rows in sheets}


def _photographs(shown: Register) -> Files:
    """Copies without metadata of the public photographs; one that is not there any more is not in the bag."""
    files: Files = {}
    for row in shown.tables["photographs"].values():
        path = copy_path(row["sha256"], "large")
        if row["access"] == "public" and path.is_file():
            files[f"photographs/{row['sha256'][:16]}.webp"] = path.read_bytes()
    return files


def for_an_assessor(register: Register) -> Register:
    """The rows without stores and private names: every figure stays what it was."""
    tables = register.tables
    made = Register(change_no=register.change_no, register_id=register.register_id)
    for name in ORDER:
        made.tables[name] = {key: dict(row) for key, row in tables[name].items()}
    named = {key for key, row in tables["people"].items() if row["public_as"]}
    made.tables["people"] = {
        key: dict(row) | {"name": row["public_as"], "consent": None} for key, row in tables["people"].items() if key in named
    }
    places = {key for key, row in tables["places"].items() if row["access"] == "public"}
    made.tables["places"] = {key: row for key, row in made.tables["places"].items() if key in places}
    made.tables["movements"] = {
        key: row | {"reason": None} for key, row in made.tables["movements"].items() if row["place_id"] in places
    }
    made.tables["photographs"] = {
        key: row for key, row in made.tables["photographs"].items() if row["access"] == "public"
    }
    for key, row in tables["sources"].items():
        if row["access"] != "public":
            made.tables["sources"][key] = stub("sources", row, ("source_id", "kind", "date")) | {"access": "restricted"}
    _empty(made, {"vehicles": ("owner", "title_notes"), "parts": ("owner", "remarks"), "citations": ("note",), "events": ("holder",)})
    for row in made.tables["citations"].values():
        if made.tables["sources"][row["source_id"]]["title"] == NOT_PUBLISHED:
            row["locator"] = None
    _drop_dangling(made)
    return made


def _empty(register: Register, columns: dict[str, tuple[str, ...]]) -> None:
    for name, names in columns.items():
        for row in register.tables[name].values():
            row |= {column: DEFAULTS[name].get(column) for column in names}


def _drop_dangling(register: Register) -> None:
    """References to what was left out are emptied."""
    for name in ORDER:
        for column in TABLES[name].columns:
            to = column.to if column.kind == "ref" else "people" if column.kind == "person" else ""
            if to:
                held = register.tables[to]
                rows: dict[str, Row] = register.tables[name]
                for row in rows.values():
                    if row[column.name] is not None and row[column.name] not in held:
                        row[column.name] = None
