"""Who may fetch what: each route, each role, each method. A route without a row here fails."""

from __future__ import annotations

import logging
import re

import pytest
from builders import tiny, write_folder
from django.urls import get_resolver

from register.policy import ACTIONS, PUBLIC_COLUMNS, ROLES
from register.services.import_register import import_register
from tests.demo_register import plant_some_of_the_demo_register

pytestmark = pytest.mark.django_db
ALL, OFFICE, OFFICER, WORKSHOP, FINDERS, PUBLIC = set(ROLES), {"officer", "administrator"}, {"officer"}, {"engineer", "officer"}, {"recorder", "engineer", "officer"}, {None, *ROLES}
READ_ISSUED = {"engineer", "officer", "administrator"}
FINDERS = {"recorder", "engineer", "officer"}
ADMINISTRATOR = {"administrator"}
READS_CASES = {"engineer", "officer", "administrator"}

LIST = "/lists/" + "0" * 64 + "/"

# route name: (an address that is there, who may GET it, who may POST to it)
ROUTES: dict[str, tuple[str, set, set]] = {
    "fleet": ("/", ALL, ALL),
    "search": ("/search/", ALL, ALL),
    "vehicle": ("/vehicles/har/", ALL, ALL),
    "computed": ("/vehicles/har/figures/", ALL, ALL),
    "timeline": ("/vehicles/har/timeline/", ALL, ALL),
    "survival": ("/vehicles/har/survival/", ALL, ALL),
    "find-out": ("/vehicles/har/find-out/", ALL, ALL),
    "compare-days": ("/vehicles/har/compare/", ALL, ALL),
    "findings": ("/vehicles/har/findings/", ALL, ALL),
    "explain-finding": ("/vehicles/har/findings/" + "0" * 64 + "/", OFFICER, OFFICER),
    "compare-vehicles": ("/side-by-side/?v=har&v=n1", ALL, ALL),
    "schedule": ("/schedule/?v=l214", ALL, ALL),
    "schedule-workbook": ("/schedule/schedule.xlsx?v=l214", ALL, ALL),
    "schedule-paper": ("/schedule/schedule.pdf?v=l214", ALL, ALL),
    "schedule-chart": ("/schedule/charts/bounds.svg?v=l214", ALL, ALL),
    "schedule-inputs": ("/schedule/inputs.json?v=l214", READ_ISSUED, READ_ISSUED),
    "draft-statement": ("/vehicles/l214/statement.pdf", WORKSHOP, WORKSHOP),
    "issue-statement": ("/vehicles/l214/issue/", OFFICER, OFFICER),
    "publish": ("/vehicles/l214/publish/", OFFICER, OFFICER),
    "public-statement-file": ("/id/statements/CS-0001/statement.pdf", PUBLIC, PUBLIC),
    "change": ("/vehicles/har/change/?from_day=2000-01-01", READ_ISSUED, READ_ISSUED),
    "statements": ("/statements/", READ_ISSUED, READ_ISSUED),
    "statement": ("/statements/CS-0001/", READ_ISSUED, READ_ISSUED),
    "withdraw-statement": ("/statements/CS-0001/withdraw/", OFFICER, OFFICER),
    "statement-file": ("/statements/CS-0001/files/internal.pdf", OFFICER, OFFICER),
    "statement-package": ("/statements/CS-0001/package/internal.zip", OFFICER, OFFICER),
    "check": ("/id/check/", PUBLIC, PUBLIC),
    "public-statement": ("/id/statements/CS-0001/", PUBLIC, PUBLIC),
    "add-positions": ("/vehicles/har/add-positions/", OFFICER, OFFICER),
    "vehicle-questions": ("/vehicles/har/questions/", OFFICE, OFFICE),
    "new-vehicle": ("/new-vehicle/", OFFICER, OFFICER),
    "list": ("/lists/", OFFICE, OFFICE),
    "list-look": (LIST, OFFICE, OFFICE),
    "list-columns": (LIST + "columns/", OFFICE, OFFICE),
    "list-words": (LIST + "words/", OFFICE, OFFICE),
    "list-vehicle": (LIST + "vehicle/", OFFICE, OFFICE),
    "list-lines": (LIST + "lines/", OFFICE, OFFICE),
    "list-questions": (LIST + "questions/", OFFICE, OFFICE),
    "list-workbook": (LIST + "list.xlsx", OFFICE, OFFICE),
    "list-forget": (LIST + "forget/", OFFICE, OFFICE),
    "parts": ("/parts/", ALL, ALL),
    "part": ("/parts/fr-001/", ALL, ALL),
    "part-mass": ("/parts/fr-001/mass/", ALL, {"recorder", "engineer", "officer"}),
    "break-down": ("/parts/fr-001/break-down/", OFFICER, OFFICER),
    "join-parts": ("/parts/fr-001/join/", OFFICER, OFFICER),
    "split-set": ("/parts/fr-001/split/", OFFICER, OFFICER),
    "refit-part": ("/parts/fr-001/refit/", OFFICER, OFFICER),
    "take-part": ("/parts/fr-001/take/", OFFICER, OFFICER),
    "exchange-parts": ("/parts/fr-001/exchange/", OFFICER, OFFICER),
    "replace-part": ("/parts/fr-001/replace/", OFFICER, OFFICER),
    "merge-part": ("/parts/fr-001/merge/", OFFICER, OFFICER),
    "position-structure": ("/positions/har-fr/structure/", OFFICER, OFFICER),
    "move-position": ("/positions/har-fr/move/", OFFICER, OFFICER),
    "sources": ("/sources/", ALL, ALL),
    "source": ("/sources/s-001/", ALL, ALL),
    "places": ("/places/", ALL, ALL),
    "place": ("/places/store/", ALL, ALL),
    "stocktake": ("/places/store/stocktake/", FINDERS, FINDERS),
    "stocktake-sheet": ("/places/store/stocktake.pdf?inside=yes", FINDERS, FINDERS),
    "whereabouts": ("/whereabouts/", ALL, ALL),
    "not-seen": ("/whereabouts/not-seen/", ALL, ALL),
    "move-part": ("/parts/fr-001/move/", FINDERS, FINDERS),
    "papers": ("/papers/?vehicle=har", FINDERS, FINDERS),
    "labels": ("/papers/labels.pdf?parts=FR-001", FINDERS, FINDERS),
    "tickets": ("/papers/tickets.pdf?parts=FR-001", FINDERS, FINDERS),
    "walk-round": ("/papers/walk-round.pdf?parts=FR-001", FINDERS, FINDERS),
    "period-report": ("/period/?first=2025-01-01&last=2025-12-31", ALL, ALL),
    "period-report-paper": ("/period/report.pdf?first=2025-01-01&last=2025-12-31&edition=magazine", ALL, ALL),
    "people": ("/people/", OFFICE, OFFICE),
    "accounts": ("/accounts/", ADMINISTRATOR, ADMINISTRATOR),
    "new-account": ("/accounts/new/", ADMINISTRATOR, ADMINISTRATOR),
    "account": ("/accounts/999999/", ADMINISTRATOR, ADMINISTRATOR),
    "account-log": ("/accounts/log/", ADMINISTRATOR, ADMINISTRATOR),
    "new-record": ("/new/parts/", OFFICER, OFFICER),
    "change-record": ("/change/parts/fr-001/", OFFICER, OFFICER),
    "strike-record": ("/strike-out/parts/fr-001/", OFFICER, OFFICER),
    "cite-for-many": ("/sources/s-001/cite/", FINDERS, FINDERS),
    "history": ("/history/parts/fr-001/", WORKSHOP | OFFICE, WORKSHOP | OFFICE),
    "revert": ("/history/parts/fr-001/1/take-back/", OFFICER, OFFICER),
    "tag": ("/t/22222222/", PUBLIC, PUBLIC),
    "record": ("/record/", FINDERS, FINDERS),
    "new-find": ("/record/new/?part=FR-001", FINDERS, FINDERS),
    "opened": ("/record/opened/1/", FINDERS, FINDERS),
    "find-question": ("/record/1/marks/", FINDERS, FINDERS),
    "find-check": ("/record/1/check/", FINDERS, FINDERS),
    "throw-away-find": ("/record/1/throw-away/", FINDERS, FINDERS),
    "handed-in": ("/handed-in/1/", ALL, ALL),
    "review": ("/review/", OFFICER, OFFICER),
    "review-change-set": ("/review/1/", OFFICER, OFFICER),
    "import": ("/import/", OFFICE, OFFICE),
    "import-look": ("/import/" + "0" * 64 + "/", OFFICE, OFFICE),
    "export": ("/export/register.xlsx", OFFICE, OFFICE),
    "blank-workbook": ("/export/blank.xlsx", ALL, ALL),
    "add-photographs": ("/photographs/add/?part=FR-001", FINDERS, FINDERS),
    "photograph-tray": ("/photographs/tray/", OFFICER, OFFICER),
    "photograph-page": ("/photographs/about/photographs/frame-stamp-412.jpg/", ALL, OFFICER),
    "photograph": ("/photographs/" + "0" * 64 + "/small.webp", PUBLIC, PUBLIC),
    "proposals": ("/proposals/", READS_CASES, READS_CASES),
    "new-proposal": ("/proposals/new/", WORKSHOP, WORKSHOP),
    "proposal": ("/proposals/1/", READS_CASES, READS_CASES),
    "write-proposal": ("/proposals/1/write/need/", WORKSHOP, WORKSHOP),
    "proposal-alternative": ("/proposals/1/alternatives/A/", WORKSHOP, WORKSHOP),
    "proposal-checks": ("/proposals/1/answers/", WORKSHOP, WORKSHOP),
    "decide-proposal": ("/proposals/1/decide/approve/", OFFICER, OFFICER),
    "carry-out-proposal": ("/proposals/1/done/", WORKSHOP, WORKSHOP),
    "follow-up-proposal": ("/proposals/1/follow-up/", WORKSHOP, WORKSHOP),
    "blank-proposal": ("/proposals/blank.pdf", READS_CASES, READS_CASES),
    "justification": ("/proposals/1/justification.pdf", READS_CASES, READS_CASES),
    "modern-parts": ("/vehicles/l214/modern-parts/", READS_CASES, READS_CASES),
    "modern-parts-paper": ("/vehicles/l214/modern-parts.pdf", READS_CASES, READS_CASES),
    "vehicle-policy": ("/vehicles/l214/policy/", READS_CASES, OFFICER),
    "significance": ("/vehicles/l214/significance/", ALL, ALL),
    "write-significance": ("/vehicles/l214/significance/write/", OFFICER, OFFICER),
    "sign-in": ("/sign-in/", PUBLIC, PUBLIC),
    "demo-sign-in": ("/sign-in/demo/", PUBLIC, PUBLIC),
    "sign-out": ("/sign-out/", ALL, ALL),
    "change-password": ("/password/", ALL, ALL),
    "password-changed": ("/password/changed/", ALL, ALL),
    "choose-password": ("/choose-password/MQ/x-y/", PUBLIC, PUBLIC),
    "public-vehicles": ("/id/", PUBLIC, PUBLIC),
    "public-vehicle": ("/id/vehicles/har/", PUBLIC, PUBLIC),
}


