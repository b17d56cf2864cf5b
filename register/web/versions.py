"""Forms of texts of which every version is kept."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from django.http import HttpRequest

from register.exchange.faults import Fault
from register.models import SignificanceText, VehiclePolicy
from register.services.proposal_fields import Question
from register.web.asking import number_of
from register.web.record_form import FormField


def fields_of(questions: Iterable[Question], texts: Mapping[str, str], faults: Iterable[Fault] = ()) -> list[FormField]:
    """A field for each question, with these texts and the faults found in them."""
    errors = {fault.column: fault.message for fault in reversed(list(faults))}
    return [
        FormField(
            one.name, one.label, one.kind, texts.get(one.name, ""), one.hint, one.example, one.needed,
            tuple((option, option.capitalize()) for option in one.options), error=errors.get(one.name, ""),
        )
        for one in questions
    ]  # fmt: skip


def version_field(latest: VehiclePolicy | SignificanceText | None) -> FormField:
    """Which version the form was filled from, so that two editors meet."""
    return FormField("after", "", "hidden", str(latest.pk if latest else 0), "", "")


def version_seen(request: HttpRequest) -> int:
    """The number of the version that the form was filled from; 0 for none, and where the form does not say."""
    return number_of(request.POST.get("after", "")) or 0
