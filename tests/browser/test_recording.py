"""From a part's tag to a figure that changes: on a phone with a thumb, with the keyboard alone, and without script."""

from __future__ import annotations

import re

import picture_files as files
import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.browser.test_accessibility import RULES
from tests.browser.test_main_job import session_of

PHONE = {"width": 390, "height": 800}
PART = "oc-1"
PICTURE = {"name": "IMG_0412.jpg", "mimeType": "image/jpeg", "buffer": files.picture(size=(600, 400))}
BROKEN = {"name": "IMG_0413.jpg", "mimeType": "image/jpeg", "buffer": files.picture(size=(600, 400))[:900]}
WAITS = "waits for the heritage officer"


@pytest.fixture
def site(live_server, settings):
    """Some of the demo register: its vehicles whole, of its parts a few. Nothing here looks at the others."""
    from register.services.demo import make_demo_people
    from tests.demo_register import plant_some_of_the_demo_register

    settings.ALLOWED_HOSTS, settings.DEMO = ["*"], True
    plant_some_of_the_demo_register()
    make_demo_people()
    return live_server.url


@pytest.fixture
def code(site):
    """What the code on the label of a part says that is fitted and weighed, and that nobody has assessed."""
    from builders import change

    from register.models import Part
    from register.services.change_sets import apply
    from register.services.papers import SHORT

    apply([change("positions", position_id="HAR-OC", vehicle_id="HAR", name="Oil cellar", visibility="hidden"), change("parts", part_id="OC-1", name="oil cellar", mass="2 ton"),
           change("installations", position_id="HAR-OC", part_id="OC-1", fitted="as built")], kind="test")
    return f"{site}{SHORT}{Part.objects.get(key=PART).tag}"


def signed_in(browser, site, role, **options):
    from register.services.demo import demo_user

    context = browser.new_context(viewport=PHONE, **options)
    context.add_cookies([{**cookie, "url": site} for cookie in session_of(demo_user(role))])
    return context.new_page()


def figure(page, site):
    page.goto(site + "/vehicles/har/?as_at=2026-11-25")
    return page.locator(".figure").first.inner_text()


def go_on(page):
    page.get_by_role("button", name="Save and go on").click()


def sees_the_picture(page):
    """The copy beside the find has really been drawn."""
    image = page.locator(".photos img")
    image.scroll_into_view_if_needed()
    return image.evaluate("one => one.decode().then(() => one.naturalWidth)") > 100 and "the mark on it" in page.locator(".photos").inner_text()


@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_a_find_with_a_photograph_from_the_tag_waits_is_accepted_and_the_figure_changes(script, site, browser, code):
    recorder = signed_in(browser, site, "recorder", java_script_enabled=script)
    before = figure(recorder, site)
    recorder.goto(code)
    recorder.get_by_role("link", name="Record a find").click()
    recorder.get_by_role("button", name="Record it", exact=True).click()
    recorder.get_by_label("Marks as read").fill("S&HR 4 . 1926")
    recorder.get_by_text("Some letters are worn").click()
    go_on(recorder)
    recorder.get_by_role("button", name="Not known").click()
    recorder.get_by_role("button", name="Nothing was done").click()
    recorder.get_by_text("Original: it belonged").click()
    go_on(recorder)
    recorder.get_by_label("Your reasons").fill("The mark is the railway's own")
    go_on(recorder)
    go_on(recorder)
    recorder.get_by_label("Take a photograph").set_input_files(PICTURE)
    if script:
        recorder.get_by_text("IMG_0412.jpg: has arrived").wait_for()
        assert not Axe().run(recorder, options=RULES).response["violations"]
    go_on(recorder)
    recorder.get_by_label("What it shows").fill("the mark on it")
    go_on(recorder)
    recorder.get_by_label("On which day").fill("20 November 2026")
    recorder.get_by_role("button", name="Hand it in").click()
    assert WAITS in recorder.locator("main").inner_text()
    assert figure(recorder, site) == before
    officer = signed_in(browser, site, "officer", java_script_enabled=script)
    officer.goto(site + "/parts/" + PART + "/")
    officer.get_by_role("link", name="oil cellar: marks, original, a picture").click()
    text = officer.locator("main").inner_text()
    assert "What it does to the figures" in text and "documented" in text
    if script:
        assert sees_the_picture(officer)
        assert not Axe().run(officer, options=RULES).response["violations"]
    else:
        address = officer.locator(".photos img").get_attribute("src")
        assert officer.request.get(site + address).headers["content-type"] == "image/webp"
    officer.get_by_label("Your reason").fill("Agrees with the works list")
    officer.get_by_role("button", name="Accept", exact=True).click()
    assert "It was accepted by" in officer.locator("main").inner_text()
    assert figure(officer, site) != before


