"""Fields of a Django form in the shape that ``_field.html`` takes, which is that of
``register.web.record_form``."""

from __future__ import annotations

from dataclasses import dataclass

from django import forms
from django.forms import BaseForm
from django.forms.boundfield import BoundField


@dataclass(slots=True)
class FieldView:
    """kind: text, password, email, number, file, area, select, radio, checks or hidden."""

    name: str
    label: str
    kind: str
    value: str
    hint: str = ""
    example: str = ""
    required: bool = False
    options: tuple[tuple[str, str], ...] = ()
    chosen: frozenset[str] = frozenset()
    error: str = ""
    read_as: str = ""
    autocomplete: str = ""
    accept: str = ""
    several: bool = False


# the first that fits: a narrower widget stands before the one it is made from
KINDS: tuple[tuple[type[forms.Widget], str], ...] = (
    (forms.HiddenInput, "hidden"),
    (forms.PasswordInput, "password"),
    (forms.EmailInput, "email"),
    (forms.NumberInput, "number"),
    (forms.FileInput, "file"),
    (forms.Textarea, "area"),
    (forms.CheckboxSelectMultiple, "checks"),
    (forms.RadioSelect, "radio"),
    (forms.CheckboxInput, "checks"),
    (forms.Select, "select"),
)


def fields_of(form: BaseForm) -> list[FieldView]:
    """In the order of the form. Passwords and files are never given back."""
    return [_view(bound) for bound in form]


def _view(bound: BoundField) -> FieldView:
    field, widget = bound.field, bound.field.widget
    kind = next((kind for widget_class, kind in KINDS if isinstance(widget, widget_class)), "text")
    value = bound.value()
    view = FieldView(
        bound.html_name,
        str(bound.label),
        kind,
        "" if value is None or kind in ("password", "file") else str(value),
        str(field.help_text),
        required=field.required,
        error=" ".join(str(error) for error in bound.errors),
        autocomplete=str(widget.attrs.get("autocomplete", "")),
        accept=str(widget.attrs.get("accept", "")),
        several=bool(widget.attrs.get("multiple") or getattr(widget, "allow_multiple_selected", False)),
    )
    if isinstance(widget, forms.CheckboxInput):
        view.options, view.chosen = (("on", view.label),), frozenset({"on"} if value else ())
    elif kind in ("select", "radio", "checks"):
        view.options = tuple((str(key), str(label)) for key, label in getattr(field, "choices", ()))
        chosen = value if isinstance(value, list | tuple) else [value]
        view.chosen = frozenset(str(one) for one in chosen if one is not None)
    return view
