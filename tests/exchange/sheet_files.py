"""Files for tests: CSV folders from text or bytes, and workbooks written part by part, so that they can be as bad as
anything that is sent in. Nothing here uses the register's own writers."""

from __future__ import annotations

import struct
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from register.exchange.rawtables import ReadResult, read_register_file

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"
HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
DATE_STYLE, TIME_STYLE, PERCENT_STYLE = 1, 2, 3
STYLES = (
    f'{HEAD}<styleSheet xmlns="{MAIN}"><numFmts count="1"><numFmt numFmtId="164" formatCode="dd/mm/yyyy"/></numFmts>'
    '<cellXfs count="4"><xf numFmtId="0"/><xf numFmtId="164"/><xf numFmtId="20"/><xf numFmtId="9"/></cellXfs></styleSheet>'
)


def folder(base: Path, **tables: str | bytes) -> Path:
    """A folder of CSV files, each as given; text is UTF-8 with its line ends as they are."""
    base.mkdir(exist_ok=True)
    for name, content in tables.items():
        (base / f"{name}.csv").write_bytes(content if isinstance(content, bytes) else content.encode())
    return base


def read_csv(base: Path, **tables: str | bytes) -> ReadResult:
    return read_register_file(folder(base, **tables))


def cell(place: str, value: object = None, *, style: int = 0, formula: str | None = None, kind: str = "") -> str:
    """One cell as XML: text inline, numbers and booleans as such; with a formula, ``value`` is what is stored."""
    if isinstance(value, str) and not kind:
        kind = "str" if formula is not None else "inlineStr"
    elif isinstance(value, bool):
        kind, value = "b", int(value)
    attributes = f' r="{place}"' + (f' s="{style}"' if style else "") + (f' t="{kind}"' if kind else "")
    inside = f"<f>{escape(formula)}</f>" if formula is not None else ""
    if kind == "inlineStr":
        inside += f'<is><t xml:space="preserve">{escape(str(value))}</t></is>'
    elif value is not None:
        inside += f"<v>{escape(str(value))}</v>"
    return f"<c{attributes}>{inside}</c>"


def sheet(*rows: list[str] | str, before: str = "", after: str = "", prolog: str = "") -> str:
    """A worksheet: each row a list of cells, or a whole ``<row>``."""
    lines = [row if isinstance(row, str) else f'<row r="{number}">{"".join(row)}</row>' for number, row in enumerate(rows, 1)]
    return f'{HEAD}{prolog}<worksheet xmlns="{MAIN}">{before}<sheetData>{"".join(lines)}</sheetData>{after}</worksheet>'


def header(*names: str) -> list[str]:
    return [cell(f"{chr(65 + index)}1", name) for index, name in enumerate(names)]


def workbook(path: Path, sheets: Mapping[str, str], *, state: Mapping[str, str] | None = None, from_1904: bool = False,
             strings: str | None = None, parts: Mapping[str, str | bytes] | None = None, macros: bool = False) -> Path:
    """A workbook of these sheets (name to XML). parts: any other part, or another text for one of these."""
    listed = "".join(f'<sheet name="{escape(name)}" sheetId="{number}" r:id="rId{number}" state="{(state or {}).get(name, "visible")}"/>'
                     for number, name in enumerate(sheets, 1))
    properties = f'<workbookPr date1904="{int(from_1904)}"/>'
    links = "".join(f'<Relationship Id="rId{number}" Type="{OFFICE}/worksheet" Target="worksheets/sheet{number}.xml"/>'
                    for number in range(1, len(sheets) + 1))
    links += f'<Relationship Id="s" Type="{OFFICE}/styles" Target="styles.xml"/>'
    links += f'<Relationship Id="t" Type="{OFFICE}/sharedStrings" Target="sharedStrings.xml"/>' if strings else ""
    kind = "application/vnd.ms-excel.sheet.macroEnabled.main+xml" if macros else "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"
    content: dict[str, str | bytes] = {
        "[Content_Types].xml": f'{HEAD}<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="xml" ContentType="application/xml"/>'
                               f'<Override PartName="/xl/workbook.xml" ContentType="{kind}"/></Types>',
        "_rels/.rels": f'{HEAD}<Relationships xmlns="{PACKAGE}"><Relationship Id="r" Type="{OFFICE}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'{HEAD}<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}">{properties}<sheets>{listed}</sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'{HEAD}<Relationships xmlns="{PACKAGE}">{links}</Relationships>',
        "xl/styles.xml": STYLES,
    }
    content |= {f"xl/worksheets/sheet{number}.xml": text for number, text in enumerate(sheets.values(), 1)}
    if strings:
        content["xl/sharedStrings.xml"] = strings
    content |= parts or {}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in content.items():
            archive.writestr(name, text)
    return path


def read_sheet(base: Path, xml: str, *, table: str = "parts", **more: object) -> ReadResult:
    """Read a workbook of one sheet."""
    return read_register_file(workbook(base / "sheet.xlsx", {table: xml}, **more))  # type: ignore[arg-type]


def lie_about_sizes(path: Path, name: str, size: int) -> None:
    """Change what a zip says about the unpacked size of a part, in the directory and before the part."""
    data = bytearray(path.read_bytes())
    for signature, at_size, at_name in ((b"PK\x01\x02", 24, 46), (b"PK\x03\x04", 22, 30)):
        place = data.find(signature)
        while place >= 0:
            if data[place + at_name : place + at_name + len(name)] == name.encode():
                data[place + at_size : place + at_size + 4] = struct.pack("<I", size)
            place = data.find(signature, place + 4)
    path.write_bytes(data)


def texts(found: ReadResult, table: str, column: str) -> list[Any]:
    """The values of a column, cells at fault left out."""
    return [row.values[column] for row in found.rows[table] if column not in row.bad]


def told(found: ReadResult) -> str:
    """Every fault, one a line."""
    return "\n".join(map(str, found.faults))