def names_of_routes():
    return {one.name for one in get_resolver().url_patterns if getattr(one, "name", None)}


def test_every_route_has_a_row():
    assert names_of_routes() == set(ROUTES)


def test_whatever_has_no_name_is_the_admin_s():
    unnamed = [str(one.pattern) for one in get_resolver().url_patterns if not getattr(one, "name", None)]
    assert unnamed == ["admin/login/", "admin/password_change/", "admin/"]


@pytest.mark.parametrize("role", [None, *ROLES])
def test_each_role_gets_what_the_table_says_and_no_more(role, sign_in, monkeypatch):
    monkeypatch.setattr(logging.root.manager, "disable", logging.CRITICAL)  # thousands of refusals, each with a traceback
    plant_some_of_the_demo_register()
    wrong = []
    for name, (address, readers, writers) in ROUTES.items():
        for method, allowed in (("get", readers), ("head", readers), ("post", writers), ("put", writers), ("patch", writers), ("delete", writers), ("options", readers)):
            answer = getattr(sign_in(role), method)(address)
            refused = answer.status_code == 403 or (answer.status_code == 302 and "/sign-in/?next" in answer.url)
            if refused != (role not in allowed) or answer.status_code >= 500:
                wrong.append(f"{method} {name}: {answer.status_code}")
    assert not wrong, wrong


