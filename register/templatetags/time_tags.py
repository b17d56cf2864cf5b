"""Charts of a vehicle's life: how its figures went, and what became of it as it was."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from django import template
from django.template import Context
from django.utils.safestring import SafeString

from register.documents.palette import LOTS
from register.documents.step_band import Event, Step
from register.documents.step_band import step_band as step_sheet
from register.documents.survival_bar import lot_swatch
from register.documents.survival_bar import survival_bar as survival_sheet
from register.templatetags.fabric_tags import in_widths, picture

register = template.Library()

BANDS = (("narrow", 280, 210, 50), ("middle", 640, 300, 25), ("wide", 1216, 340, 25))
"""Name, width, height, and what the grid is ruled every."""
BARS = (("narrow", 280), ("middle", 640), ("wide", 1216))


@register.simple_tag(takes_context=True)
def step_band(
    context: Context, steps: Sequence[Step], until: int, events: Sequence[Event] = (), title: str = ""
) -> str:
    """Bounds as a band and the best figure as a line. Nothing where there is no step before ``until``."""
    if not steps or until <= steps[0].day:
        return ""
    return in_widths(
        context,
        {
            name: step_sheet(steps, until, events, width=width, height=height, grid=grid, title=title)
            for name, width, height, grid in BANDS
        },
    )


@register.simple_tag(takes_context=True)
def survival_bar(context: Context, shares: Mapping[str, Fraction | None], title: str = "") -> str:
    """What became of the vehicle as it was. Nothing where nothing has a weight."""
    if not any(shares.values()):
        return ""
    sheets = {name: survival_sheet(shares, width=width, title=title) for name, width in BARS}
    return in_widths(context, sheets, patterns=True)


@register.simple_tag(takes_context=True)
def lot_mark(context: Context, share: str) -> SafeString:
    """The swatch of a lot; its code and its words stand beside it."""
    return picture(context, lot_swatch(share), "swatch", patterns=True, decorative=True)


@register.filter
def lot_code(share: str) -> str:
    return LOTS[share].code


@register.filter
def lot_words(share: str) -> str:
    return LOTS[share].words
