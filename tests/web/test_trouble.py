"""What a page says when something goes wrong under it: a full disk, a database that is locked, read-only, damaged or gone.
Nothing is stored, what can be read is read, and the same works once it is put right."""

from __future__ import annotations

import errno
import html
import os
import re

import picture_files as files
import pytest
from builders import tiny, write_folder
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection

from register.models import Act, Entry, Part, Photograph, Statement
from register.services.import_register import import_register
from tests.injected import (
    database_at,
    full_database,
    held_by_somebody_else,
    is_sqlite,
    no_room_for_files,
    only_to_be_read,
)

pytestmark = pytest.mark.django_db(transaction=True)
CHANGE = "/change/parts/p1/"
LONG = "a long remark. " * 1_300
"""More than fits into what is free in the pages that there are."""


@pytest.fixture
def planted(tmp_path):
    import_register(write_folder(tmp_path / "tiny", tiny()))


@pytest.fixture
def site(officer):
    """As a browser sees it: an error is a page."""
    officer.raise_request_exception = False
    return officer


def fields(answer):
    """What the first form of a page that posts would send, as it stands."""
    form = re.search(r'<form[^>]*method="post".*?</form>', answer.content.decode(), re.DOTALL)[0]
    return {name: html.unescape(value) for name, value in re.findall(r'<input[^>]*name="([^"]+)"[^>]*?value="([^"]*)"', form)}


def changed(site, **texts):
    page = site.get(CHANGE)
    return {**fields(page), "part_id": "P1", "name": "first chimney", "mass": "60 kg", **texts}


def text_of(answer):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", answer.content.decode()))


def acts():
    return Act.objects.count()


def test_on_a_full_disk_a_page_says_so_and_keeps_what_was_typed_and_it_works_once_there_is_room(planted, site):
    sent = changed(site, remarks=LONG)
    with full_database():
        answer = site.post(CHANGE, sent)
        assert answer.status_code == 507
        said = text_of(answer)
        assert "The disk is full" in said and "Nothing of what you sent was stored." in said and "Free at least 50 MB" in said
        assert answer["Cache-Control"] == "no-store" and "Traceback" not in said
        for address in ("/", "/vehicles/l1/", "/parts/p1/", "/id/"):
            assert site.get(address).status_code == 200, address
        assert acts() == 1 and Part.objects.get(key="p1").remarks == ""
    again = fields(answer)
    assert again["remarks"] == LONG and re.search(f'<form method="post" action="{CHANGE}">', answer.content.decode())
    assert site.post(CHANGE, again).status_code == 302
    assert Part.objects.get(key="p1").remarks == LONG.strip() and acts() == 2


def test_sending_it_again_from_the_page_twice_records_it_once(planted, site):
    sent = changed(site, remarks=LONG)
    with full_database():
        again = fields(site.post(CHANGE, sent))
    assert [site.post(CHANGE, again).status_code for _ in range(2)] == [302, 302]
    assert acts() == 2


def test_the_page_gives_no_form_of_another_site_a_token_that_it_did_not_have(planted, site):
    with full_database():
        answer = site.post(CHANGE, {"part_id": "P1", "name": "x", "remarks": LONG, "token": "t"})
    assert answer.status_code == 507 and "<form" not in answer.content.decode()


def test_an_import_onto_a_full_disk_is_not_made_and_says_how_much_room_it_needs(site, tmp_path):
    from register.exchange.writing import write_workbook

    rows = [[f"P{number}", "bolt", LONG[:2000]] for number in range(300)]
    write_workbook(tmp_path / "many.xlsx", [("parts", ("part_id", "name", "remarks"), rows)])
    upload = SimpleUploadedFile("many.xlsx", (tmp_path / "many.xlsx").read_bytes())
    look = site.post("/import/", {"file": upload}).url
    with full_database():
        answer = site.post(look)
        assert answer.status_code == 507  # in the background the page of the import says it:
        page = site.get(look)
        assert page.status_code == 200 and "It was not imported; nothing was changed" in text_of(page)
        assert "The disk is full." in text_of(page) and "Free at least 50 MB" in text_of(page)
        assert not Part.objects.exists() and acts() == 0
    site.post(look)
    assert Part.objects.count() == 300 and acts() == 1


def test_a_file_that_cannot_be_kept_is_no_import_and_can_be_sent_again(site, tmp_path, monkeypatch):
    from register.exchange.writing import write_workbook

    write_workbook(tmp_path / "one.xlsx", [("parts", ("part_id", "name"), [["P1", "bolt"]])])
    data = (tmp_path / "one.xlsx").read_bytes()
    with monkeypatch.context() as fault:
        no_room_for_files(fault)
        answer = site.post("/import/", {"file": SimpleUploadedFile("one.xlsx", data)})
    assert answer.status_code == 507 and "The disk is full" in text_of(answer)
    assert site.post("/import/", {"file": SimpleUploadedFile("one.xlsx", data)}).status_code == 302


def test_how_an_import_ended_is_told_even_where_no_file_can_be_written(site, tmp_path, monkeypatch):
    from register.exchange.writing import write_workbook

    write_workbook(tmp_path / "one.xlsx", [("parts", ("part_id", "name"), [["P1", "bolt"]])])
    look = site.post("/import/", {"file": SimpleUploadedFile("one.xlsx", (tmp_path / "one.xlsx").read_bytes())}).url
    with monkeypatch.context() as fault:
        no_room_for_files(fault, after=2)  # that it runs is written and flushed, and how it ended is not
        site.post(look)
    assert "Imported as change 1" in text_of(site.get(look))