def test_a_find_with_a_photograph_is_recorded_and_accepted_with_the_keyboard_alone(site, browser, code):
    recorder = signed_in(browser, site, "recorder")
    recorder.goto(code)

    def reach(page, name):
        """Go there by Tab, as somebody without a mouse must."""
        for _ in range(80):
            page.keyboard.press("Tab")
            here = page.evaluate("[document.activeElement.textContent, document.activeElement.name, document.activeElement.value].map(one => (one || '').trim())")
            if name in (here[0], f"{here[1]}={here[2]}", here[1]):
                return
        raise AssertionError(f"{name} is not reached with the keyboard")

    def press(page, name, key="Enter"):
        reach(page, name)
        with page.expect_navigation():
            page.keyboard.press(key)

    press(recorder, "Record a find")
    press(recorder, "Record it")
    reach(recorder, "marks")
    recorder.keyboard.type("S&HR 4")
    with recorder.expect_navigation():
        recorder.keyboard.press("Enter")
    press(recorder, "Not known")
    press(recorder, "Nothing was done")
    reach(recorder, "status=original")
    recorder.keyboard.press("Space")
    press(recorder, "Save and go on")
    press(recorder, "Not known")
    press(recorder, "Save and go on")
    reach(recorder, "photos")
    with recorder.expect_file_chooser() as chooser:
        recorder.keyboard.press("Space")
    chooser.value.set_files(PICTURE)
    press(recorder, "Save and go on")
    reach(recorder, recorder.locator(".captioned input").get_attribute("name"))
    recorder.keyboard.type("the mark on it")
    with recorder.expect_navigation():
        recorder.keyboard.press("Enter")
    press(recorder, "Hand it in")
    assert WAITS in recorder.locator("main").inner_text()
    officer = signed_in(browser, site, "officer")
    before = figure(officer, site)
    officer.goto(f"{site}/parts/{PART}/")
    press(officer, "oil cellar: marks, original, a picture")
    assert sees_the_picture(officer)
    press(officer, "Accept")
    assert figure(officer, site) != before


def test_a_connection_that_breaks_loses_neither_the_text_nor_the_other_pictures(site, browser, code):
    recorder = signed_in(browser, site, "recorder")
    recorder.goto(f"{site}/record/new/?part=OC-1")
    recorder.get_by_role("button", name="Record it", exact=True).click()
    recorder.get_by_label("Marks as read").fill("S&HR 4 . 1926")
    go_on(recorder)
    recorder.goto(re.sub("measured", "pictures", recorder.url))
    sent = []

    def breaks_once(route):
        sent.append(route)
        route.abort("connectionreset") if len(sent) == 2 else route.continue_()

    recorder.route("**/pictures/", lambda route: breaks_once(route) if route.request.method == "POST" and "json" in route.request.headers["accept"] else route.continue_())
    second = PICTURE | {"name": "IMG_0414.jpg", "buffer": files.picture(colour=(0, 0, 200))}
    recorder.get_by_label("Choose photographs").set_input_files([PICTURE, second, BROKEN])
    recorder.get_by_text("IMG_0413.jpg: not taken: it is damaged or broken off").wait_for()
    said = recorder.locator(".sending").inner_text()
    assert "IMG_0412.jpg: has arrived" in said and "IMG_0414.jpg: not sent: the connection broke." in said and "1 not sent" in said
    go_on(recorder)
    assert "press the button once more to go on without" in recorder.locator(".sending").inner_text()
    recorder.get_by_role("button", name="Try again: IMG_0414.jpg").click()
    recorder.get_by_text("IMG_0414.jpg: has arrived").wait_for()
    go_on(recorder)
    recorder.get_by_label("What picture 2 shows").wait_for()
    from register.models import FindDraft

    draft = FindDraft.objects.get()
    assert draft.answers["marks"]["marks"] == "S&HR 4 . 1926" and [one["name"] for one in draft.answers["pictures"]["rows"]] == ["IMG_0412.jpg", "IMG_0414.jpg"]


def test_what_was_typed_when_the_session_ended_is_there_after_signing_in(site, browser, code, django_user_model):
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
    go_on(page)
    page.get_by_label("Username").fill("ada.bell")
    page.get_by_label("Password").fill("a long pass phrase 7")
    page.get_by_role("button", name="Sign in", exact=True).click()
    assert page.get_by_label("Marks as read").input_value() == "S&HR 4 . 1926"
    go_on(page)
    assert "How heavy is it" in page.locator("h1").inner_text()
