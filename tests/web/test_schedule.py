"""The pages of a schedule: found, chosen, taken away, asked for again; and a sentence for whatever cannot be had."""

from __future__ import annotations

import hashlib
import html
import io
import re
import shlex

import openpyxl
import pytest
from builders import WORKED, change, changes_of, tiny
from django.core.management import CommandError, call_command
from django.utils import timezone

from register.models import User
from register.policy import ROLES
from register.services.change_sets import apply
from register.services.import_register import import_register
from register.services.records import strike_out
from tests.documents.reading import Read, squeezed
from tests.services.test_proposals import NEW, OUT, written

pytestmark = pytest.mark.django_db
HOSTILE = '=1+1 <script>alert(1)</script> "&amp;" Łódź \u202e'
BRIN = "/schedule/?v=BRIN&as_at=2024-06-30"
FILES = ("schedule.xlsx", "schedule.pdf", "charts/bounds.svg", "charts/bounds.png", "charts/composition.svg", "charts/composition.png", "inputs.json")


@pytest.fixture
def brindlewick():
    import_register(WORKED)


@pytest.fixture
def engine():
    rows = tiny(places=[{"place_id": "STORE", "name": "store"}], assessments=[{"part_id": "P2", "assessed_on": "2020-05-01", "status": "original"}])
    rows["vehicles"][0]["name"] = HOSTILE
    apply(changes_of(rows), kind="test")


def text_of(answer):
    return html.unescape(" ".join(re.sub(r"<[^>]+>", " ", answer.content.decode()).split())).replace("\u00a0", " ")


def links(answer):
    return [html.unescape(one) for one in re.findall(r'href="([^"#]+)"', answer.content.decode())]


def test_it_is_found_from_the_vehicle_the_fleet_and_the_proposal(engine, officer):
    written(User.objects.get(username="a-officer"))
    for page, wanted in (("/", "/schedule/"), ("/vehicles/l1/?basis=count&as_at=2020-01-01", "/schedule/?v=L1&as_at=2020-01-01&basis=count"), ("/proposals/1/", "/schedule/?v=L1&proposal=P-001")):
        assert wanted in links(officer.get(page)), page
        assert officer.get(wanted).status_code == 200


@pytest.mark.outside
def test_the_page_shows_the_figures_worked_out_by_hand(brindlewick, sign_in):
    """tests/worked_example/worked_example.md, section 5: 42.920831 to 79.335889, count 18.888889 to 36.666667."""
    for role in ROLES:
        page = text_of(sign_in(role).get(BRIN))
        for words in ("between 42.9 and 79.4 % original fabric by mass", "42.9–79.4", "18.8–36.7", "29.5–53.4", "as built (1894)", "kept back", "1 of 9", "What may not be claimed", "never compared by count"):
            assert words in page, (role, words)
        assert "65.8" not in page


def test_nobody_else_sees_it(brindlewick, sign_in):
    client = sign_in(None)
    for address in (BRIN, *(f"/schedule/{one}?v=BRIN" for one in FILES)):
        assert client.get(address).url.startswith("/sign-in/"), address


def test_every_file_that_the_page_offers_is_there(brindlewick, officer):
    page = officer.get(BRIN)
    offered = [one for one in links(page) if one.startswith("/schedule/") and one != "/schedule/"]
    assert len(offered) == 7 and {one.split("?")[0].removeprefix("/schedule/") for one in offered} == set(FILES)
    for address in offered:
        answer = officer.get(address)
        assert answer.status_code == 200 and len(answer.content) > 500, address
        assert re.search(r'filename="BRIN-[\w.-]+"', answer["Content-Disposition"]), address
    inputs = next(one for one in offered if "inputs.json" in one)
    assert hashlib.sha256(officer.get(inputs).content).hexdigest() in page.content.decode()


