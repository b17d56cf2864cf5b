"""The column lists of docs/exchange.md, made from the schema: ``python -m tests.exchange_page`` writes them anew.

tests/test_docs.py fails while the page and the schema differ.
"""

from __future__ import annotations

from pathlib import Path

from register.exchange.schema import ORDER, TABLES, Column, Table

PAGE = Path(__file__).resolve().parent.parent / "docs" / "exchange.md"
START = "<!-- columns: made by python -m tests.exchange_page from register/exchange/schema.py -->"
END = "<!-- end of columns -->"

HOLDS = {
    "id": "an id, chosen by you",
    "text": "text",
    "words": "texts, `;` between",
    "date": "a date",
    "day": "a plain day",
    "yes": "yes or no",
    "mass": "a mass",
    "fraction": "a fraction",
    "count": "a whole number",
    "person": "a `person_id`, or a name",
    "tag": "a tag",
    "sha256": "a SHA-256",
    "file": "a file name",
}


def holds(column: Column) -> str:
    """What may stand in a cell of the column, and what an empty one means."""
    listed = ", ".join(f"`{choice}`" for choice in column.choices)
    if column.kind == "ref":
        words = f"a `{TABLES[column.to].own_id}`"
    elif column.kind == "choices":
        words = f"any of: {listed} (`;` between)"
    else:
        words = HOLDS.get(column.kind, listed)
    words += ", range or tolerance" if column.part == "whole" else ""
    words += ', or "as built"' if column.as_built else ""
    return words + (f"; empty: {column.default}" if column.default else "")


def mark(column: Column) -> str:
    return " ".join(word for word, said in (("key", column.key), ("needed", column.required)) if said)


def cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


def table_lines(table: Table) -> list[str]:
    """A heading, what tells two rows apart, and a row for each column."""
    lines = [f"### {table.name}", ""]
    if table.row_id:
        lines += [f"One {table.noun} a row. Exports begin each row with `row_id`, the number of the row.", ""]
    elif table.name == "export":
        lines += ["One row, written by every export: from which register, and in which state of it.", ""]
    else:
        lines += [f"One {table.noun} a row.", ""]
    lines += ["| column | | holds | meaning | example |", "|---|---|---|---|---|"]
    for column in table.columns:
        example = f"`{column.example}`" if column.example else ""
        lines.append(f"| `{column.name}` | {mark(column)} | {cell(holds(column))} | {cell(column.about)} | {cell(example)} |")
    return [*lines, ""]


def columns_section() -> str:
    """Everything between the two marks of the page."""
    lines = [START, ""]
    for name in (*ORDER, "export"):
        lines += table_lines(TABLES[name])
    return "\n".join([*lines, END])


def rewritten(page: str) -> str:
    """The page with its section made anew. ValueError where the marks are not there, once each."""
    if page.count(START) != 1 or page.count(END) != 1:
        raise ValueError(f"{PAGE.name} must hold the two marks of the column lists once each.")
    return page[: page.index(START)] + columns_section() + page[page.index(END) + len(END) :]


if __name__ == "__main__":
    PAGE.write_text(rewritten(PAGE.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
