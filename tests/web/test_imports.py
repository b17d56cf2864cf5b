"""Import on the site: look first, decide, apply."""

from __future__ import annotations

import html
import io
import zipfile

import pytest
from builders import read_folder, tiny, write_folder
from django.core.files.uploadedfile import SimpleUploadedFile
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from register.models import Act, Part
from register.services.export_register import export_register
from register.services.import_jobs import UploadError, keep_upload
from register.services.import_register import import_register

pytestmark = pytest.mark.django_db


def whole():
    book, out = Workbook(), io.BytesIO()
    book.active.title = "parts"
    book.active.append(["part_id", "name"])
    book.save(out)
    return out.getvalue()


WHOLE = whole()


def workbook(tmp_path, tables, name="sheet.xlsx"):
    from register.exchange.writing import write_workbook

    path = tmp_path / name
    write_workbook(path, [(table, tuple(rows[0]), [list(row.values()) for row in rows]) for table, rows in tables.items()])
    return SimpleUploadedFile(name, path.read_bytes())


def test_a_workbook_is_looked_at_and_then_applied(officer, tmp_path):
    answer = officer.post("/import/", {"file": workbook(tmp_path, {"parts": [{"part_id": "P1", "name": "bolt"}]})}, follow=True)
    assert "Import it" in answer.content.decode() and not Part.objects.exists()
    done = officer.post(answer.redirect_chain[-1][0], follow=True)
    assert "Imported as change 1" in done.content.decode() and Part.objects.get().name == "bolt"
    officer.post(answer.redirect_chain[-1][0])
    assert Act.objects.count() == 1


def test_every_fault_is_on_the_page_and_nothing_is_stored(officer, tmp_path):
    sheet = {"parts": [{"part_id": "P1", "name": "bolt", "mass": "12 T"}, {"part_id": "P 2", "name": "nut", "mass": ""}]}
    answer = officer.post("/import/", {"file": workbook(tmp_path, sheet)}, follow=True).content.decode()
    assert "parts row 2" in answer and "parts row 3" in answer and not Part.objects.exists()


def zipped(**files):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, text in files.items():
            archive.writestr(name.replace("__", "/").replace("_dot_", "."), text)
    return out.getvalue()


JUNK = {
    "empty": (b" ", "no workbook"),
    "a note": (b"Dear treasurer,\r\nthe parts are in the shed.", "but text"),
    "a CSV file": ("part_id,name\r\nP1,\u00bd in bolt\r\n".encode("cp1252"), "but text. One CSV file is one table"),
    "a PDF": (b"%PDF-1.7\n%\xe2\xe3", "but a document for printing (PDF)"),
    "a photograph": (b"\xff\xd8\xff\xe0\0\x10JFIF", "but a picture: photographs are added on the page of what they show"),
    "a web page": (b"<!DOCTYPE html><table></table>", "but a page of the web"),
    "a packed file": (b"7z\xbc\xaf\x27\x1c", "unpack it first"),
    "an old workbook": (b"\xd0\xcf\x11\xe0" + bytes(100), "an old workbook (.xls)"),
    "half a workbook": (b"PK\x03\x04 but broken", "or only a part of one"),
    "noise": (bytes(range(256)) * 20, "or only a part of one"),
    "a zip file": (zipped(readme_dot_txt="x"), "a zip file but no workbook"),
    "a zip file of tables": (zipped(parts_dot_csv="part_id,name"), "a zip file of CSV files: unpack it"),
    "a document": (zipped(**{"[Content_Types]_dot_xml": "<Types/>", "word__document_dot_xml": "<a/>"}), "a document or a presentation"),
    "an OpenDocument sheet": (zipped(mimetype="application/vnd.oasis.opendocument.spreadsheet"), "an OpenDocument spreadsheet"),
    "a zip file that says it is one": (zipped(**{"[Content_Types]_dot_xml": "<Types/>"}), "no workbook"),
}  # fmt: skip


