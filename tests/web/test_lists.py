"""From a list, on the site: each step, by an officer, by others, by the clumsy and by the hostile."""

from __future__ import annotations

import re
from datetime import date
from io import BytesIO

import pytest
from builders import changes_of, tiny
from django.core.files.uploadedfile import SimpleUploadedFile
from list_import.lists import CARRIAGE, ENGINE, MESSY, write_workbook

from register.models import Act, Assessment, ChangeSet, Installation, ListMapping, Part, Position, Vehicle
from register.services import list_jobs
from register.services.change_sets import apply
from register.services.figures import figures_of
from register.services.import_register import import_register
from register.services.remembered_lists import open_questions

pytestmark = pytest.mark.django_db
WAGON = {"vehicle_id": "W31", "name": "Wagon 31", "kind": "wagon", "built": "1903", "heritage_from": "1985", "day": "30 September 2019"}


def said(answer):
    return re.sub(r"\s+", " ", answer.content.decode())


def upload(client, data=None, name="messy_list.csv"):
    """The address of the list after it was read."""
    answer = client.post("/lists/", {"file": SimpleUploadedFile(name, MESSY.read_bytes() if data is None else data)})
    assert answer.status_code == 302, said(answer)
    return answer.url.removesuffix("columns/")


def chosen_columns(client, at):
    """The form of the columns as it is filled in, to be posted."""
    page = client.get(at + "columns/")
    rows = page.context["rows"]
    return {"first": page.context["first"], "last": page.context["last"], **{f"role-{row.index}": row.role for row in rows}, **{f"unit-{row.index}": row.unit for row in rows}}


def go_through(client, data=None, name="messy_list.csv", vehicle=WAGON):
    """To the page on which it is looked through, with what is guessed."""
    at = upload(client, data, name)
    assert client.post(at + "columns/", chosen_columns(client, at)).url == at + "words/"
    assert client.post(at + "words/", {}).url == at + "vehicle/"
    there = Vehicle.objects.filter(code=vehicle["vehicle_id"]).exists()
    answer = client.post(at + "vehicle/", {"existing": vehicle["vehicle_id"], "day": vehicle["day"]} if there else vehicle)
    assert answer.status_code == 302, said(answer)
    return at


def enter(client, at, **more):
    return client.post(at, {"seen": client.get(at).context["found"].digest, **more})


def answer_of(client, at, **answers):
    """Post answers on the pages of questions; keys are those of the questions, with _ for a space."""
    wanted = {key.replace("_", " ").replace("W31 ", "W31-"): text for key, text in answers.items()}
    number = 1
    while True:
        page = client.get(f"{at}questions/?page={number}")
        rows = page.context["rows"]
        data = {f"t-{row.asked.key}": row.asked.text for row in rows}
        data |= {f"a-{row.asked.key}": wanted.get(row.asked.key, row.answer) for row in rows}
        data |= {f"s-{row.asked.key}": wanted.get(row.asked.key.removesuffix("status") + "share", row.share) for row in rows if row.has_share}
        reply = client.post(f"{at}questions/?page={number}", data)
        if reply.status_code != 302 or not page.context["page"].has_next():
            return reply
        number += 1


# --- the whole way ------------------------------------------------------------------------------------------------


def test_a_messy_list_becomes_a_vehicle_in_one_act(officer):
    at = upload(officer)
    page = officer.get(at + "columns/")
    assert [row.role for row in page.context["rows"]] == ["number", "item", "status", "quantity", "mass each", "mass total", "fitted", "done by", "remarks"]
    assert "as blt" in said(page) and "oak. 31 cut in outside face" in said(page), "samples of what the columns hold"
    words = officer.get(go_through(officer) + "words/")
    assert {row.text: row.chosen for row in words.context["rows"]}.items() >= {"Y": "original", "N": "ask", "never had": "never had", "": "not assessed"}.items()
    assert "RUNNING GEAR" in said(words), "an assembly, in the list's own letters"
    look = officer.get(at)
    told = said(look)
    assert "items, bounds" in told and "counts nowhere until" in told and "New end let in" in told
    assert not Vehicle.objects.exists() and not Act.objects.exists() and not ListMapping.objects.exists()
    done = officer.post(at, {"seen": look.context["found"].digest}, follow=True)
    assert "Entered as change 1" in said(done) and Act.objects.count() == 1
    assert (Part.objects.count(), Position.objects.count(), Installation.objects.count(), Assessment.objects.count()) == (49, 50, 45, 0)
    assert ChangeSet.objects.filter(state="waiting").count() == 23, "one fewer than without the day she became heritage"
    page = said(officer.get("/vehicles/w31/"))
    assert "Open questions from her lists" in page and "What to enter next" in page
    found = figures_of("W31", day=date(2026, 1, 1), bases=("mass",))["mass"].whole
    assert (found.low, found.high) == (0, 100), "nothing is assessed before somebody has reviewed it"


