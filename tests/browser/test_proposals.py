"""A proposal in a browser: written, returned, approved, carried out; the figure, the paper and what visitors read."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe

from register.services.proposal_fields import SECTIONS

RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}}
TOLD = "The injector is new, bought in because the old one would not lift hot water. It can be undone in half a day."


def looked_at(page):
    """axe-core (Deque) finds nothing on the page, and it is not wider than the screen."""
    found = [f"{one['id']}: {one['nodes'][0]['html'][:160]}" for one in Axe().run(page, options=RULES).response["violations"]]
    assert not found, (page.url, found)
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth + 1"), page.url


def figure(page, site):
    page.goto(site + "/vehicles/har/")
    return page.locator(".figure").first.inner_text()


@pytest.mark.parametrize("width", [320])
def test_from_a_proposal_to_the_changed_figure_and_what_visitors_read(width, site, page, signed_in):
    page.set_viewport_size({"width": width, "height": 900})
    signed_in("engineer")
    before = figure(page, site)
    page.goto(site + "/proposals/new/?vehicle_id=HAR")
    looked_at(page)
    page.get_by_label("What is proposed").fill("A new dome cover")
    page.get_by_role("button", name="Begin").click()
    for place, section in enumerate(SECTIONS):
        if place in (0, 2):
            looked_at(page)
        for one in section.questions:
            field = page.locator(f"#f-{one.name}")
            if one.options:
                field.select_option(one.options[0])
            else:
                field.fill(TOLD if one.name == "public" else f"Answer to: {one.label}")
        page.get_by_role("button", name="Save", exact=True).or_(page.get_by_role("button", name="Save and go on")).click()
    for letter in "AB":
        page.goto(f"{site}/proposals/1/alternatives/{letter}/")
        page.get_by_label("Why not").fill("Not good enough")
        page.get_by_role("button", name="Save").click()
    page.goto(site + "/proposals/1/alternatives/new/")
    page.locator("#f-title").fill("Spun steel")
    page.get_by_label("What kind of way it is").select_option("new and modern, in view")
    page.get_by_label("This is the one proposed").check()
    page.get_by_label("Can it be undone?").select_option("fully")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("link", name="Take out").click()
    looked_at(page)
    page.locator("#f-part_id").fill("FR-001")
    page.locator("#f-place_id").fill("STORE")
    page.get_by_role("button", name="Add this step").click()
    page.goto(site + "/proposals/1/")
    looked_at(page)
    assert "Original metal leaving" in page.locator("main").inner_text()
    page.get_by_role("button", name="Submit").click()
    signed_in("officer")
    page.goto(site + "/proposals/1/decide/return/")
    looked_at(page)
    page.locator("#f-words").fill("What of cast iron?")
    page.get_by_role("button", name="Return it with a question").click()
    signed_in("engineer")
    page.goto(site + "/proposals/1/")
    assert "What of cast iron?" in page.locator("main").inner_text()
    page.get_by_role("button", name="Submit").click()
    signed_in("officer")
    page.goto(site + "/proposals/1/answers/")
    looked_at(page)
    for field in page.locator("textarea").all():
        field.fill("It is kept in the store, and the engineer has agreed.")
    page.get_by_role("button", name="Save the answers").click()
    page.get_by_role("link", name="Approve").click()
    looked_at(page)
    page.get_by_label("Minute or paper").fill("2026/41")
    page.get_by_role("button", name="Approve").click()
    assert figure(page, site) == before
    page.goto(site + "/proposals/1/done/")
    looked_at(page)
    page.get_by_label("Done", exact=True).check()
    page.locator("#f-s1-on").fill("1 November 2026")
    page.get_by_role("button", name="Record it").click()
    looked_at(page)
    assert figure(page, site) != before
    for address in ("/proposals/", "/vehicles/har/modern-parts/", "/vehicles/har/policy/"):
        page.goto(site + address)
        looked_at(page)
    paper = page.context.request.get(site + "/proposals/1/justification.pdf")
    assert paper.ok and paper.body().startswith(b"%PDF")


def test_visitors_read_what_is_new_why_and_how_it_is_undone(site, page, signed_in):
    from register.models import User
    from register.services import proposal_decision, proposal_work, proposals
    from register.services.proposal_fields import QUESTIONS

    signed_in("officer")
    user = User.objects.get(username="demo-officer")
    made = proposals.begin(vehicle_id="HAR", title="Injector", user=user)
    answers = {name: one.options[0] if one.options else "an answer" for name, one in QUESTIONS.items()}
    proposals.write(made, answers | {"public": TOLD}, user=user, revision=made.revision)
    for one in made.alternatives.all():
        proposals.put_alternative(made, one.letter, {"kind": one.kind, "title": one.title, "why_not": "no"}, user=user, revision=made.revision)
    proposals.put_alternative(made, "", {"kind": "new and modern, in view", "title": "New", "undo": "fully", "recommended": "yes"}, user=user, revision=made.revision)
    step = {"do": "fit", "position_id": "HAR-FR", "part_id": "FR-900", "name": "Bracket of today", "mass": "3 kg", "status": "modern substitute", "date_mark": "M 2026"}
    proposals.add_step(made, "C", step, user=user, revision=made.revision)
    proposal_decision.submit(made, user=user)
    proposals.answer_checks(made, {one.key: "so" for one in proposal_decision.checks_now(made)}, user=user)
    page.context.clear_cookies()
    page.goto(site + "/id/vehicles/har/")
    assert TOLD not in page.locator("main").inner_text()
    proposal_decision.approve(made, user=user, details={})
    proposal_work.carry_out(made, {1: {**step, "on": "1 November 2026"}}, user=user)
    page.goto(site + "/id/vehicles/har/")
    assert TOLD in page.locator("main").inner_text()
