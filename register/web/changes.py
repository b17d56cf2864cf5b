"""What changed since a statement, or between two days: what was done, and what was found out, apart."""

from __future__ import annotations

from datetime import date

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from register.fabric.dates import DateError, day_in_words, read_day
from register.policy import may
from register.services.changes import Side, compared, in_words, of_register, of_statement, on_day
from register.services.inputs import NoSuch
from register.services.issued import all_standings
from register.web.asked import account_asked, crumbs_to


def change(request: HttpRequest, key: str) -> HttpResponse:
    """``from`` and ``to`` are statements of the vehicle; where one is empty, the register as it is, of ``from_day`` or
    ``to_day``. Without an address: since the last statement."""
    if not may(request.user, "read issued statements"):
        raise PermissionDenied("What changed since a statement is for the workshop engineer and the office.")
    controls, account = account_asked(request, key)
    vehicle, data = account.vehicle, request.GET
    numbers = [one.statement.number for one in all_standings(vehicle.key)]
    chosen = data.get("from", numbers[0] if numbers else "")
    until = data.get("to", "")
    errors: dict[str, str] = {}
    first_day = _day(data.get("from_day", ""), "from_day", errors)
    second_day = _day(data.get("to_day", ""), "to_day", errors)
    context = {
        "vehicle": vehicle,
        "controls": controls,
        "numbers": numbers,
        "chosen": chosen,
        "until": until,
        "first_text": data.get("from_day", ""),
        "second_text": data.get("to_day", "") or day_in_words(date.today()),
        "errors": errors,
        "has_errors": bool(errors),
        "crumbs": crumbs_to(account, "What changed"),
        "told": None,
    }
    if not errors and (chosen or first_day):
        try:
            first, second = _sides(vehicle.key, chosen, until, first_day, second_day)
            if first.vehicle != vehicle.key or second.vehicle != vehicle.key:
                raise Http404
            found = compared(first, second)
        except NoSuch as sentence:
            errors["from"] = str(sentence)
        else:
            context |= {"told": in_words(first, second, found), "first": first.called, "second": second.called}
    context["has_errors"] = bool(errors)
    return render(request, "statements/change.html", context, status=422 if errors else 200)


def _sides(
    key: str, chosen: str, until: str, first_day: date | None, second_day: date | None
) -> tuple[Side, Side]:
    second = of_statement(until) if until else None
    if chosen:
        first = of_statement(chosen)
        label = first.stated.reference.label
        return first, second or of_register(key, second_day or date.today(), label)
    second = second or of_register(key, second_day or date.today())
    day = first_day or date.today()
    return on_day(second, day, f"{day_in_words(day)}, as known now"), second


def _day(text: str, name: str, errors: dict[str, str]) -> date | None:
    if not text.strip():
        return None
    try:
        return read_day(text)
    except DateError as sentence:
        errors[name] = str(sentence)
        return None