def test_what_was_typed_is_there_after_the_browser_was_closed(officer, sign_in):
    at = go_through(officer)
    officer.post(at + "vehicle/", {**WAGON, "built": "190?"})
    assert at in said(sign_in("officer").get("/lists/"))
    page = said(officer.get(at + "vehicle/"))
    assert 'value="190?"' in page and 'value="Wagon 31"' in page
    assert upload(officer) == at and 'value="190?"' in said(officer.get(at + "vehicle/")), "the same file goes on where it was left"


def test_the_mapping_is_remembered_for_the_next_list_with_the_same_headings(officer):
    at = upload(officer, ENGINE.encode(), "engine.csv")
    chosen = chosen_columns(officer, at)
    officer.post(at + "columns/", {**chosen, "role-7": "ignore"})
    officer.post(at + "words/", {"word-a": "original", "visibility": "hidden"})
    officer.post(at + "vehicle/", {**WAGON, "vehicle_id": "E2", "kind": "locomotive", "built": "1951", "heritage_from": ""})
    enter(officer, at)
    assert Position.objects.filter(visibility="hidden").count() >= 4
    other = upload(officer, ENGINE.replace("R2", "R9").encode(), "engine two.csv")
    page = officer.get(other + "columns/")
    assert "was entered before" in said(page) and page.context["rows"][7].role == "ignore"
    officer.post(other + "columns/", chosen_columns(officer, other))
    assert {row.text: row.chosen for row in officer.get(other + "words/").context["rows"]} == {"A": "original", "B": "ask", "C": "ask"}
    assert officer.get(other + "vehicle/").context["is_known"], "the vehicle of the last list with these headings is chosen already"


def test_a_workbook_of_several_sheets_is_read_and_another_sheet_can_be_chosen(officer, tmp_path):
    from openpyxl import load_workbook

    path = write_workbook(tmp_path / "carriage.xlsx", [["Item", "Notes"], ["odd", "end"]])
    book = load_workbook(path)
    sheet = book.create_sheet("Parts of K4")
    for row in CARRIAGE:
        sheet.append(["" if cell is None else str(cell).replace("=", "is ") for cell in row])
    book.save(path)
    at = upload(officer, path.read_bytes(), "carriage.xlsx")
    assert len(officer.get(at + "columns/").context["rows"]) == 2
    officer.post(at + "columns/", {"again": "yes", "sheet": "Parts of K4", "first": "1", "last": "1"})
    assert len(officer.get(at + "columns/").context["rows"]) == 9
    officer.post(at + "columns/", {"again": "yes", "sheet": "no such sheet", "first": "1", "last": "1"})
    assert len(officer.get(at + "columns/").context["rows"]) == 9
    officer.post(at + "columns/", chosen_columns(officer, at))
    officer.post(at + "words/", {})
    officer.post(at + "vehicle/", {**WAGON, "vehicle_id": "K4", "kind": "carriage"})
    enter(officer, at)
    assert Part.objects.get(key="k4-c6").name == "Curtain rail"


