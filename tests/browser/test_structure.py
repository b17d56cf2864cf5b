"""A part is broken down with the keyboard alone, and no page of it is a riddle to a screen reader."""

from __future__ import annotations

from tests.browser.test_accessibility import found_by_axe


def tab_to(page, words, limit=80):
    """Press Tab until what has the focus is called so."""
    for _ in range(limit):
        page.keyboard.press("Tab")
        if page.evaluate("(() => { const e = document.activeElement; return ((e.labels && e.labels[0]) || e).textContent.trim() })()").startswith(words):
            return
    raise AssertionError(f"Tab never comes to {words!r}")


def test_an_officer_breaks_a_part_down_with_the_keyboard_alone(signed_in, page):
    page.set_viewport_size({"width": 390, "height": 800})
    page.goto(signed_in("officer") + "/parts/fr-001/")
    tab_to(page, "Structure")
    page.keyboard.press("Enter")
    tab_to(page, "Break down")
    page.keyboard.press("Enter")
    page.wait_for_url("**/break-down/")
    tab_to(page, "What it is")
    page.keyboard.type("plate of 1894")
    tab_to(page, "Mass")
    page.keyboard.type("1500 T")
    tab_to(page, "What it is")
    page.keyboard.type("patch behind the cylinder")
    page.keyboard.press("Enter")  # sends the form: the first button looks, it does not do
    page.get_by_role("alert").wait_for()
    assert page.evaluate("document.activeElement.getAttribute('role')") == "alert" and "Error" in page.title()
    tab_to(page, "Mass: ")
    page.keyboard.press("Enter")  # the summary leads to the field
    page.wait_for_function("document.activeElement.id === 'f-mass-1'")
    page.keyboard.press("Control+a")
    page.keyboard.type("1500 kg")
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Do it").wait_for()
    text = page.locator("main").inner_text()
    assert "by mass nothing moves" in text and "New: FR-001-2 patch behind the cylinder, 140 kg" in text
    assert not found_by_axe(page)
    assert not page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth + 1")
    tab_to(page, "Do it")
    page.keyboard.press("Enter")
    page.wait_for_url("**/parts/fr-001/")
    assert "Broken down." in page.locator("main").inner_text()
    page.goto(page.url.replace("fr-001", "fr-001-2"))
    assert "140 kg" in page.locator("main").inner_text().replace("\xa0", " ")
