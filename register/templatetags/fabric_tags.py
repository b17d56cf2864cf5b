"""Charts, marks and figures for templates.

Only what an emitter has escaped is marked safe: ``register.documents.svg`` for pictures, ``format_html`` for
the rest.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from fractions import Fraction
from itertools import count
from typing import Any

from django import template
from django.conf import settings
from django.forms import BaseForm
from django.template import Context
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from register.documents import chips
from register.documents.chart_models import Sheet
from register.documents.composition_bar import composition_bar as composition_sheet
from register.documents.figure_parts import BoundsView
from register.documents.figure_words import NBSP, figure, percent
from register.documents.interval_bar import interval_bar_of
from register.documents.interval_bar import interval_scale as scale_sheet
from register.documents.palette import CATEGORIES, STATUSES, mark_of
from register.documents.svg import shared_patterns, svg
from register.fabric.dates import DateError, day_in_words
from register.fabric.dates import in_words as date_in_words
from register.fabric.quantities import in_workshop_units
from register.fabric.rounding import shown_change, shown_high, shown_kg, shown_low
from register.policy import may, name_for
from register.templatetags.form_fields import FieldView, fields_of

register = template.Library()

NOT_KNOWN = "not known"
WIDTHS = {"interval": (("narrow", 280), ("middle", 520), ("wide", 776)),
          "composition": (("narrow", 280), ("middle", 600), ("wide", 1216))}  # fmt: skip
"""A large chart is drawn in three widths, of which the style sheet shows the one that the place has room
for."""


def _prefix(context: Context) -> str:
    """Ids of pictures count up through a page, whatever is included in it."""
    # the lowest layer is shared by every template, included or not, of one rendering
    shared: dict[Any, Any] = context.render_context.dicts[0]
    return f"c{next(shared.setdefault('pictures', count(1)))}"


def _safe(markup: str) -> SafeString:
    """Of an emitter that escapes every string."""
    return mark_safe(markup)  # noqa: S308


def picture(context: Context, sheet: Sheet, css_class: str, **options: bool) -> SafeString:
    """A sheet as a picture of its own on the page."""
    return _safe(svg(sheet, prefix=_prefix(context), css_class=css_class, **options))


@register.simple_tag
def railway() -> str:
    """Whose register it is. From the settings, since a view of Django's own has another ``site_name`` in its
    context, and the pages for faults have no context at all."""
    return str(settings.SITE_NAME)


@register.simple_tag
def hatches() -> SafeString:
    """The patterns that the charts and drawings of a page share; once, in the base template."""
    return _safe(shared_patterns())


@register.simple_tag(takes_context=True)
def interval_bar(
    context: Context, bounds: BoundsView | None, size: str = "row", width: int | None = None
) -> str:
    """Bounds on their rule. size: large, row or mini. Nothing for no bounds."""
    if bounds is None:
        return ""
    if size != "large" or width:
        sheet = interval_bar_of(bounds, size=size, width=width)
        return _safe(svg(sheet, prefix=_prefix(context), css_class=f"chart chart-{size}"))
    return in_widths(
        context, {name: interval_bar_of(bounds, size=size, width=wide) for name, wide in WIDTHS["interval"]}
    )


@register.simple_tag(takes_context=True)
def interval_scale(context: Context, size: str = "row", width: int | None = None) -> SafeString:
    """0, 50 and 100 for the head of a column of bars."""
    return _safe(svg(scale_sheet(size, width), prefix=_prefix(context), css_class="chart", decorative=True))


@register.simple_tag(takes_context=True)
def composition_bar(
    context: Context,
    shares: Mapping[str, Any],
    size: str = "row",
    width: int = 280,
    decimals: int = 1,
    title: str = "",
) -> str:
    """Categories to amounts of one unit. size: large, row, table or tree. Nothing where there is nothing to
    show."""
    if not any(shares.values()):
        return ""
    if size != "large":
        sheet = composition_sheet(shares, size=size, width=width, decimals=decimals, title=title)
        return _safe(svg(sheet, prefix=_prefix(context), css_class=f"chart chart-{size}"))
    return in_widths(context, {
        name: composition_sheet(shares, size=size, width=wide, decimals=decimals, title=title)
        for name, wide in WIDTHS["composition"]
    })  # fmt: skip


@register.simple_tag(takes_context=True)
def chart_in_widths(context: Context, sheets: Mapping[str, Sheet]) -> SafeString:
    """A chart that was drawn in the widths of a large one, by their names."""
    return in_widths(context, sheets)


def in_widths(context: Context, sheets: Mapping[str, Sheet], *, patterns: bool = False) -> SafeString:
    """One chart in several widths; ``patterns``: with hatches of its own, other than those of the page."""
    drawn = "".join(
        picture(context, sheet, f"chart chart-{name}", patterns=patterns) for name, sheet in sheets.items()
    )
    return _safe(f'<div class="charts">{drawn}</div>')


@register.simple_tag
def chip(status: str, doubtful: bool = False, disputed: bool | str = False, words: bool = True) -> SafeString:
    """The mark of a status, with its word after it, seen or (``words`` False, in a dense table) only heard.

    disputed: the other status claimed, or True where it is not known which.
    """
    mark = mark_of(status)
    said = mark.words + (", doubtful" if doubtful else "") + (", disputed" if disputed else "")
    marks = _piece(f"m-{mark.code}", mark.code + ("?" if doubtful else ""))
    if disputed:
        other = mark_of(disputed).code if isinstance(disputed, str) else ""
        claimed = _piece(f"m-{other}", other) if other else _piece("chip-claim", "?")
        marks = format_html('{}<span class="chip-or" aria-hidden="true">/</span>{}', marks, claimed)
    seen = "chip-words" if words else "heard"
    return format_html('<span class="chips">{}</span> <span class="{}">{}</span>', marks, seen, said)


def _piece(css_class: str, text: str) -> SafeString:
    return format_html('<span class="chip {}" aria-hidden="true">{}</span>', css_class, text)


@register.simple_tag(takes_context=True)
def swatch(context: Context, name: str, of: str = "bar") -> SafeString:
    """A piece of the fill and hatch of a status, category or code; the words stand beside it. of: bar, or
    drawing, whose hatch is lighter."""
    if of == "drawing":
        return format_html(
            '<svg class="swatch" viewBox="0 0 28 16" aria-hidden="true" focusable="false">'
            '<rect class="rg st-{}" x="1" y="1" width="26" height="14"/></svg>',
            mark_of(name).code,
        )
    return _safe(svg(chips.swatch(name), prefix=_prefix(context), css_class="swatch", decorative=True))


@register.simple_tag
def marks(kind: str) -> list[dict[str, str]]:
    """The marks of ``statuses`` or ``categories`` in their order, for a key."""
    table = {"statuses": STATUSES, "categories": CATEGORIES}[kind]
    return [{"name": name, "code": mark.code, "words": mark.words} for name, mark in table.items()]


@register.simple_tag
def bounds(low: Any, high: Any, decimals: int = 1) -> str:
    """``43.9 to 59.1 %``, rounded outwards."""
    if low is None or high is None:
        return NOT_KNOWN
    return f"{shown_low(low, decimals)} to {shown_high(high, decimals)}{NBSP}%"


@register.filter(name="percent")
def percent_filter(value: Any, decimals: int = 1) -> str:
    """``51.5 %``, the nearest"""
    return percent(value, decimals)


@register.filter
def percent_low(value: Any, decimals: int = 1) -> str:
    return f"{shown_low(value, decimals)}{NBSP}%"


@register.filter
def percent_high(value: Any, decimals: int = 1) -> str:
    return f"{shown_high(value, decimals)}{NBSP}%"


@register.filter
def thousands(value: Any, decimals: int = 0) -> str:
    """``14,260``; "not known" for None"""
    return NOT_KNOWN if value in (None, "") else figure(_exact(value), decimals)


@register.filter
def kg(value: Any, decimals: int = 0) -> str:
    """Kilograms: ``1,640 kg``"""
    return NOT_KNOWN if value in (None, "") else f"{thousands(value, decimals)}{NBSP}kg"


@register.filter
def mass(grams: int | None) -> str:
    """Grams, to the gram: ``1,005.802 kg``"""
    return NOT_KNOWN if grams is None else shown_kg(Fraction(grams, 1000)).replace(" ", NBSP)


@register.filter
def workshop(grams: int | None) -> str:
    """Grams in workshop units, to the pound: ``2 cwt 3 qr 14 lb``"""
    return NOT_KNOWN if grams is None else in_workshop_units(grams).replace(" ", NBSP)


@register.filter
def share(millionths: int | None) -> str:
    """A stored fraction as a percentage: ``63 %``"""
    if millionths is None:
        return NOT_KNOWN
    return f"{_plain(Fraction(millionths, 10_000))}{NBSP}%"


def _plain(value: Fraction) -> str:
    return f"{float(value):.4f}".rstrip("0").rstrip(".")


@register.simple_tag(takes_context=True)
def named(context: Context, person: Any) -> str:
    """A person of the register, as the reader may know him or her."""
    return name_for(context.get("user"), person)


@register.simple_tag(takes_context=True)
def who_did(context: Context, user: Any) -> str:
    """Who is behind an act, as the reader may know it."""
    reader = context.get("user")
    if user is None:
        return "an import at the command line"
    return str(user) if may(reader, "read persons' names") or reader == user else "a colleague"


@register.simple_tag(takes_context=True)
def allowed(context: Context, action: str) -> bool:
    """Whether the reader may do this: {% allowed "read who owns it" as office %}"""
    return may(context.get("user"), action)


@register.filter
def stopped(text: str) -> str:
    """The text with a full stop, unless it ends with one already ("Harl & Co.")."""
    return text if text.endswith((".", "!", "?")) else f"{text}."


@register.filter
def semicolons(text: str) -> str:
    """A stored list as it is read: ``asbestos, lead paint``"""
    return ", ".join(part.strip() for part in text.split(";"))


@register.filter
def words_of_column(name: str) -> str:
    """A column's name as words: ``Original since``"""
    return name.removesuffix("_id").replace("_", " ").capitalize()