def test_a_list_whose_headings_nobody_could_know_is_told_which_line_it_is(officer):
    at = upload(officer, b"Teil,Zahl\nLampe,2\n", "german.csv")
    page = officer.get(at + "columns/")
    assert "Which line names the columns?" in said(page) and "Lampe" in said(page)
    assert officer.post(at + "columns/", {"again": "yes", "first": "x", "last": "1"}).status_code == 422
    again = officer.post(at + "columns/", {"again": "yes", "first": "1", "last": "1"})
    assert again.status_code == 302
    page = officer.get(at + "columns/")
    assert "No column is chosen for the item" in said(page) and [row.heading for row in page.context["rows"]] == ["Teil", "Zahl"]
    officer.post(at + "columns/", {"first": "1", "last": "1", "role-0": "item", "role-1": "quantity"})
    officer.post(at + "words/", {})
    officer.post(at + "vehicle/", WAGON)
    enter(officer, at)
    assert Part.objects.get(key="w31-01").quantity == 2


# --- questions ----------------------------------------------------------------------------------------------------


def test_questions_are_answered_on_the_page_and_the_words_of_the_list_stay(officer):
    at = go_through(officer)
    reply = answer_of(officer, at, W31_04_fitted="March 2011", W31_06_weight="240 kg", W31_09_how_many="96", W31_11_status="replica", W31_02_share="30-50%", W31_28_same_thing="the same lever, counted twice")
    assert reply.status_code == 302, said(reply)
    assert "open" in said(officer.get(at)) and officer.get(at).context["answered"] == 6
    before = officer.get(at).context["open"]
    enter(officer, at)
    stay = Installation.objects.get(part="w31-04")
    assert (stay.fitted_edtf, stay.seen_on) == ("2011-03", "")
    part = Part.objects.get(key="w31-06")
    assert part.mass == 240_000 and "Weight each: 1.2T" in part.remarks and "weight: 240 kg" in part.remarks
    assert Part.objects.get(key="w31-09").quantity == 96
    assert ChangeSet.objects.get(part="w31-11").changes[0]["values"]["status"] == "replica"
    assert ChangeSet.objects.get(part="w31-02").changes[0]["values"]["status"] == "restored"
    assert "fraction" in str(ChangeSet.objects.get(part="w31-02").changes)
    assert "counted twice" in Part.objects.get(key="w31-28").remarks
    keys = {one.key for one in open_questions("W31")}
    assert "W31-04 fitted" not in keys and "W31-12 fitted" in keys and len(keys) == before


def test_the_same_list_again_keeps_the_answers_and_changes_nothing(officer):
    at = go_through(officer)
    answer_of(officer, at, W31_04_fitted="March 2011", W31_06_weight="240 kg")
    enter(officer, at)
    again = go_through(officer)
    look = officer.get(again)
    assert look.context["answered"] == 2 and not look.context["found"].counts and not look.context["found"].drafts
    enter(officer, again)
    assert Act.objects.count() == 1 and Part.objects.get(key="w31-06").mass == 240_000
    other = go_through(officer, MESSY.read_bytes().replace(b"Mar-11", b"Apr-11"))
    assert "W31-04 fitted" in {one.key for one in officer.get(other).context["proposal"].questions}, "the list says something else: asked again"


def test_an_answer_can_be_taken_back(officer):
    at = go_through(officer)
    answer_of(officer, at, W31_04_fitted="March 2011")
    answer_of(officer, at, W31_04_fitted="")
    assert officer.get(at).context["answered"] == 0
    enter(officer, at)
    assert Installation.objects.get(part="w31-04").fitted == ""


@pytest.mark.parametrize(("key", "text", "told"), [
    ("W31_04_fitted", "1900-02-30", "W31"), ("W31_04_fitted", "Mar-11", "W31"), ("W31_06_weight", "1.2T", "ton"), ("W31_06_weight", "-1 kg", ""), ("W31_09_how_many", "lots", ""),
    ("W31_09_how_many", "0", ""), ("W31_11_status", "splendid", "Choose one of"), ("W31_02_share", "140%", ""), ("W31_28_same_thing", "x" * 10_000, "2,000 letters")])  # fmt: skip