@pytest.mark.parametrize("name", ["sheet.xlsx", "sheet.csv", "x"])
@pytest.mark.parametrize("what", JUNK)
def test_what_is_no_workbook_is_refused_at_once_by_its_content_whatever_it_is_called(what, name, officer, settings):
    data, said = JUNK[what]
    answer = officer.post("/import/", {"file": SimpleUploadedFile(name, data)})
    text = html.unescape(answer.content.decode())
    assert answer.status_code == 422 and "Nothing was read" in text and said in text
    folder = settings.DATA / "uploads"
    assert not Act.objects.exists() and not (folder.is_dir() and list(folder.iterdir()))


def test_an_empty_file_is_said_to_be_empty(officer):
    answer = officer.post("/import/", {"file": SimpleUploadedFile("x.xlsx", b"")})
    assert answer.status_code == 422 and "The file is empty." in answer.content.decode()


def test_a_workbook_of_something_else_is_refused_at_once_and_leads_to_lists(officer, tmp_path, settings):
    upload = workbook(tmp_path, {"Sheet1": [{"What": "bolt", "How many": "3"}], "Prices": [{"a": "b"}]})
    answer = officer.post("/import/", {"file": upload})
    text = html.unescape(answer.content.decode())
    assert answer.status_code == 422 and "No sheet of this workbook is a table of the register. Its sheets are “Sheet1”, “Prices”" in text
    assert 'href="/lists/"' in text and not (settings.DATA / "uploads").exists()


def test_a_workbook_is_known_by_its_content_and_a_sheet_nearly_called_like_a_table_is_looked_at(officer, tmp_path):
    upload = workbook(tmp_path, {"Parts": [{"part_id": "P1", "name": "bolt"}]})
    upload.name = "parts.csv"
    answer = officer.post("/import/", {"file": upload}, follow=True)
    assert answer.status_code == 200 and "Did you mean “parts”?" in html.unescape(answer.content.decode())


@given(st.binary(max_size=400), st.integers(0, 5_000), st.booleans())
@settings(max_examples=60, deadline=None)
def test_no_bytes_at_all_get_a_traceback(junk, at, inside):
    """A workbook with something else written into it, or anything: kept, or refused with a sentence."""
    data = bytearray(WHOLE)
    data[at : at + (len(junk) if inside else 0)] = junk
    for sent in (bytes(data), junk):
        try:
            keep_upload("x.xlsx", [sent])
        except UploadError as sentence:
            assert str(sentence).endswith((".", "”.")) or "instead" in str(sentence)


def test_without_a_file_it_says_so(officer):
    assert "Choose a workbook first." in officer.post("/import/").content.decode()


def test_a_conflict_is_decided_record_by_record(officer, tmp_path):
    import_register(write_folder(tmp_path / "one", tiny()))
    export_register(tmp_path / "out.xlsx")
    import_register(write_folder(tmp_path / "two", {"parts": [{"part_id": "P1", "material": "iron"}, {"part_id": "P2", "material": "brass"}]}))
    upload = SimpleUploadedFile("out.xlsx", (tmp_path / "out.xlsx").read_bytes())
    page = officer.post("/import/", {"file": upload}, follow=True)
    assert "iron" in page.content.decode() and "brass" in page.content.decode()
    officer.post(page.redirect_chain[-1][0], {"keep-parts:p1": "register", "keep-parts:p2": "file"})
    assert Part.objects.get(key="p1").material == "iron" and Part.objects.get(key="p2").material == ""


def test_importing_is_for_those_who_may(sign_in):
    assert sign_in("recorder").get("/import/").status_code == 403
    assert sign_in("officer").get("/import/nonsense/").status_code == 404


def test_the_blank_workbook_can_be_fetched_and_read_back(officer, tmp_path):
    (tmp_path / "blank.xlsx").write_bytes(officer.get("/export/blank.xlsx").content)
    assert import_register(tmp_path / "blank.xlsx").created["vehicles"] == 1


def test_the_exported_workbook_holds_the_register(officer, tmp_path):
    import_register(write_folder(tmp_path / "one", tiny()))
    (tmp_path / "register.xlsx").write_bytes(officer.get("/export/register.xlsx").content)
    assert import_register(tmp_path / "register.xlsx").act is None
    assert read_folder(tmp_path / "one")