def test_a_statement_is_not_issued_onto_a_full_disk_and_its_number_is_still_free(planted, site):
    page = site.get("/vehicles/l1/issue/")
    reasons = dict.fromkeys(re.findall(r'name="(accept-[^"]+)"', page.content.decode()), "known")
    sent = {**fields(page), "as_at": "1 June 2024", "reference": "as built", **reasons}
    with full_database():
        answer = site.post("/vehicles/l1/issue/", sent)
        assert answer.status_code == 507 and "Nothing of what you sent was stored." in text_of(answer)
        assert not Statement.objects.exists() and not Entry.objects.exists()
        assert site.get("/vehicles/l1/statement.pdf").status_code == 200
    assert site.post("/vehicles/l1/issue/", fields(answer)).url == "/statements/CS-0001/"


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EDQUOT, errno.EFBIG])
def test_a_photograph_that_finds_no_room_is_told_of_and_can_be_sent_again(code, planted, site, monkeypatch):
    def send():
        return site.post("/photographs/add/?part=P1", {"photos": SimpleUploadedFile("a.jpg", files.picture()), "token": "t"})

    with monkeypatch.context() as fault:
        no_room_for_files(fault, after=2, error=code)  # the original is kept, and no copy
        answer = send()
        script = site.post("/photographs/add/?part=P1", {"photos": SimpleUploadedFile("a.jpg", files.picture())}, headers={"Accept": "application/json"})
    assert script.status_code == 507 and script.json()["said"].startswith("The disk is full.")
    assert answer.status_code == 507 and "The disk is full" in text_of(answer) and not Photograph.objects.exists()
    send()
    stored = Photograph.objects.get()
    assert site.get(f"/photographs/{stored.sha256}/large.webp").status_code == 200


def test_while_somebody_else_is_writing_a_page_says_when_to_try_again(planted, site):
    sent = changed(site, remarks="short")
    with held_by_somebody_else():
        answer = site.post(CHANGE, sent)
    assert answer.status_code == 503 and answer["Retry-After"] == "60"
    assert "Somebody else is writing" in text_of(answer) and "Nothing of what you sent was stored." in text_of(answer)
    assert site.post(CHANGE, fields(answer)).status_code == 302 and acts() == 2


def test_a_database_that_may_only_be_read_is_read(planted, site):
    sent = changed(site, remarks="short")
    with only_to_be_read():
        answer = site.post(CHANGE, sent)
        assert answer.status_code == 503 and "The register cannot be written to" in text_of(answer)
        assert site.get("/parts/p1/").status_code == 200
    assert acts() == 1


def test_a_folder_that_may_not_be_written_to_is_told_of(planted, site, monkeypatch):
    with monkeypatch.context() as fault:
        no_room_for_files(fault, error=errno.EROFS)
        answer = site.post("/photographs/add/?part=P1", {"photos": SimpleUploadedFile("a.jpg", files.picture()), "access": "public"})
    assert answer.status_code == 503 and "mounted read-only" in text_of(answer)


@pytest.fixture
def only_sqlite(db):
    if not is_sqlite():
        pytest.skip("a file of SQLite's")


@pytest.mark.parametrize("address", ["/", "/parts/p1/", "/id/", "/id/vehicles/l1/", "/id/check/?number=CS-0001"])
def test_a_database_that_is_gone_is_told_of_and_no_new_one_is_made(address, only_sqlite, planted, site, tmp_path):
    path = tmp_path / "gone.sqlite3"
    with database_at(path):
        answer = site.get(address)
        assert answer.status_code == 503 and "The database is not there" in text_of(answer)
        assert "Nothing of what you sent" not in text_of(answer)
        assert not path.exists()


def test_an_empty_database_in_the_place_of_the_register_is_told_of(only_sqlite, planted, site, tmp_path):
    path = tmp_path / "empty.sqlite3"
    path.touch()
    with database_at(path):
        answer = site.get("/id/")
        assert answer.status_code == 503 and "There is no register in the database" in text_of(answer)
        assert path.stat().st_size == 0


@pytest.mark.parametrize("damage", ["header", "middle"])
def test_a_damaged_database_is_told_of(damage, only_sqlite, planted, site, tmp_path):
    connection.close()
    with open(connection.settings_dict["NAME"], "rb") as file:
        data = bytearray(file.read())
    start = 0 if damage == "header" else 4096
    data[start : None if damage == "middle" else 4096] = os.urandom(len(data) - start if damage == "middle" else 4096)
    path = tmp_path / "damaged.sqlite3"
    path.write_bytes(bytes(data))
    with database_at(path):
        answer = site.get("/id/")
    assert answer.status_code == 503 and "The database is damaged" in text_of(answer), text_of(answer)


def test_a_fault_of_the_program_is_none_of_these(planted, site, monkeypatch):
    from register.web import parts

    def broken(*_):
        raise ZeroDivisionError

    monkeypatch.setattr(parts, "part_page", broken)
    answer = site.get("/parts/p1/")
    assert answer.status_code == 500 and "Something went wrong here" in text_of(answer)


def test_a_connection_that_the_database_ended_is_told_of_once(planted, site):
    if is_sqlite():
        pytest.skip("SQLite has no server")
    from django.db import connections
    from django.db.utils import InterfaceError, OperationalError

    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_backend_pid()")
        (process,) = cursor.fetchone()
    other = connections.create_connection("default")
    with other.cursor() as cursor:
        cursor.execute("SELECT pg_terminate_backend(%s)", [process])
    other.close()
    answer = site.get("/parts/p1/")
    assert answer.status_code == 503 and "The database does not answer" in text_of(answer) and answer["Retry-After"]
    try:
        connection.close_if_unusable_or_obsolete()  # what ends every request but those of tests
    except (InterfaceError, OperationalError):
        connection.close()
    assert site.get("/parts/p1/").status_code == 200
