"""A request that is more than the site takes: the page says which limit was met and what to do, and nothing is stored."""

from __future__ import annotations

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import RequestFactory

from register.models import Act, Part
from register.wsgi import application

pytestmark = pytest.mark.django_db


def said(answer):
    assert answer.status_code == 400
    text = re.sub(r"\s+", " ", answer.content.decode())
    assert "Nothing was changed." in text and not Act.objects.exists() and not Part.objects.exists()
    return text


def test_too_many_fields_are_counted_and_it_is_said_to_do_it_in_parts(officer, settings):
    settings.DATA_UPLOAD_MAX_NUMBER_FIELDS = 20
    for answer in (officer.post("/new/parts/", {f"f{number}": "x" for number in range(30)}), officer.get("/parts/?" + "&".join(f"f{number}=x" for number in range(30)))):
        assert "More than 20 fields were sent at once, which is the most. Go back and do it in parts" in said(answer)


def test_too_long_a_text_is_measured_and_it_is_said_what_does_not_count(officer, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 200_000
    for content in ("multipart/form-data; boundary=BoUnDaRyStRiNg", "application/x-www-form-urlencoded"):
        data = {"remarks": "x" * 300_000}
        answer = officer.post("/new/parts/", data) if "multipart" in content else officer.post("/new/parts/", "remarks=" + data["remarks"], content_type=content)
        assert "The text that was sent is longer than 0.2 MB, which is the most for one form" in said(answer)


def test_too_many_files_are_counted_and_it_is_said_to_send_them_in_lots(officer, settings):
    settings.DATA_UPLOAD_MAX_NUMBER_FILES = 3
    files = [SimpleUploadedFile(f"{number}.jpg", b"x") for number in range(5)]
    answer = officer.post("/photographs/add/", {"files": files})
    assert "More than 3 files were sent at once, which is the most. Go back and send them in several lots." in said(answer)
    files = [SimpleUploadedFile(f"{number}.jpg", b"x") for number in range(5)]
    told = officer.post("/photographs/add/", {"files": files}, headers={"Accept": "application/json"})
    assert told.status_code == 400 and told.json()["said"].startswith("More than 3 files")


def test_an_upload_that_broke_off_is_said_to_have(officer):
    answer = officer.post("/import/", b"--x\r\nContent-Disposition: form-data; name=", content_type="multipart/form-data; boundary=")
    assert "broke off on the way" in said(answer)


def test_the_limits_that_are_named_are_those_of_the_settings(settings):
    """4,000 fields and 2.5 MB, as Django's own defaults are of that order; a hundred pictures in one lot."""
    assert (settings.DATA_UPLOAD_MAX_NUMBER_FIELDS, settings.DATA_UPLOAD_MAX_NUMBER_FILES, settings.DATA_UPLOAD_MAX_MEMORY_SIZE) == (4000, 100, 2_500_000)


def test_any_other_request_that_cannot_be_read_gets_the_general_page(officer, settings):
    settings.ALLOWED_HOSTS = ["testserver"]
    answer = officer.get("/", headers={"Host": "elsewhere.example"})
    assert answer.status_code == 400 and "not something this register understands" in answer.content.decode()


ENCODINGS = ["utf-16", "utf-7", "unicode_escape", "undefined", "hex", "idna", "\xe9", "a" * 5000]
"""Names of Python's codecs (its standard library, "Standard Encodings") that give halves of characters, or no text; and of none."""


def through_the_server(path, query="", sent=b"", kind="text/plain", **more):
    """The status and the page, as the server that calls ``register.wsgi`` gets them."""
    environ = RequestFactory().generic("POST" if sent else "GET", path, sent, QUERY_STRING=query, **more).environ | {"CONTENT_TYPE": kind}
    answered = []
    body = application(environ, lambda status, headers, exc_info=None: answered.append(int(status[:3])))
    return answered[0], b"".join(body).decode()


@pytest.mark.parametrize("encoding", ENCODINGS)
@pytest.mark.parametrize("quote", ["", '"'])
def test_an_address_is_read_as_utf_8_whatever_the_request_calls_it(encoding, quote):
    for query in ("next=%5cud800+2AA-", r"next=\ud800&q=%5cud800+2AA-"):
        for path in ("/sign-in/", "/id/check/"):
            status, _ = through_the_server(path, query, kind=f"text/plain; charset={quote}{encoding}{quote}")
            assert status == 200


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_a_form_in_other_letters_is_refused_with_a_sentence(encoding):
    form = b'--x\r\nContent-Disposition: form-data; name="username"\r\n\r\n\\ud800+2AA-\r\n--x--\r\n'
    for kind, sent in (("multipart/form-data; boundary=x", form), ("application/x-www-form-urlencoded", b"username=a")):
        status, page = through_the_server("/sign-in/", sent=sent, kind=f"{kind}; charset={encoding}")
        assert (status, "is not said to be UTF-8" in page) == (400, True)


@pytest.mark.parametrize("encoding", ["utf-8", "UTF8", '"utf-8"', "us-ascii"])
def test_a_form_that_is_said_to_be_utf_8_is_read(encoding):
    status, page = through_the_server("/id/check/", sent=b"number=1", kind=f"application/x-www-form-urlencoded; charset={encoding}", _dont_enforce_csrf_checks=True)
    assert status in (403, 422) and "is not said to be UTF-8" not in page