def test_page_workbook_and_paper_give_the_same(brindlewick, officer):
    page = text_of(officer.get(BRIN))
    head, *rows = openpyxl.load_workbook(io.BytesIO(officer.get(BRIN.replace("?", "schedule.xlsx?")).content))["schedule"].iter_rows(values_only=True)
    paper = squeezed(Read(officer.get(BRIN.replace("?", "schedule.pdf?")).content).text)
    figures = [dict(zip(head, row, strict=True)) for row in rows]
    assert len([row for row in figures if row["low"] is not None]) == 3
    for row in figures:
        if row["low"] is not None:
            said = f"{row['low']:.1f}–{row['high']:.1f}"
            assert said in page and said in paper
            assert row["data_sha256"] in page and row["data_sha256"] in paper
    svg = officer.get(BRIN.replace("?", "charts/bounds.svg?")).content.decode()
    assert ">42.9<" in svg and ">79.4<" in svg


def test_the_same_again_at_another_day_changes_only_the_day(engine, officer):
    written(User.objects.get(username="a-officer"))
    asked = "/schedule/?v=L1&v=L2&as_at=2021-01-01&basis=significance&reference=As+built&proposal=P-001&completed=2030-01-01"
    page = officer.get(asked).content.decode()
    form = re.search(r'<form class="block controls".*?</form>', page, re.DOTALL)[0]
    fields = [(name, html.unescape(value)) for name, value in re.findall(r'name="([^"]+)" value="([^"]*)"', form)]
    assert fields == [("v", "L1"), ("v", "L2"), ("basis", "significance"), ("reference", "As built"), ("proposal", "P-001"), ("completed", "2030-01-01"), ("as_at", "1 January 2021")]
    again = officer.get("/schedule/", [*fields[:-1], ("as_at", "2 January 2022")])
    assert again.status_code == 200 and "as at 2 January 2022" in text_of(again) and "as_at=2022-01-02" in text_of(again)


def test_proposals_are_offered_once_their_vehicle_is_chosen_to_who_may_read_them(engine, sign_in):
    officer = sign_in("officer")
    written(User.objects.get(username="a-officer"), steps=(OUT, NEW))
    assert "P-001" not in officer.get("/schedule/").content.decode()
    assert "Choose vehicles and press Show" in text_of(officer.get("/schedule/"))
    assert 'value="P-001"' in officer.get("/schedule/?v=L1").content.decode() and "P-001" not in officer.get("/schedule/?v=L2").content.decode()
    after = text_of(officer.get("/schedule/?v=L1&proposal=P-001"))
    assert "The works proposed (P-001 “Chimney”, draft), if done on that day, would leave it" in after and "Not yet completed" in after
    recorder = sign_in("recorder")
    assert "Chimney" not in recorder.get("/schedule/?v=L1").content.decode()
    refused, none = recorder.get("/schedule/?v=L1&proposal=P-001"), recorder.get("/schedule/?v=L1&proposal=P-009")
    assert refused.status_code == none.status_code == 422
    assert text_of(refused).replace("P-001", "n") == text_of(none).replace("P-009", "n")


WRONG = {
    "unknown": ("v=ZZ", "There is no vehicle “ZZ” in this register"),
    "one of two unknown": ("v=L1&v=ZZ", "There is no vehicle “ZZ”"),
    "struck out": ("v=L3", "L3 was struck out on"),
    "no day": ("v=L1&as_at=yesterday", "“yesterday” cannot be read as a date"),
    "a year": ("v=L1&as_at=1894", "is not a plain day"),
    "no day of completion": ("v=L1&completed=30+February+2020", "February 2020"),
    "completed before": ("v=L1&as_at=2020-01-01&completed=2019-01-01", "comes after the day"),
    "another's": ("v=L2&proposal=P-001", "P-001 is for another vehicle than those chosen"),
    "no number": ("v=L1&proposal=axleboxes", "“axleboxes” is no number of a proposal"),
    "superscript": ("v=L1&proposal=P-%C2%B2", "is no number of a proposal"),
    "a huge number": ("v=L1&proposal=" + "9" * 40, "is no number of a proposal"),
    "only a proposal": ("proposal=x", "Choose at least one vehicle"),
    "two hundred": ("&".join(f"v=V{number}" for number in range(200)), "200 vehicles were chosen, and a schedule takes 12 at most"),
    "no basis": ("v=L1&basis=beauty", "A basis is one of mass, count, significance"),
    "control characters": ("v=%00%1b%5b&as_at=%00", "There is no vehicle"),
    "half a letter": ("v=%ff%fe", "There is no vehicle"),
    "a long one": ("v=" + "x" * 3000, "There is no vehicle"),
}


