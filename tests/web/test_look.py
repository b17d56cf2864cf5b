"""The kit that pages are built from: one page of all of it, held against the rules that every page keeps."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest
from django.contrib.auth import get_user_model
from django.contrib.auth.forms import PasswordChangeForm
from django.contrib.staticfiles import finders
from django.core.paginator import Paginator
from django.forms import CharField, CheckboxInput, ChoiceField, Form, RadioSelect
from django.template import Context, Template
from django.template.loader import render_to_string
from django.test import RequestFactory

from register.templatetags.fabric_tags import (
    as_fields,
    bounds,
    chip,
    day_words,
    in_words,
    kg,
    mass,
    percent_filter,
    percent_high,
    percent_low,
    thousands,
    workshop,
)
from tests.fabric.builders import TODAY, Engine
from tests.web.style_page import context, page, views

TEMPLATES = Path("templates")
VOID = {"meta", "link", "input", "img", "br", "hr"}


class Page(HTMLParser):
    """Every element with its attributes, and whether the tags of the page nest."""

    def __init__(self, markup: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.open: list[str] = []
        self.texts: list[tuple[str, str]] = []
        self.feed(markup)
        assert not self.open, f"not closed: {self.open}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        assert len(names) == len(set(names)), f"{tag} has an attribute twice: {names}"
        self.elements.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag, f"</{tag}> closes another element"

    def handle_data(self, data: str) -> None:
        if self.open and data.strip():
            self.texts.append((self.open[-1], data.strip()))

    def all(self, tag: str) -> list[dict[str, str]]:
        return [attrs for name, attrs in self.elements if name == tag]

    def ids(self) -> list[str]:
        return [attrs["id"] for _, attrs in self.elements if "id" in attrs]


@pytest.fixture(scope="module")
def markup() -> str:
    return page()


@pytest.fixture(scope="module")
def parsed(markup: str) -> Page:
    return Page(markup)


def css(name: str) -> str:
    path = finders.find(f"register/{name}")
    assert path is not None
    return Path(path).read_text(encoding="utf-8")


# The content policy: default-src 'self'


def test_a_page_holds_no_style_and_no_script_of_its_own(parsed: Page) -> None:
    for tag, attributes in parsed.elements:
        assert tag != "style"
        assert not [name for name in attributes if name == "style" or name.startswith("on")], tag
        assert not any(value.strip().lower().startswith("javascript:") for value in attributes.values())
    assert [one["src"] for one in parsed.all("script")] == ["/static/register/register.js"]
    assert not [text for tag, text in parsed.texts if tag == "script"]


def test_everything_a_page_loads_is_served_from_here(parsed: Page) -> None:
    loaded = [one["href"] for one in parsed.all("link")] + [one["src"] for one in parsed.all("script")]
    assert len(loaded) == 4
    for address in loaded:
        assert finders.find(address.removeprefix("/static/")), address
    for name in ("base.css", "tokens.css"):
        for address in re.findall(r"url\(\"?([^\")]+)", css(name)):
            assert address.startswith("#") or finders.find(f"register/{address}"), address
        assert "@import" not in css(name)


# WCAG 2.2


@pytest.mark.outside
def test_names_roles_and_references_are_met(parsed: Page) -> None:
    """1.3.1, 4.1.2: every id once, every reference to one met, every field with its label."""
    ids = parsed.ids()
    assert len(ids) == len(set(ids)), sorted({one for one in ids if ids.count(one) > 1})
    for _, attributes in parsed.elements:
        for name in ("for", "aria-labelledby", "aria-describedby"):
            assert set(attributes.get(name, "").split()) <= set(ids), attributes
        if attributes.get("href", "").startswith("#f-"):
            assert attributes["href"][1:] in ids, "the summary of errors links to each field"
    labelled = {one.get("for") for one in parsed.all("label")}
    for tag in ("input", "select", "textarea"):
        for field in parsed.all(tag):
            if field.get("type") not in ("hidden", "radio", "checkbox"):
                assert field.get("id") in labelled, field


@pytest.mark.outside
def test_the_language_the_title_the_skip_link_and_the_headings_are_there(parsed: Page) -> None:
    """3.1.1, 2.4.2, 2.4.1, 1.3.1"""
    assert parsed.all("html")[0]["lang"] == "en-GB"
    assert next(text for tag, text in parsed.texts if tag == "title").startswith("Error: No. 6 Harrenby")
    assert parsed.all("a")[0] == {"class": "skip", "href": "#main"}
    assert parsed.all("main")[0]["id"] == "main"
    levels = [int(tag[1]) for tag, _ in parsed.elements if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


@pytest.mark.outside
def test_every_picture_is_named_or_hidden(parsed: Page) -> None:
    """1.1.1"""
    for attributes in parsed.all("svg"):
        assert attributes.get("aria-hidden") == "true" or (
            attributes["role"] == "img" and attributes["aria-labelledby"]
        )


@pytest.mark.outside
def test_every_table_has_a_caption_and_scoped_heads(parsed: Page) -> None:
    """1.3.1"""
    assert len(parsed.all("table")) == len(parsed.all("caption")) >= 5
    assert all(one.get("scope") in ("col", "row") for one in parsed.all("th"))


@pytest.mark.outside
def test_focus_is_three_px_of_ink_and_never_taken_away() -> None:
    """2.4.7, 2.4.11, 2.4.13: an outline is dropped only where another one stands for it."""
    style = css("base.css")
    assert ":focus-visible { outline: 3px solid var(--ink); outline-offset: 2px; }" in style
    dropped = re.findall(r"([^{}]+)\{[^{}]*outline: 0", style)
    assert sorted(one.strip() for one in dropped) == [
        ".choice input:focus-visible", ".drawing .rg:is(a, [tabindex]):focus-visible", "main:focus"
    ]  # fmt: skip


@pytest.mark.outside
def test_no_text_is_under_twelve_px() -> None:
    for size in re.findall(r"font-size: ([\d.]+)rem", css("base.css")):
        assert float(size) * 16 >= 12
    assert min(float(size) for size in re.findall(r'font-size="([\d.]+)"', page())) >= 12


def test_colours_are_named_once_and_never_written_into_the_style_sheet() -> None:
    """A lettering plate of a drawing is white in both schemes; the monochrome print names black."""
    assert sorted(re.findall(r"#[0-9A-Fa-f]{3,8}\b", css("base.css"))) == ["#000", "#FFFFFF"]
    used = set(re.findall(r"var\(--([a-zA-Z0-9]+)", css("base.css")))
    own = set(re.findall(r"--([a-zA-Z0-9]+):", css("base.css") + css("tokens.css")))
    assert used <= own


def test_corners_are_square_and_nothing_floats_above_the_sheet() -> None:
    style = re.sub(r"/\*.*?\*/", "", css("base.css"))
    rounded = re.findall(r"([^{}]+)\{[^{}]*border-radius: (?!0)", style)
    assert {one.strip() for one in rounded} == {
        ".balloon", '.choice input[type="radio"], .choice input[type="radio"]::before'
    }  # fmt: skip
    assert not re.search(r"box-shadow: (?!inset)", style)


def test_every_class_of_the_kit_is_known_to_the_style_sheet(parsed: Page) -> None:
    style = css("base.css") + css("tokens.css")
    used = {name for _, attributes in parsed.elements for name in attributes.get("class", "").split()}
    known = set(re.findall(r"\.([A-Za-z][\w-]*)", style))
    quiet = {"asked", "has-table", "visibility", "m-OR", "chart-large", "alternatives"}
    assert used - known - quiet == set()


# Figures


def test_bounds_stand_before_anything_else_of_a_figure() -> None:
    text = render_to_string("_figures.html", {"view": context()["view"]})
    assert text.index("54.5 to 63.2") < text.index("Best")
    for counted in ("by mass", "as built (1894)", "30\u00a0June\u00a02024", "Assessed share", "0 of 11"):
        assert counted in text


def test_the_whole_vehicle_stands_first_where_something_is_unweighed() -> None:
    text = render_to_string(
        "_figures.html", {"view": context()["partly"], "unweighted_url": "/parts/?no-mass"}
    )
    assert text.index("Whole vehicle, bounds") < text.index("of the weighted parts only")
    assert '<a href="/parts/?no-mass">mass not known</a>' in text


def test_a_withheld_percentage_is_a_sentence_and_counts() -> None:
    text = render_to_string("_figures.html", {"view": context()["nothing"]})
    assert "No part has a mass yet: no figure by mass." in text
    assert "<svg" not in text
    assert text.count('class="chip ') == 5


def test_a_name_is_never_taken_for_markup(settings) -> None:
    name = settings.SITE_NAME = '<script>alert("1")</script>'
    engine = Engine().item("frames", 100, "original").item("cab", 100)
    engine.references[0] = engine.reference(name, "1894")
    shown = views(engine.inputs())
    for template in ("_figures.html", "_composition_table.html", "_visibility_table.html"):
        assert "<script" not in render_to_string(template, {"view": shown["mass"]})
    text = page(
        view=shown["mass"], views=shown, partly=shown["mass"], crumbs=[(name, "/"), (name, "")],
        nav=[(name, "/", True)], general_errors=[name], messages=[name],
        finding={"number": name, "what": name, "sentence": name, "url": f'"{name}', "action": name},
    )  # fmt: skip
    assert text.count("<script") == 1, "the page's own"
    assert "&lt;script&gt;" in text


# Marks


def test_a_chip_has_code_hatch_and_word() -> None:
    assert 'class="chip m-RS" aria-hidden="true">RS</span>' in chip("restored")
    assert chip("restored").endswith('<span class="chip-words">Restored</span>')
    assert chip("", words=False).endswith('<span class="heard">Not assessed</span>')


def test_doubt_and_dispute_are_written_on_the_chip_and_said() -> None:
    assert ">OR?</span>" in chip("original", doubtful=True)
    assert chip("original", doubtful=True).endswith(">Original, doubtful</span>")
    disputed = chip("original", disputed="replica")
    assert re.findall(r">(OR|RP|/)<", disputed) == ["OR", "/", "RP"]
    assert ">?</span>" in chip("original", disputed=True), "it is not known which status is claimed"
    assert "disputed" in disputed


def test_a_status_nobody_knows_is_refused() -> None:
    with pytest.raises(KeyError):
        chip("<script>")


# Figures in templates


def test_percentages_are_rounded_outwards() -> None:
    assert bounds(43.94, 59.01) == "43.9 to 59.1\u00a0%"
    assert bounds(43.94, 59.01, 0) == "43 to 60\u00a0%"
    assert bounds(None, 3) == "not known"
    assert (percent_low(43.96), percent_high(59.01), percent_filter(51.46)) == (
        "43.9\u00a0%", "59.1\u00a0%", "51.5\u00a0%"
    )  # fmt: skip


def test_masses_are_in_kilograms_and_in_workshop_units() -> None:
    """2 cwt 3 qr 14 lb is 322 lb, 146.057 kg: 1 lb is 0.45359237 kg exactly (International Yard and Pound
    agreement)."""
    assert kg(1640) == "1,640\u00a0kg"
    assert thousands(14259.6) == "14,260"
    assert mass(146_057) == "146.057\u00a0kg"
    assert workshop(146_057) == "2\u00a0cwt\u00a03\u00a0qr\u00a014\u00a0lb"
    assert kg(None) == mass(None) == workshop(None) == thousands(None) == "not known"


def test_dates_are_said_in_words() -> None:
    assert in_words("[1903..1907]") == "between 1903 and 1907"
    assert in_words("") == ""
    assert in_words("<b>") == "<b>", "what is no date is left to be escaped"
    assert day_words(TODAY) == "30 June 2024"
    assert day_words(None) == "not known"


def test_ids_count_up_through_everything_a_page_includes() -> None:
    template = Template(
        '{% load fabric_tags %}{% swatch "RF" %}{% interval_bar view.own "row" %}{% for x in "ab" %}'
        '{% include "_figures.html" with view=view only %}{% endfor %}{% composition_bar view.shares "row" %}'
    )
    ids = Page(template.render(Context({"view": context()["view"]}))).ids()
    assert len(ids) > 10
    assert len(ids) == len(set(ids))


# Forms


class Sample(Form):
    name = CharField(help_text="As painted.")
    sure = ChoiceField(choices=[("yes", "Yes"), ("unknown", "Not known")], widget=RadioSelect)
    hidden = CharField(widget=CheckboxInput, required=False, label="Hidden")


def test_a_form_of_djangos_is_drawn_like_any_other() -> None:
    form = Sample({"name": "", "sure": "unknown"})
    name, sure, hidden = as_fields(form)
    assert (name.kind, name.hint, name.error) == ("text", "As painted.", "This field is required.")
    assert (sure.kind, sure.chosen, len(sure.options)) == ("radio", {"unknown"}, 2)
    assert (hidden.kind, hidden.chosen) == ("checks", frozenset())
    text = render_to_string("_form.html", {"fields": as_fields(form)})
    assert '<a href="#f-name">Name: This field is required.</a>' in text
    assert 'value="unknown" checked' in text
    assert 'aria-describedby="f-name-hint f-name-error "' in text


def test_a_password_is_never_written_back() -> None:
    form = PasswordChangeForm(get_user_model()(), {"old_password": "secret-1", "new_password1": "secret-2"})
    assert {field.value for field in as_fields(form)} == {""}
    assert {field.kind for field in as_fields(form)} == {"password"}


def test_an_error_is_in_the_title_the_summary_and_beside_its_field(markup: str) -> None:
    sentence = "The name is missing: write what the part is called."
    assert markup.count(sentence) == 2
    assert re.search(r"<title>Error: ", markup)
    assert not re.search(r"<title>Error: ", page(fields=[], general_errors=[]))
    assert markup.index('class="errors"') < markup.index('id="f-name"')


def test_a_date_is_echoed_as_it_was_read(markup: str) -> None:
    assert "Read as: <b>between 1903 and 1907</b>" in markup


def test_what_was_typed_is_kept_and_escaped() -> None:
    fields = as_fields(Sample({"name": '"><script>'}))
    text = render_to_string("_form.html", {"fields": fields})
    assert 'value="&quot;&gt;&lt;script&gt;"' in text


def test_pages_of_a_list_keep_the_filters_in_the_address() -> None:
    request = RequestFactory().get("/parts/?q=axle&page=2")
    text = render_to_string("_pager.html", {"page": Paginator(range(60), 20).get_page(2)}, request=request)
    assert 'href="?q=axle&amp;page=1"' in text
    assert "21–40 of 60, page 2 of 3" in text
    assert not render_to_string(
        "_pager.html", {"page": Paginator(range(5), 20).get_page(1)}, request=request
    ).strip()


# Pages by themselves


@pytest.mark.parametrize("name", ["400", "403", "403_csrf", "404", "410", "500"])
def test_an_error_page_says_what_happened_and_where_to_go(name: str) -> None:
    """Django gives 400 and 500 no context at all."""
    parsed = Page(render_to_string(f"{name}.html"))
    (heading,) = [text for tag, text in parsed.texts if tag == "h1"]
    assert next(text for tag, text in parsed.texts if tag == "title").startswith(heading)
    assert any(len(text) > 80 for tag, text in parsed.texts if tag == "p")
    assert any(one.get("class") == "button" and one["href"] == "/" for one in parsed.all("a"))


def test_a_refusal_is_shown_in_its_own_words() -> None:
    assert "Statements are drawn up by the officer." in render_to_string(
        "403.html", {"exception": "Statements are drawn up by the officer."}
    )


def test_the_page_for_a_fault_needs_no_template_that_a_fault_may_be_in() -> None:
    """It stands in a frame of its own, which needs no other and none of our tags."""
    frame, *_ = re.findall(r'{% extends "([^"]+)" %}', (TEMPLATES / "500.html").read_text())
    text = (TEMPLATES / "500.html").read_text() + (TEMPLATES / frame).read_text()
    assert frame == "alone.html" and text.count("{% extends") == 1
    assert "{% include" not in text and set(re.findall(r"{% load ([^%]+) %}", text)) == {"static"}


def test_a_visitor_sees_no_staff_navigation() -> None:
    text = render_to_string(
        "public/base.html",
        {"nav": [("Import", "/import/", False)], "search_url": "/search/"},
    )
    Page(text)
    assert "Import" not in text
    assert "/search/" not in text


def test_a_page_bears_the_name_of_the_railway_whatever_the_view_calls_its_site(settings) -> None:
    """Django's own sign-in view puts the host into ``site_name``."""
    settings.SITE_NAME = "Selmouth & Harrenby Railway"
    text = render_to_string(
        "registration/login.html", {"site_name": "127.0.0.1", "form": PasswordChangeForm(None)}
    )
    assert "Sign in – Selmouth &amp; Harrenby Railway</title>" in text
    assert "127.0.0.1" not in text


@pytest.mark.parametrize(
    "name", sorted(path.name for path in (TEMPLATES / "registration").glob("[a-z]*.html"))
)
def test_pages_about_signing_in_stand_in_the_look(name: str) -> None:
    form = PasswordChangeForm(get_user_model()(), {})
    text = render_to_string(f"registration/{name}", {"form": form, "validlink": True})
    parsed = Page(text)
    assert len([1 for tag, _ in parsed.elements if tag == "h1"]) == 1
    if parsed.all("form"):
        assert text.startswith("<!doctype html>")
        assert "<title>Error: " in text
        assert all(one.get("autocomplete") for one in parsed.all("input") if one["type"] == "password")