def test_every_action_is_some_role_s():
    assert all(ACTIONS.values())


# --- markers -----------------------------------------------------------------------------------------------------------


def planted_for_staff():
    tables = tiny(
        people=[{"person_id": "OWNR", "name": "OFFICE-CANARY-NAME", "consent": "OFFICE-CANARY-CONSENT", "public_as": "a friend of the railway"}, {"person_id": "ASSR", "name": "OFFICE-CANARY-ASSESSOR"}],
        parts=[{"part_id": "P8", "name": "WORKSHOP-CANARY-PART", "marks": "WORKSHOP-CANARY-MARKS", "access": "restricted", "material": "WORKSHOP-CANARY-MATERIAL"}],
        positions=[{"position_id": "Q8", "vehicle_id": "L1", "name": "box", "visibility": "hidden"}],
        installations=[{"position_id": "Q8", "part_id": "P8", "fitted": "1990"}],
        sources=[{"source_id": "S8", "kind": "testimony", "title": "WORKSHOP-CANARY-SOURCE", "access": "restricted", "reference": "WORKSHOP-CANARY-REF"}],
        events=[{"vehicle_id": "L1", "date": "1950", "kind": "other", "title": "WORKSHOP-CANARY-EVENT", "access": "restricted"},
                {"vehicle_id": "L1", "date": "1951", "kind": "other", "title": "seen", "source_id": "S8", "reference": "WORKSHOP-CANARY-EVENT-REF", "part_id": "P8"}],
        citations=[{"part_id": "P1", "source_id": "S8", "locator": "WORKSHOP-CANARY-LOCATOR", "note": "WORKSHOP-CANARY-NOTE"}],
        treatments=[{"part_id": "P1", "date": "1950", "work": "patched", "done_by": "OWNR"}],
        places=[{"place_id": "ST", "name": "Store"}],
        movements=[{"part_id": "P1", "moved_on": "2001", "with_part": "P8"}, {"part_id": "P8", "moved_on": "2001", "place_id": "ST"}],
    )
    tables["vehicles"][0] |= {"owner": "OWNR", "title_notes": "OFFICE-CANARY-TITLE", "published": "yes"}
    tables["parts"][0] |= {"owner": "OWNR"}
    tables["assessments"][0] |= {"assessor": "ASSR"}
    return tables