@pytest.mark.parametrize("what", WRONG)
def test_what_is_wrong_gets_a_sentence_and_what_was_chosen_stays(engine, officer, what):
    user = User.objects.get(username="a-officer")
    written(user)
    apply([change("vehicles", vehicle_id="L3", name="Lark", kind="wagon", built="1900")], kind="test")
    strike_out("vehicles", "l3", user=user, reason="entered twice")
    query, sentence = WRONG[what]
    for place in ("", *FILES):
        answer = officer.get(f"/schedule/{place}?{query}")
        assert answer.status_code == 422 and sentence in text_of(answer), (place, text_of(answer)[:400])
        assert "<title>Error: " in answer.content.decode()
    if "v=L1" in query:
        assert re.search(r'value="L1" checked', officer.get(f"/schedule/?{query}").content.decode())


def test_a_vehicle_without_the_period_asked_for_is_said(engine, officer):
    page = text_of(officer.get("/schedule/?v=L1&v=L2&reference=as+rebuilt"))
    assert page.count("It has no reference period “as rebuilt”") == 2 and "not given" in page
    for place in FILES[:-1]:
        assert officer.get(f"/schedule/{place}?v=L1&v=L2&of=l2&reference=as+rebuilt").status_code == 200, place
    assert officer.get("/schedule/inputs.json?v=L1&reference=as+rebuilt").status_code == 404


def test_hostile_text_is_shown_and_written_as_text(engine, officer):
    address = "/schedule/?v=L1&reference=%3Cscript%3Ealert(2)%3C/script%3E"
    for asked in (address, "/schedule/?v=L1"):
        page = officer.get(asked).content.decode()
        assert "<script>alert" not in page and ("&lt;script&gt;alert" in page)
    sheet = openpyxl.load_workbook(io.BytesIO(officer.get("/schedule/schedule.xlsx?v=L1").content))["schedule"]
    assert (sheet["B2"].value, sheet["B2"].data_type) == (HOSTILE, "s")
    assert "<script" not in officer.get("/schedule/charts/bounds.svg?v=L1").content.decode()
    assert officer.get("/schedule/charts/bounds.png?v=L1").content.startswith(b"\x89PNG")
    assert "script>alert(1)</script>" in squeezed(Read(officer.get("/schedule/schedule.pdf?v=L1").content).text)


@pytest.mark.parametrize("address", ["charts/bounds.gif?v=L1", "charts/pie.svg?v=L1", "charts/bounds.svg?v=L1&of=zz", "charts/bounds.svg?v=L1&v=L2", "inputs.json?v=L1&state=never", "inputs.json?v=L1&state=completed"])
def test_what_never_was_answers_404(engine, officer, address):
    assert officer.get(f"/schedule/{address}").status_code == 404


def test_the_inputs_are_for_who_reads_what_is_restricted(brindlewick, sign_in):
    for role, status in (("recorder", 403), ("engineer", 200), ("officer", 200), ("administrator", 200)):
        client = sign_in(role)
        assert client.get("/schedule/inputs.json?v=BRIN").status_code == status
        assert ("inputs.json" in client.get(BRIN).content.decode()) is (status == 200), role


