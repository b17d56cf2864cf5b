"""The main job in a browser, with script and without."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize("script", [True, False], ids=["with script", "without script"])
def test_an_officer_adds_a_part_fits_it_assesses_it_and_the_figure_changes(script, site, browser, signed_in):
    from register.services.demo import demo_user

    context = browser.new_context(java_script_enabled=script, viewport={"width": 390, "height": 800})
    signed_in("officer")
    context.add_cookies([{**cookie, "url": site} for cookie in session_of(demo_user("officer"))])
    page = context.new_page()
    page.goto(site + "/new/positions/?vehicle_id=HAR")
    page.get_by_label("Position id").fill("HAR-LAMP")
    page.locator("#f-name").fill("Head lamp bracket")
    page.get_by_label("Visibility").select_option("in view")
    page.get_by_role("button", name="Save").click()
    page.goto(site + "/new/parts/")
    page.get_by_label("Part id").fill("LB-1")
    page.locator("#f-name").fill("lamp bracket")
    page.get_by_label("Mass", exact=True).fill("1 T")
    page.get_by_role("button", name="Save").click()
    assert page.get_by_role("alert").is_visible() and "Error" in page.title()
    page.get_by_label("Mass", exact=True).fill("1 ton")
    page.get_by_role("button", name="Save").click()
    page.get_by_role("link", name="Fit it").click()
    page.get_by_label("Position").fill("HAR-LAMP")
    page.get_by_label("Fitted").fill("as built")
    page.get_by_role("button", name="Save").click()
    before = page_figure(page, site)
    page.goto(site + "/parts/lb-1/")
    page.get_by_role("link", name="Assess").click()
    page.get_by_label("Assessed on").fill("1 November 2026")
    page.get_by_label("Status").select_option("original")
    page.get_by_role("button", name="Save").click()
    assert "original" in page.locator("main").inner_text().lower()
    assert page_figure(page, site) != before
    context.close()


def page_figure(page, site):
    page.goto(site + "/vehicles/har/?as_at=2026-11-25")
    return page.locator(".figure").first.inner_text()


def session_of(user):
    from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
    from django.contrib.sessions.backends.db import SessionStore

    session = SessionStore()
    session[SESSION_KEY], session[BACKEND_SESSION_KEY], session[HASH_SESSION_KEY] = str(user.pk), "register.web.backends.RoleBackend", user.get_session_auth_hash()
    session.save()
    return [{"name": "sessionid", "value": session.session_key}]


def test_a_visitor_reads_the_public_page(site, page):
    page.set_viewport_size({"width": 390, "height": 800})
    page.goto(site + "/id/vehicles/har/")
    text = page.locator("main").inner_text()
    assert "How much of her is original?" in text and "How do you know?" in text


def test_a_person_signs_in_and_out(site, page, django_user_model):
    user = django_user_model.objects.create_user("ada.bell", password="a long pass phrase 7")
    page.goto(site + "/")
    page.get_by_label("Username").fill(user.username)
    page.get_by_label("Password").fill("a long pass phrase 7")
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("button", name="Sign out").first.click()
    assert "/sign-in/" in page.url
