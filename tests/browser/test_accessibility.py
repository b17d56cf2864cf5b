"""axe-core (Deque; WCAG 2.2 A and AA rules) finds nothing on any page; pages reflow at 320 px and work without script."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe

PAGES = ["/", "/vehicles/har/", "/vehicles/har/?in=har-bo&as_at=nonsense", "/vehicles/n1/", "/vehicles/har/figures/", "/vehicles/har/timeline/", "/vehicles/har/findings/",
         "/vehicles/har/survival/", "/vehicles/har/find-out/", "/vehicles/har/compare/", "/side-by-side/?v=har&v=n1", "/parts/", "/parts/fr-001/", "/parts/bo-180/", "/sources/", "/sources/s-001/",
         "/?sort=doubt&unassessed=xx&q=6", "/?fleet=no", "/search/", "/search/?q=412", "/search/?q=412&in=parts", "/vehicles/har/?only=hazards", "/vehicles/har/?find=nothing-like-it",
         "/parts/fr-001/mass/?shape=tube&outside=3+in&wall=x", "/parts/fr-001/mass/?shape=round&diameter=3+in&length=4+ft",
         "/places/", "/places/store/", "/people/", "/new/parts/", "/new/positions/?vehicle_id=HAR", "/change/parts/fr-001/", "/strike-out/parts/fr-001/", "/password/", "/vehicles/nobody/",
         "/lists/", "/lists/nothing/", "/new-vehicle/", "/vehicles/har/add-positions/", "/vehicles/har/questions/"]
PUBLIC = ["/id/", "/id/vehicles/har/", "/id/vehicles/n1/", "/sign-in/", "/id/vehicles/nobody/"]
PAGES += ["/vehicles/har/change/?from=&from_day=2000-01-01", "/statements/", "/vehicles/har/issue/"]
PAGES += ["/parts/fr-001/break-down/", "/parts/fr-001/replace/", "/parts/fr-001/take/", "/parts/fr-001/merge/", "/positions/har-fr/structure/", "/positions/har-fr/move/"]
PAGES += ["/record/", "/record/?q=plate", "/record/new/?part=FR-001", "/record/new/", "/review/", "/review/?list=decided", "/history/parts/fr-001/", "/sources/s-001/cite/?vehicle=har"]
PUBLIC += ["/t/22222222/"]
PUBLIC += ["/id/check/", "/id/check/?number=CS-9999"]
PAGES += ["/photographs/add/?part=FR-001", "/photographs/add/?part=FR-001&write=yes", "/photographs/add/", "/photographs/tray/", "/photographs/about/photographs/frame-stamp-412.jpg/"]
PAGES += ["/papers/?vehicle=har", "/papers/labels.pdf?vehicle=har"]
PAGES += ["/period/", "/period/?first=2000-01-01&last=2024-12-31&v=har&v=n1", "/period/?first=soon&last=2026-01-01&v=har"]
PAGES += ["/whereabouts/", "/whereabouts/not-seen/?years=0", "/places/store/stocktake/?inside=yes", "/parts/bo-180/move/"]
PAGES += ["/proposals/", "/proposals/new/", "/vehicles/har/modern-parts/", "/vehicles/har/policy/", "/vehicles/har/significance/",
          "/vehicles/har/significance/write/?of=HAR-BO"]
PAGES += ["/schedule/", "/schedule/?v=har&v=n1&as_at=2026-06-01", "/schedule/?v=zz&as_at=nonsense"]
RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}}


def found_by_axe(page):
    results = Axe().run(page, options=RULES)
    return [f"{one['id']}: {one['nodes'][0]['html'][:160]} ({len(one['nodes'])})" for one in results.response["violations"]]


WIDER = "document.documentElement.scrollWidth > document.documentElement.clientWidth + 1"
WHAT_IS = "[...document.querySelectorAll('main *')].filter(e => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1).slice(0, 3).map(e => e.outerHTML.slice(0, 120))"


def looked_at(page):
    """What is wrong with the page that is open, wide in the light scheme and narrow in the dark one: the width moves things and
    the scheme colours them, so each is seen with the other's half. It is asked for once only, since the style sheet alone makes
    the difference. WCAG 2.2, 1.4.10 reflow at 320 px; 1.4.4 text at 200 %."""
    wrong = []
    for width, scheme in ((1280, "light"), (320, "dark")):
        page.set_viewport_size({"width": width, "height": 900})
        page.emulate_media(color_scheme=scheme)
        wrong += [f"{width} {scheme}: {problem}" for problem in found_by_axe(page)]
    if page.evaluate(WIDER):
        wrong.append(f"wider than 320 px: {page.evaluate(WHAT_IS)}")
    page.set_viewport_size({"width": 640, "height": 900})
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    if page.evaluate(WIDER):
        wrong.append(f"wider than 640 px at twice the text size: {page.evaluate(WHAT_IS)}")
    return wrong


@pytest.mark.outside
@pytest.mark.parametrize("part", range(4))
def test_axe_finds_nothing_and_no_page_is_too_wide(part, signed_in, page):
    address = signed_in("officer")
    wrong = {}
    for path in PAGES[part::4]:
        page.goto(address + path)
        if problems := looked_at(page):
            wrong[path] = problems
    page.context.clear_cookies()
    for path in PUBLIC[part::4]:
        page.goto(address + path)
        if problems := looked_at(page):
            wrong[path] = problems
    assert not wrong, "\n".join(f"{path}\n  " + "\n  ".join(problems) for path, problems in wrong.items())


def test_axe_finds_nothing_where_a_statement_waits_for_a_second_person(signed_in, page):
    """For whoever prepared it, and for the officer who is asked, with the error of a send-back that says nothing."""
    from datetime import date

    from register.models import User
    from register.services.demo import demo_user
    from register.services.issuing import Asked, ask_second, prepare

    address = signed_in("officer")
    asked = Asked("D2", date.today(), user=demo_user("officer"))
    reasons = {group.code: "known, and said so" for group in prepare(asked).readiness.groups}
    ask_second(Asked("D2", asked.day, user=asked.user, reasons=reasons))
    assert User.objects.filter(username="demo-second-officer").exists()
    for who in ("officer", "second officer"):
        signed_in(who)
        for path in ("/vehicles/d2/issue/", "/statements/"):
            page.goto(address + path)
            assert not looked_at(page), (who, path)
    page.goto(address + "/vehicles/d2/issue/")
    page.get_by_role("button", name="Send it back").click()
    assert page.title().startswith("Error:") and not looked_at(page)
    page.get_by_role("button", name="Issue CS-0001").click()
    assert "CS-0001" in page.locator("h1").inner_text()


def test_axe_finds_nothing_in_forced_colours(signed_in, page):
    address = signed_in("officer")
    page.emulate_media(forced_colors="active")
    for path in ("/", "/vehicles/har/", "/new/parts/"):
        page.goto(address + path)
        assert not found_by_axe(page), path


def test_axe_finds_nothing_on_the_administrator_s_pages(signed_in, page):
    from register.services.demo import demo_user

    address = signed_in("administrator")
    for path in ("/accounts/", "/accounts/new/", "/accounts/log/", f"/accounts/{demo_user('recorder').pk}/"):
        page.goto(address + path)
        assert not found_by_axe(page), path
    page.get_by_role("button", name="Make a new link").click()
    assert not found_by_axe(page), "with the link"


def test_every_control_is_reached_by_the_keyboard_and_focus_is_seen(signed_in, page):
    address = signed_in("officer")
    page.goto(address + "/vehicles/har/")
    reached = set()
    for _ in range(40):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement.id || document.activeElement.textContent.trim().slice(0, 30)"))
        outline = page.evaluate("(() => { const s = getComputedStyle(document.activeElement); return s.outlineStyle + s.outlineWidth + s.borderColor })()")
        assert "none0px" not in outline, page.evaluate("document.activeElement.outerHTML.slice(0, 200)")
    assert {"as-at", "reference", "basis", "evidence", "wear", "Show"} <= reached, reached
