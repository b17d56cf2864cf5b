"""The first evening in a browser: an empty register, somebody's messy list, questions, a vehicle and a statement."""

from __future__ import annotations

import pytest
from list_import.lists import MESSY

from tests.browser.test_accessibility import found_by_axe

ANSWERS = {"W31-04 fitted": "March 2011", "W31-06 weight": "240 kg", "W31-12 fitted": "between 1900 and 1909"}
"""Some of the questions of messy_list_expected.md, and what somebody who looked might say."""


@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_from_an_empty_register_to_a_statement(script, live_server, browser, settings, django_user_model):
    from django.contrib.auth.models import Group

    settings.ALLOWED_HOSTS = ["*"]
    user = django_user_model.objects.create_user("ada.bell", password="a long pass phrase 7")
    user.groups.add(Group.objects.get_or_create(name="officer")[0])

    def look():
        """Each step fits a small phone, and axe finds nothing on it."""
        assert not script or not found_by_axe(page), page.url
        assert not script or page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth + 1"), page.url

    context = browser.new_context(java_script_enabled=script, viewport={"width": 320, "height": 800})
    page = context.new_page()
    page.goto(live_server.url + "/")
    page.get_by_label("Username").fill("ada.bell")
    page.get_by_label("Password").fill("a long pass phrase 7")
    page.get_by_role("button", name="Sign in").click()
    assert "The register is empty" in page.locator("main").inner_text()
    look()
    page.get_by_role("link", name="Begin from a list").click()
    page.get_by_label("List", exact=True).set_input_files(str(MESSY))
    page.get_by_role("button", name="Read it").click()
    assert page.get_by_label("What column C, Is it orig?, is").input_value() == "status"
    look()
    page.get_by_role("button", name="Go on to the words").click()
    assert page.get_by_label("What never had means").input_value() == "never had"
    look()
    page.get_by_role("button", name="Go on to the vehicle").click()
    page.get_by_role("button", name="Look through it").click()
    assert page.get_by_role("alert").is_visible() and "Error" in page.title()
    look()
    for label, text in (("Vehicle id", "W31"), ("Name (needed)", "Wagon 31"), ("Built", "1903"), ("On which day was the list right?", "30 September 2019")):
        page.get_by_label(label).first.fill(text)
    page.get_by_label("Kind").select_option("wagon")
    page.get_by_role("button", name="Look through it").click()
    assert "56 things the list does not say" in page.locator("main").inner_text()
    look()
    page.get_by_role("link", name="Answer the questions").click()
    look()
    while True:
        for key, text in ANSWERS.items():
            if page.locator(f'[name="a-{key}"]').count():
                page.locator(f'[name="a-{key}"]').fill(text)
        page.get_by_role("button", name="Keep these answers").click()
        if page.get_by_role("button", name="Enter it").count():
            break
    assert "3 answered, 53 open" in page.locator("main").inner_text()
    page.get_by_role("button", name="Enter it").click()
    assert "Entered as change 1" in page.locator("main").inner_text()
    look()
    page.get_by_role("link", name="See the vehicle").click()
    text = page.locator("main").inner_text()
    assert page.locator(".figure").first.inner_text().replace("\xa0", " ").startswith("0.0 to 100.0"), "nothing is assessed before it is reviewed"
    assert "What to enter next" in text and "Open questions from her lists" in text
    look()
    statement = context.request.get(live_server.url + "/vehicles/w31/statement.pdf")
    assert statement.status == 200 and statement.body().startswith(b"%PDF")
    context.close()