def test_what_is_restricted_stays_so(sign_in, tmp_path):
    tables = tiny(parts=[{"part_id": "SECRET-1", "name": "CANARY", "access": "restricted", "mass": "7 kg"}], positions=[{"position_id": "Q8", "vehicle_id": "L1", "name": "box", "visibility": "hidden"}],
                  installations=[{"position_id": "Q8", "part_id": "SECRET-1", "fitted": "1990"}])  # fmt: skip
    apply(changes_of(tables), kind="test")
    client = sign_in("recorder")
    for address in ("/schedule/?v=L1", *(f"/schedule/{one}?v=L1" for one in FILES[:-1])):
        body = client.get(address).content
        assert b"CANARY" not in body and b"SECRET-1" not in body and b"secret-1" not in body, address
    workbook = openpyxl.load_workbook(io.BytesIO(client.get("/schedule/schedule.xlsx?v=L1").content))
    assert not [cell for sheet in workbook for row in sheet.iter_rows(values_only=True) for cell in row if "secret" in str(cell).lower() or "CANARY" in str(cell)]


def test_nothing_is_stored_by_looking(engine, officer, django_assert_num_queries):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    officer.get("/schedule/?v=L1&v=L2")
    with CaptureQueriesContext(connection) as found:
        officer.get("/schedule/?v=L1&v=L2")
        officer.get("/schedule/schedule.pdf?v=L1&v=L2")
        officer.get("/schedule/schedule.xlsx?v=L1&v=L2")
    assert not [one["sql"] for one in found if re.match(r"INSERT|UPDATE|DELETE", one["sql"])]


# The command


def test_the_command_that_is_printed_writes_the_same_workbook(brindlewick, officer, tmp_path, capsys):
    page = text_of(officer.get(BRIN + "&v=GRUM&reference=as+rebuilt"))
    command = re.search(r"python manage\.py schedule (.+?) --output=schedule\.xlsx", page)[1]
    for name in ("a.xlsx", "a.pdf"):
        call_command("schedule", *shlex.split(command), f"--output={tmp_path / name}")
    said = capsys.readouterr().out
    assert "GRUM: It has no reference period “as rebuilt”" in said and "Wrote a schedule of figures" in said
    data = officer.get("/schedule/schedule.xlsx?v=BRIN&v=GRUM&as_at=2024-06-30&reference=as+rebuilt").content
    sheets = [list(openpyxl.load_workbook(file)["schedule"].iter_rows(values_only=True)) for file in (tmp_path / "a.xlsx", io.BytesIO(data))]
    assert sheets[0] == sheets[1] and len(sheets[0]) > 3
    assert (tmp_path / "a.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(("arguments", "sentence"), [
    (("ZZ", "--output=x.xlsx"), "There is no vehicle “ZZ”"),
    (("BRIN", "--output=x.doc"), "ends in .xlsx or .pdf"),
    (("BRIN", "--output=x.pdf", "--as-at=1894"), "is not a plain day"),
    (("BRIN", "--output=x.pdf", "--completed=soon"), "cannot be read as a date"),
    (("BRIN", "--output=x.pdf", "--proposal=all"), "“all” is no number of a proposal"),
    (("BRIN", "--output=x.pdf", "--proposal=P-014"), "There is no proposal P-014"),
    (("BRIN", "--output=x.pdf/y.pdf"), ""),
])  # fmt: skip
def test_the_command_says_what_is_wrong_and_writes_nothing(brindlewick, tmp_path, monkeypatch, capsys, arguments, sentence):
    monkeypatch.chdir(tmp_path)
    if not sentence:
        (tmp_path / "x.pdf").write_text("mine")
    with pytest.raises((SystemExit, CommandError)) as stopped:
        call_command("schedule", *arguments)
    said = capsys.readouterr().err
    assert sentence in said and "Traceback" not in said and "imported" not in said and stopped.value.args[0] == 1
    assert [one.name for one in tmp_path.iterdir()] == ([] if sentence else ["x.pdf"])


def test_a_day_to_come_and_a_day_before_she_was_built_have_answers(brindlewick, officer):
    for day in ("2199-12-31", "1500-01-01", timezone.localdate().isoformat()):
        assert officer.get(f"/schedule/?v=BRIN&as_at={day}").status_code == 200, day
        assert officer.get(f"/schedule/schedule.pdf?v=BRIN&as_at={day}").status_code == 200, day
