"""The period report on the site: found, asked for, and what a wrong question is told."""

from __future__ import annotations

import re
from io import BytesIO

import pytest
from builders import change, changes_of, planted, tiny
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from pypdf import PdfReader

from register.fabric.dates import day_in_words
from register.fabric.period import offered
from register.policy import ROLES
from tests.services.periods import on

pytestmark = pytest.mark.django_db
ASKED = "/period/?first=1+January+2026&last=30+June+2026"


def text_of(answer):
    return re.sub(r"\s+", " ", answer.content.decode())


@pytest.fixture
def engine(db):
    on("2025-06-01", *changes_of(tiny(assessments=[{"part_id": "P2", "assessed_on": "2020-05-01", "status": "original"}])))
    on("2026-03-02", change("treatments", part_id="P1", date="1 March 2026", work="<b>new</b> top & rim", replaced="0.5"))
    on("2026-05-01", change("assessments", part_id="P2", assessed_on="2021-05-01", status="replica"))


@pytest.mark.parametrize("role", ROLES)
def test_it_is_found_from_the_fleet_and_every_role_may_ask_for_it(engine, role, sign_in):
    client = sign_in(role)
    assert 'href="/period/">Period report</a>' in text_of(client.get("/"))
    page = client.get("/period/")
    today = timezone.localdate()
    _, first, last = next(offered(today))
    assert page.status_code == 200 and f'value="{day_in_words(first)}"' in text_of(page) and f'value="{day_in_words(last)}"' in text_of(page)
    assert "How this is told" not in text_of(page)  # nothing is worked out before it is asked for
    told = text_of(client.get(ASKED))
    assert "<h2>1 January 2026 to 30 June 2026</h2>" in told and "Nothing to tell of:</b> Lapwing." in told
    paper = client.get(ASKED.replace("/period/", "/period/report.pdf"))
    assert paper["Content-Type"] == "application/pdf" and 'filename="period-2026-01-01-2026-06-30-trustees.pdf"' in paper["Content-Disposition"]


def test_it_is_found_from_the_page_of_papers(engine, officer):
    assert 'href="/period/">Period report</a>' in text_of(officer.get("/papers/"))


def test_page_and_paper_say_the_same(engine, officer):
    page = text_of(officer.get(ASKED))
    paper = PdfReader(BytesIO(officer.get(ASKED.replace("/period/", "/period/report.pdf")).content))
    text = " ".join(" ".join(one.extract_text() for one in paper.pages).split())
    for words in ("40.0 of the 70.0 points are knowledge (something was found out), 30.0 are work (something was done).", "Was held to be original, is held to be a replica; assessed on 1 May 2021", "31 December 2025, as known then", "Found out: dome (−40.0)."):
        assert words in page and words in text, words
    assert "&lt;b&gt;new&lt;/b&gt; top &amp; rim" in page and "<b>new</b> top & rim" in text
    assert 'href="/parts/p1/"' in page and 'href="/vehicles/l1/"' in page


def test_the_periods_that_are_asked_for_most_are_a_click_away(engine, officer):
    page = text_of(officer.get("/period/"))
    for query in re.findall(r'href="(/period/\?[^"]+)"', page):
        assert officer.get(query.replace("&amp;", "&")).status_code == 200
    assert page.count('href="/period/?') == 4


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("first=30+June+2026&last=1+January+2026", "First day: 30 June 2026 is after 1 January 2026: give the earlier day first."),
        ("first=soon&last=30+June+2026", "First day: “soon” cannot be read as a date"),
        ("first=2026&last=30+June+2026", "“2026” is not a plain day"),
        ("first=30+February+2026&last=30+June+2026", "There is no 30 February 2026"),
        ("first=1+January+1926&last=1+January+2026", "is longer than 25 years"),
        ("first=1+January+2026&last=31+December+2199", "is still to come"),
        ("first=1+January+2026&last=30+June+2026&known=1+May+2026", "is before the last day"),
        ("first=1+January+2026&last=30+June+2026&v=nobody", "There is no vehicle nobody in this register."),
        ("first=1+January+2026&last=30+June+2026&v=%00", "That is no vehicle of this register."),
        ("first=1+January+2026&last=30+June+2026&edition=poster", "There is no such edition"),
        ("first=%00&last=%F0%9F%A6%84", "First day:"),
        ("first=" + "9" * 5000 + "&last=1", "First day:"),
    ],
)
def test_a_question_that_cannot_be_answered_gets_a_sentence_at_its_field(engine, officer, query, said):
    for address in ("/period/", "/period/report.pdf"):
        answer = officer.get(f"{address}?{query}")
        assert answer.status_code == 422 and said in text_of(answer).replace("&#x27;", "'"), text_of(answer)
        assert "There is no report yet" in text_of(answer) and "How this is told" not in text_of(answer)


def test_what_was_typed_is_kept_beside_what_was_wrong(engine, officer):
    page = text_of(officer.get("/period/?first=30+June+2026&last=1+January+2026&v=L1&edition=magazine"))
    assert 'value="30 June 2026"' in page and 'value="1 January 2026"' in page
    assert 'value="magazine" checked' in page and 'value="l1" checked' in page


def test_struck_out_vehicles_are_told_of_to_whoever_asks_for_them(engine, officer):
    from register.exchange.records import Change

    on("2026-06-01", Change("positions", {}, row_id="g1", action="strike"), Change("vehicles", {}, row_id="l2", action="strike"), reason="sold <long> ago")
    assert "L2 was struck out of the register on 1 June 2026 (sold &lt;long&gt; ago). Leave it out." in text_of(officer.get(f"{ASKED}&v=l2"))


@pytest.mark.parametrize("role", ROLES)
def test_the_magazines_edition_is_the_same_for_every_role_and_holds_nothing_private(role, sign_in):
    on("2025-06-01", *changes_of(planted()))
    on("2026-02-03", change("treatments", part_id="P5", date="2026-02-01", work="CANARY-WORK"), change("treatments", part_id="P1", date="2026-02-01", work="oiled", done_by="OK"))
    client = sign_in(role)
    page = text_of(client.get(f"{ASKED}&edition=magazine"))
    told = page[page.index('id="report"') :]
    assert "CANARY" not in told and "Oiled." in told and 'href="/parts/' not in told
    paper = client.get(ASKED.replace("/period/", "/period/report.pdf") + "&edition=magazine").content
    assert "CANARY" not in " ".join(one.extract_text() for one in PdfReader(BytesIO(paper)).pages)


def test_the_page_asks_as_often_for_many_parts_as_for_few(engine, officer):
    def asked():
        with CaptureQueriesContext(connection) as queries:
            officer.get(ASKED)
        return len(queries)

    asked()
    few = asked()
    for start in range(3):
        rows = [{"position_id": f"X{start}-{one}", "vehicle_id": "L1", "name": "bolt", "visibility": "hidden"} for one in range(100)]
        parts = [{"part_id": f"X{start}-{one}", "name": "bolt", "mass": "1 kg"} for one in range(100)]
        stays = [{"position_id": f"X{start}-{one}", "part_id": f"X{start}-{one}", "fitted": "3 March 2026"} for one in range(100)]
        on(f"2026-03-0{start + 3}", *changes_of({"positions": rows, "parts": parts, "installations": stays}))
    assert asked() == few