@register.filter
def in_words(edtf: str) -> str:
    """A stored date as it is said; what is not one is left as it is, "" too."""
    try:
        return date_in_words(edtf) if edtf else ""
    except DateError:
        return edtf


@register.filter
def day_words(day: date | int | None) -> str:
    """``12 May 1894``"""
    if day is None:
        return NOT_KNOWN
    return day_in_words(date.fromordinal(day) if isinstance(day, int) else day)


@register.filter
def at(items: Any, place: Any) -> Any:
    """What stands in a list or a mapping at this place; nothing where there is nothing."""
    try:
        return items[place]
    except (KeyError, IndexError, TypeError):
        return None


@register.filter
def is_recommended(outcome: Any) -> bool:
    return outcome is not None and bool(outcome.alternative.recommended)


@register.filter
def signed(change: Any) -> str:
    """A difference in percentage points: ``−2.4``"""
    return shown_change(change)


@register.filter
def as_fields(form: BaseForm) -> list[FieldView]:
    """The fields of a Django form, as ``_field.html`` takes them."""
    return fields_of(form)


@register.filter
def with_errors(fields: Any) -> list[Any]:
    """The fields that have an error, for the summary above the form."""
    return [field for field in fields or () if field.error]


def _exact(value: Any) -> Fraction | float:
    return value if isinstance(value, Fraction | int | float) else Fraction(str(value))