def test_an_answer_that_cannot_be_taken_is_said_and_the_others_are_kept(key, text, told, officer):
    at = go_through(officer)
    page_of = {one.key: number // 20 + 1 for number, one in enumerate(officer.get(at).context["proposal"].asked)}
    wanted = key.replace("_", " ").replace("W31 ", "W31-")
    number = page_of[wanted.replace(" share", " status")]
    rows = officer.get(f"{at}questions/?page={number}").context["rows"]
    other = next(row.asked.key for row in rows if row.kind == "area" and row.asked.key != wanted)
    field = f"s-{wanted.replace('share', 'status')}" if wanted.endswith("share") else f"a-{wanted}"
    data = {**{f"t-{row.asked.key}": row.asked.text for row in rows}, field: text, f"a-{other}": "I asked him"}
    reply = officer.post(f"{at}questions/?page={number}", data)
    assert reply.status_code == 422 and "<title> Error:" in said(reply).replace("<title>Error", "<title> Error") and told in said(reply)
    assert key == "W31_11_status" or text[:2000] in reply.content.decode()
    assert [one.answer for one in officer.get(at).context["proposal"].given.values()] == ["I asked him"]
    assert officer.get(at).status_code == 200


def test_a_stale_question_is_not_answered(officer):
    at = go_through(officer)
    officer.post(at + "questions/", {"t-W31-04 fitted": "another question", "a-W31-04 fitted": "March 2011", "t-nonsense": "x", "a-nonsense": "y"})
    assert officer.get(at).context["answered"] == 0


def test_a_line_can_be_left_out(officer):
    at = go_through(officer)
    lines = officer.get(at + "lines/").context["page"].object_list
    labels = next(line.line for line in lines if line.item == "Label clips")
    officer.post(at + "lines/", {"shown": [line.line for line in lines], "out": [labels, "99999999", "x"]})
    enter(officer, at)
    assert Part.objects.count() == 48 and not Part.objects.filter(key="w31-49").exists()


def test_what_was_left_open_is_found_on_the_vehicle_and_ticked_off(officer, sign_in):
    at = go_through(officer)
    enter(officer, at)
    page = officer.get("/vehicles/w31/questions/")
    many = page.context["page"].paginator.count
    assert many == len(open_questions("w31")) > 40 and "/parts/w31-01/" in said(page)
    value = page.context["rows"][0][0]
    officer.post("/vehicles/w31/questions/", {"done": [value, value, "1 nothing", "x", "99999999999999999999 y"]})
    assert len(open_questions("w31")) == many - 1
    enter_again = go_through(officer)
    assert value.partition(" ")[2] not in {one.key for one in officer.get(enter_again).context["proposal"].questions}, "ticked off stays so"
    assert not officer.get(enter_again).context["found"].counts
    assert sign_in("engineer").get("/vehicles/w31/questions/").status_code == 403
    assert "from her lists" not in said(sign_in("engineer").get("/vehicles/w31/"))


def test_another_vehicle_s_questions_are_not_ticked_off(officer):
    enter(officer, go_through(officer))
    apply(changes_of(tiny()), kind="test", whole=True)
    value = officer.get("/vehicles/w31/questions/").context["rows"][0][0]
    many = len(open_questions("w31"))
    officer.post("/vehicles/l1/questions/", {"done": [value]})
    assert len(open_questions("w31")) == many


# --- entering -----------------------------------------------------------------------------------------------------


def test_a_double_tap_enters_it_once(officer):
    at = go_through(officer)
    seen = officer.get(at).context["found"].digest
    for _ in range(2):
        assert officer.post(at, {"seen": seen}).status_code == 302
    assert Act.objects.count() == 1 and "Entered as change 1" in said(officer.get(at))


def test_two_workers_enter_it_once(officer):
    """The second worker read the list before the first had entered it."""
    at = go_through(officer)
    seen, user = officer.get(at).context["found"].digest, ListMapping._meta.get_field("user").related_model.objects.get()
    one, other = (list_jobs.job_of(at.split("/")[2]) for _ in range(2))
    list_jobs.start(one, user=user, seen=seen)
    list_jobs.start(other, user=user, seen=seen)
    assert Act.objects.count() == 1 and list_jobs.job_of(one.sha256).state == list_jobs.DONE


def test_what_changed_since_somebody_looked_is_looked_at_again(officer):
    at = go_through(officer)
    seen = officer.get(at).context["found"].digest
    answer_of(officer, at, W31_04_fitted="March 2011")
    page = officer.post(at, {"seen": seen}, follow=True)
    assert "has changed since you looked" in said(page) and "<title>Error" in said(page) and not Act.objects.exists()
    assert "Entered as change" in said(officer.post(at, {"seen": page.context["found"].digest}, follow=True))


def test_a_conflict_is_decided_record_by_record(officer):
    enter(officer, go_through(officer))
    officer.post("/change/parts/w31-06/", {"name": "Longitudinals", "quantity": "2", "mass": "240 kg"})
    at = go_through(officer, MESSY.read_bytes().replace(b"1.2T", b"1.2 t"))
    page = officer.get(at)
    assert "240 kg" in said(page) and 'name="keep-parts:w31-06"' in said(page)
    assert "It was not entered" in said(officer.post(at, {"seen": page.context["found"].digest}, follow=True))
    officer.post(at, {"seen": page.context["found"].digest, "keep-parts:w31-06": "register"})
    assert Part.objects.get(key="w31-06").mass == 240_000 and list_jobs.job_of(at.split("/")[2]).state == "done"


def test_the_workbook_can_be_imported_and_makes_the_same(officer, tmp_path):
    at = go_through(officer)
    answer = officer.get(at + "list.xlsx")
    assert answer["Content-Disposition"] == 'attachment; filename="w31-from-list.xlsx"'
    from openpyxl import load_workbook

    book = load_workbook(BytesIO(answer.content))
    assert any(cell.comment for sheet in book for row in sheet.iter_rows() for cell in row)
    (tmp_path / "list.xlsx").write_bytes(answer.content)
    import_register(tmp_path / "list.xlsx")
    assert Part.objects.count() == 49


def test_thrown_away_it_is_gone_and_says_so(officer):
    at = go_through(officer)
    assert officer.get(at + "forget/").status_code == 405
    assert "thrown away" in said(officer.post(at + "forget/", follow=True))
    for page in ("", "columns/", "words/", "vehicle/", "lines/", "questions/", "list.xlsx"):
        answer = officer.get(at + page)
        assert answer.status_code == 404 and "Choose the file again" in said(answer), page
    assert not any((list_jobs._folder()).iterdir())


def test_a_list_nobody_touched_for_a_month_is_forgotten(officer, monkeypatch):
    at = go_through(officer)
    monkeypatch.setattr(list_jobs, "KEPT_SECONDS", -1)
    upload(officer, ENGINE.encode(), "engine.csv")
    assert officer.get(at).status_code == 404


# --- bad files ----------------------------------------------------------------------------------------------------

BAD = {
    "nothing": (b"", "a.csv", "empty"),
    "blank": (b" \n,,\n", "a.csv", "empty"),
    "no list": (b"x", "letter.doc", "CSV file"),
    "no ending": (b"x", "list", "CSV file"),
    "a broken workbook": (b"PK\x03\x04 but broken", "a.xlsx", "workbook"),
    "a workbook by another name": (b"PK\x03\x04", "a.csv", "workbook"),
    "NULs": (b"a\0b\0c", "a.csv", "no text"),
    "an open quote": (b'Item,Qty\n"lamp,1\n', "a.csv", "quote"),
    "too many lines": (b"Item\n" + b"lamp\n" * 5_001, "a.csv", "5,000 lines"),
    "too many columns": (b"Item," + b"x," * 300 + b"x\n", "a.csv", "columns"),
    "a cell too long": (b"Item\n" + b"x" * 20_001, "a.csv", "characters"),
}


@pytest.mark.parametrize("what", BAD)
def test_what_is_no_list_is_said_in_a_sentence_and_nothing_is_kept(what, officer):
    data, name, told = BAD[what]
    answer = officer.post("/lists/", {"file": SimpleUploadedFile(name, data)})
    assert answer.status_code == 422 and "<title>Error:" in said(answer)
    if data:  # Django passes an empty file on without its contents, and the sentence is ours all the same
        assert told in said(answer)
    assert not list_jobs.begun() and not list((list_jobs._folder()).glob("*"))


def test_without_a_file_and_with_one_too_large_it_says_so(officer, monkeypatch):
    assert "Choose a file first." in said(officer.post("/lists/"))
    monkeypatch.setattr(list_jobs, "MAX_BYTES", 1_000)
    assert "larger than" in said(officer.post("/lists/", {"file": SimpleUploadedFile("a.csv", b"Item\n" + b"lamp\n" * 400)}))


@pytest.mark.parametrize("name", ["../../x.csv", "x" * 300 + ".csv", "ŵ" * 200 + ".csv", "a\u202eb.csv", "=1+1.csv", "<b>.csv", ".csv"])
def test_a_strange_name_does_no_harm(name, officer):
    answer = officer.post("/lists/", {"file": SimpleUploadedFile("a.csv", b"Item,Qty\nlamp,2\n")})
    assert answer.status_code == 302
    assert list_jobs.short_name(name).encode().__len__() <= 120 and "/" not in list_jobs.short_name(name)
    job = list_jobs.keep_list(name, [b"Item,Qty\nlamp,3\n"]) if name != ".csv" else None
    assert job is None or "<b>" not in officer.get(f"/lists/{job.sha256}/columns/").content.decode()


@pytest.mark.parametrize("data", [b"Item,Qty,Remarks\n", b"Item,Qty,Remarks\n\n,,\n"])
def test_only_headings_are_said_to_be_only_headings(data, officer):
    at = upload(officer, data, "empty.csv")
    page = officer.get(at + "columns/")
    answer = officer.post(at + "columns/", {"first": "1", "last": "1", "role-0": "item", "role-1": "quantity", "role-2": "remarks"})
    assert page.status_code == 200 and answer.status_code == 422 and "nothing below the heading" in said(answer)
    for step in ("", "words/", "vehicle/", "lines/", "questions/", "list.xlsx"):
        assert officer.get(at + step).status_code == 302, step


@pytest.mark.parametrize("address", ["/lists/nonsense/", "/lists/" + "0" * 64 + "/columns/", "/lists/" + "٣" * 64 + "/", "/lists/..%2f..%2fetc/words/"])
def test_a_stale_address_says_what_to_do(address, officer):
    answer = officer.get(address)
    assert answer.status_code == 404 and b"Traceback" not in answer.content


def test_steps_cannot_be_jumped(officer):
    at = upload(officer)
    assert officer.get(at).url == at + "columns/" and officer.get(at + "vehicle/").url == at + "columns/"
    assert officer.post(at, {"seen": ""}).status_code == 302 and not Act.objects.exists()
    officer.post(at + "words/", {})
    assert officer.get(at).url == at + "vehicle/" and officer.get(at + "questions/").url == at


# --- clumsy and hostile -------------------------------------------------------------------------------------------

BAD_VEHICLES = [
    ({}, "vehicle_id"), ({**WAGON, "vehicle_id": "W 31"}, "vehicle_id"), ({**WAGON, "vehicle_id": "W" * 40}, "vehicle_id"), ({**WAGON, "name": ""}, "name"),
    ({**WAGON, "kind": "boat"}, "kind"), ({**WAGON, "built": "190?"}, "built"), ({**WAGON, "built": ""}, "built"), ({**WAGON, "built": "1900-02-30"}, "built"),
    ({**WAGON, "day": "1900-02-30"}, "day"), ({**WAGON, "day": "yesterday"}, "day"), ({**WAGON, "day": "1 May 1850"}, "day"), ({**WAGON, "prefix": "W 31"}, "prefix"),
    ({**WAGON, "prefix": "W" * 30}, "prefix"), ({"existing": "NOBODY"}, None), ({**WAGON, "vehicle_id": "L1"}, "vehicle_id"), ({**WAGON, "empty_mass": "5 T"}, "empty_mass"),
    ({**WAGON, "vehicle_id": "W\x0031", "name": "a\x00b"}, "name"),
]  # fmt: skip


@pytest.mark.parametrize(("posted", "field"), BAD_VEHICLES)
def test_a_vehicle_that_cannot_be_is_said_at_its_field(posted, field, officer):
    apply(changes_of(tiny()), kind="test", whole=True)
    at = upload(officer)
    officer.post(at + "words/", {})
    answer = officer.post(at + "vehicle/", posted)
    assert answer.status_code == 422 and "<title>Error:" in said(answer)
    if field:
        assert f'href="#f-{field}"' in said(answer), [str(fault) for fault in answer.context["faults"]]


HOSTILE = ["<script>alert(1)</script>", "bolt <M12> long", "&pound; ½ ŵ Łódź", '"><img src=x onerror=alert(1)>', "{{ settings.SECRET_KEY }}", "=HYPERLINK(1)", "‮abc", "a" * 400, "word-x", "; DROP TABLE"]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_in_headings_and_cells_is_kept_word_for_word_and_shown_escaped(text, officer):
    import csv
    import io

    out = io.StringIO()
    csv.writer(out).writerows([["Item", "Orig?", text, "Remarks"], [text, text, text, text], ["lamp", "Y", text, text], [text, "", "", ""]])
    at = go_through(officer, out.getvalue().encode(), "hostile.csv")
    for page in ("columns/", "words/", "vehicle/", "", "lines/", "questions/"):
        answer = officer.get(at + page)
        body = answer.content.decode()
        assert answer.status_code == 200 and "<script>alert" not in body and "<img src=x" not in body and "<M12>" not in body, page
    assert officer.get(at + "list.xlsx").status_code == 200
    enter(officer, at)
    assert text in Part.objects.get(name="lamp").remarks
    assert "<script>alert" not in officer.get("/vehicles/w31/questions/").content.decode()


def test_what_is_posted_as_a_word_or_a_role_is_checked(officer):
    at = upload(officer)
    chosen = chosen_columns(officer, at)
    for wrong, told in (({"role-2": "splendid"}, "can be"), ({"role-0": "item"}, "2 columns are chosen"), ({"first": "99"}, "end in the same line"), ({"first": "-1"}, ""), ({"last": "9" * 50}, ""), ({"role-1": "keep"}, "No column is chosen")):
        answer = officer.post(at + "columns/", {**chosen, **wrong})
        assert answer.status_code == 422 and told in said(answer), wrong
    officer.post(at + "columns/", chosen)
    assert officer.post(at + "words/", {"word-y": "splendid"}).status_code == 422
    assert officer.post(at + "words/", {"visibility": "everywhere"}).status_code == 422
    assert officer.get(at + "words/").status_code == 200, "a wrong meaning is not kept"
    assert officer.post(at + "words/", {"word-nobody wrote this": "original"}).status_code == 302


def test_lists_are_for_those_who_may_import(sign_in):
    for role, status in (("recorder", 403), ("engineer", 403), ("officer", 200), ("administrator", 200), (None, 302)):
        assert sign_in(role).get("/lists/").status_code == status
        assert sign_in(role).post("/lists/", {"file": SimpleUploadedFile("a.csv", b"Item\nlamp\n")}).status_code == (302 if status == 200 else status)
    at = go_through(sign_in("officer"))
    for role in ("recorder", "engineer"):
        for page in ("", "columns/", "words/", "vehicle/", "lines/", "questions/", "list.xlsx"):
            assert sign_in(role).get(at + page).status_code == 403 and sign_in(role).post(at + page).status_code == 403


def test_five_thousand_lines_go_through(officer):
    lines = ["No,Item,Orig?,Qty,Weight each,When,Remarks"] + [f"{n},Thing {n % 700},{'Y' if n % 2 else 'N'},2,{n} kg,1{n % 900 + 100},as found {n}" for n in range(1, 5_000)]
    at = go_through(officer, "\n".join(lines).encode(), "long.csv")
    assert "Entered as change 1" in said(officer.post(at, {"seen": officer.get(at).context["found"].digest}, follow=True)) and Part.objects.count() == 4_999
