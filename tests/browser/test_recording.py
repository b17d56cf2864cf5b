"""From a part's tag to a figure that changes: on a phone with a thumb, with the keyboard alone, and without script."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.browser.test_accessibility import RULES
from tests.browser.test_main_job import session_of

PHONE = {"width": 390, "height": 800}
PART = "oc-1"


@pytest.fixture
def unassessed(site):
    """A part that is fitted and weighed, and that nobody has assessed; its tag."""
    from builders import change

    from register.models import Part
    from register.services.change_sets import apply

    apply([change("positions", position_id="HAR-OC", vehicle_id="HAR", name="Oil cellar", visibility="hidden"), change("parts", part_id="OC-1", name="oil cellar", mass="2 ton"),
           change("installations", position_id="HAR-OC", part_id="OC-1", fitted="as built")], kind="test")
    return Part.objects.get(key=PART).tag


def signed_in(browser, site, role, **options):
    from register.services.demo import demo_user

    context = browser.new_context(viewport=PHONE, **options)
    context.add_cookies([{**cookie, "url": site} for cookie in session_of(demo_user(role))])
    return context.new_page()


def figure(page, site):
    page.goto(site + "/vehicles/har/?as_at=2026-11-25")
    return page.locator(".figure").first.inner_text()


@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_a_find_from_the_tag_waits_is_accepted_and_the_figure_changes(script, site, browser, unassessed):
    recorder = signed_in(browser, site, "recorder", java_script_enabled=script)
    before = figure(recorder, site)
    recorder.goto(f"{site}/t/{unassessed.lower()}/")
    recorder.get_by_role("link", name="Record a find").click()
    recorder.get_by_role("button", name="Record it", exact=True).click()
    recorder.get_by_label("Marks as read").fill("S&HR 4 . 1926")
    recorder.get_by_text("Some letters are worn").click()
    if script:
        assert not Axe().run(recorder, options=RULES).response["violations"]
    recorder.get_by_role("button", name="Save and go on").click()
    recorder.get_by_role("button", name="Not known").click()
    recorder.get_by_role("button", name="Nothing was done").click()
    recorder.get_by_text("Original: it belonged").click()
    recorder.get_by_role("button", name="Save and go on").click()
    recorder.get_by_label("Your reasons").fill("The mark is the railway's own")
    recorder.get_by_role("button", name="Save and go on").click()
    recorder.get_by_role("button", name="Save and go on").click()
    recorder.get_by_label("On which day").fill("20 November 2026")
    recorder.get_by_role("button", name="Hand it in").click()
    assert "waits for the heritage officer" in recorder.locator("main").inner_text()
    assert figure(recorder, site) == before
    officer = signed_in(browser, site, "officer", java_script_enabled=script)
    officer.goto(site + "/parts/" + PART + "/")
    officer.get_by_role("link", name="oil cellar: marks, original").click()
    text = officer.locator("main").inner_text()
    assert "What it does to the figures" in text and "documented" in text
    if script:
        assert not Axe().run(officer, options=RULES).response["violations"]
    officer.get_by_label("Your reason").fill("Agrees with the works list")
    officer.get_by_role("button", name="Accept", exact=True).click()
    assert "It was accepted by" in officer.locator("main").inner_text()
    assert figure(officer, site) != before


def test_a_find_is_recorded_and_accepted_with_the_keyboard_alone(site, browser, unassessed):
    recorder = signed_in(browser, site, "recorder")
    recorder.goto(f"{site}/record/new/?part=OC-1")

    def press(page, name, key="Enter"):
        """Go there by Tab, as somebody without a mouse must, and press."""
        for _ in range(80):
            page.keyboard.press("Tab")
            here = page.evaluate("[document.activeElement.textContent, document.activeElement.parentElement.textContent, document.activeElement.name, document.activeElement.value].map(one => (one || '').trim())")
            if name in (here[0], f"{here[2]}={here[3]}", here[2]):
                break
        else:
            raise AssertionError(f"{name} is not reached with the keyboard")
        if key == "Enter":
            with page.expect_navigation():
                page.keyboard.press("Enter")
        elif key:
            page.keyboard.press(key)

    press(recorder, "Record it")
    press(recorder, "marks", "")
    recorder.keyboard.type("S&HR 4")
    with recorder.expect_navigation():
        recorder.keyboard.press("Enter")
    press(recorder, "Not known")
    press(recorder, "Nothing was done")
    press(recorder, "status=original", "Space")
    press(recorder, "Save and go on")
    press(recorder, "Not known")
    press(recorder, "Save and go on")
    press(recorder, "Hand it in")
    assert "waits for the heritage officer" in recorder.locator("main").inner_text()
    officer = signed_in(browser, site, "officer")
    before = figure(officer, site)
    from register.models import ChangeSet

    officer.goto(f"{site}/review/{ChangeSet.objects.order_by('-pk').first().pk}/")
    press(officer, "Accept")
    assert figure(officer, site) != before


def test_what_was_typed_when_the_session_ended_is_there_after_signing_in(site, browser, unassessed, django_user_model):
    from django.contrib.auth.models import Group

    user = django_user_model.objects.create_user("ada.bell", password="a long pass phrase 7")
    user.groups.add(Group.objects.get(name="recorder"))
    context = browser.new_context(viewport=PHONE)
    context.add_cookies([{**cookie, "url": site} for cookie in session_of(user)])
    page = context.new_page()
    page.goto(f"{site}/record/new/?part=OC-1")
    page.get_by_role("button", name="Record it", exact=True).click()
    page.get_by_label("Marks as read").fill("S&HR 4 . 1926")
    context.clear_cookies(name="sessionid")
    page.get_by_role("button", name="Save and go on").click()
    page.get_by_label("Username").fill("ada.bell")
    page.get_by_label("Password").fill("a long pass phrase 7")
    page.get_by_role("button", name="Sign in", exact=True).click()
    assert page.get_by_label("Marks as read").input_value() == "S&HR 4 . 1926"
    page.get_by_role("button", name="Save and go on").click()
    assert "How heavy is it" in page.locator("h1").inner_text()