def crawl(client, start="/"):
    """Every page that links lead to, breadth first, with what it said."""
    waiting, seen = [start], {}
    while waiting and len(seen) < 300:
        address = waiting.pop(0)
        if address in seen:
            continue
        answer = client.get(address)
        seen[address] = b"".join(answer.streaming_content) if answer.streaming else answer.content
        if "html" in answer.get("Content-Type", ""):
            for link in re.findall(rb'(?:href|src)="(/[^"#]*)', seen[address]):
                link = link.decode().replace("&amp;", "&")
                if not link.startswith(("/static/", "/admin/")) and link not in seen:
                    waiting.append(link)
    return seen


@pytest.mark.parametrize(("role", "markers"), [("recorder", (b"OFFICE-CANARY", b"WORKSHOP-CANARY")), ("engineer", (b"OFFICE-CANARY",)), (None, (b"OFFICE-CANARY", b"WORKSHOP-CANARY"))])
def test_a_marker_in_a_private_column_is_nowhere_that_a_lesser_role_can_fetch(role, markers, sign_in, tmp_path):
    import_register(write_folder(tmp_path / "planted", planted_for_staff()))
    client = sign_in(role)
    pages = crawl(client, "/" if role else "/id/")
    more = ["/parts/p8/", "/parts/P8/", "/sources/s8/", "/people/", "/places/st/", "/parts/?q=CANARY", "/sources/?q=CANARY", "/search/?q=CANARY", "/vehicles/l1/?find=CANARY", "/?q=CANARY", "/vehicles/l1/?in=q8&basis=count", "/vehicles/l1/figures/", "/export/register.xlsx",
            "/change/parts/p8/", "/change/people/ownr/", "/strike-out/parts/p8/", "/id/vehicles/l1/", "/vehicles/l1/statement.pdf"]
    for address in more:
        answer = client.get(address)
        pages[address] = b"".join(answer.streaming_content) if answer.streaming else answer.content
    assert len(pages) > (10 if role else 2)
    found = [(address, marker) for address, body in pages.items() for marker in markers if marker in body]
    assert not found, found


def test_the_officer_reads_all_of_it(sign_in, tmp_path):
    """So that the test above cannot pass because nothing is shown to anybody."""
    import_register(write_folder(tmp_path / "planted", planted_for_staff()))
    text = b"".join(crawl(sign_in("officer")).values())
    for marker in (b"OFFICE-CANARY-NAME", b"OFFICE-CANARY-ASSESSOR", b"WORKSHOP-CANARY-PART", b"WORKSHOP-CANARY-SOURCE", b"WORKSHOP-CANARY-EVENT", b"WORKSHOP-CANARY-NOTE"):
        assert marker in text, marker


def test_the_public_columns_hold_no_owner_and_no_title():
    assert not {"owner", "title_notes", "remarks"} & {column for columns in PUBLIC_COLUMNS.values() for column in columns}
