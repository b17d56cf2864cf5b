"""The head of every page: one row of navigation for every role, and nothing in it out of reach."""

from __future__ import annotations

import pytest

from register.policy import ROLES

ROWS = """selector => new Set([...document.querySelectorAll(selector)].filter(e => e.offsetParent).map(e => Math.round(e.getBoundingClientRect().top))).size"""
BESIDE = ".head-row > .nav > ul > li"


@pytest.mark.parametrize("role", ROLES)
def test_the_navigation_is_one_row_and_at_1280_px_beside_the_name_and_the_search(role, signed_in, page):
    page.goto(signed_in(role) + "/")
    for width in (1024, 1280, 1920):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate(ROWS, BESIDE) == 1, width
        assert not page.evaluate("document.querySelector('.head-row').scrollWidth > document.documentElement.clientWidth")
    for width in (1280, 1920):
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate("document.querySelector('.head-row').getBoundingClientRect().height") <= 60


def test_a_railway_with_a_long_name_keeps_one_row(signed_in, settings, page):
    settings.SITE_NAME = "The Upper Harrenby, Selmouth & Brindle Dale Light Railway Preservation Trust"
    page.goto(signed_in("officer") + "/")
    page.set_viewport_size({"width": 1280, "height": 900})
    assert page.evaluate(ROWS, BESIDE) == 1
    assert not page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth")


def test_what_is_behind_more_is_reached_by_hand_and_by_keyboard(signed_in, page):
    page.goto(signed_in("officer") + "/")
    page.set_viewport_size({"width": 1280, "height": 900})
    page.click(".nav-more summary")
    page.get_by_role("link", name="Places", exact=True).click()
    assert page.url.endswith("/places/")
    page.focus(".nav-more summary")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Places" and page.evaluate("document.activeElement.getAttribute('aria-current')") == "page"
    page.keyboard.press("Escape")
    assert not page.locator(".nav-more details[open]").count() and page.evaluate("document.activeElement.tagName") == "SUMMARY"
    page.keyboard.press("Enter")
    page.click("h1")
    assert not page.locator(".nav-more details[open]").count()


@pytest.mark.parametrize("path", ["/", "/vehicles/har/", "/period/"])
def test_the_fleet_and_a_vehicle_fit_screens_of_middle_width(path, signed_in, page):
    page.goto(signed_in("officer") + path)
    for width in (768, 900, 1024, 1280):
        page.set_viewport_size({"width": width, "height": 900})
        assert not page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth + 1"), width


def test_on_a_narrow_screen_everything_is_in_the_menu(signed_in, page):
    page.goto(signed_in("officer") + "/")
    for width in (768, 320):
        page.set_viewport_size({"width": width, "height": 900})
        page.click(".menu summary")
        for name in ("Vehicles", "Review", "Places", "People", "Import"):
            assert page.locator(".menu").get_by_role("link", name=name, exact=True).is_visible(), (width, name)
        page.click(".menu summary")
