"""Import on the site: look first, decide, apply."""

from __future__ import annotations

import pytest
from builders import read_folder, tiny, write_folder
from django.core.files.uploadedfile import SimpleUploadedFile

from register.models import Act, Part
from register.services.export_register import export_register
from register.services.import_register import import_register

pytestmark = pytest.mark.django_db


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


@pytest.mark.parametrize("data", [b"", b"not a workbook", b"PK\x03\x04 but broken"])
def test_what_is_no_workbook_is_said(data, officer):
    answer = officer.post("/import/", {"file": SimpleUploadedFile("x.xlsx", data)}, follow=True)
    assert answer.status_code in (200, 422) and b"errors" in answer.content and not Act.objects.exists()


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
