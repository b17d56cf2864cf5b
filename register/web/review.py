"""The officer's queue: what waits, what each would do to the figures, and the decision."""

from __future__ import annotations

import secrets
from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from register.documents.effect_view import EffectView, effect_view
from register.exchange.faults import Refused
from register.fabric.inputs import BASES
from register.fabric.rounding import shown_change
from register.models import ChangeSet
from register.models.change_set import ACCEPTED, OPEN, RETURNED, STANDING, WAITING
from register.policy import may
from register.services.change_sets import Conflicted
from register.services.deciding import (
    VERBS,
    Decided,
    all_of_it_stands,
    decide,
    handed_in_with,
    opinions_out_of,
    state_sentence,
)
from register.services.described import assessed_in, described, evidence_in
from register.services.effects import Effects, Question, effects_of
from register.services.finds_sent import find_behind, open_again
from register.services.picture_access import pictures_in
from register.services.waiting_rows import as_accepted, changes_of
from register.services.written_anew import differences
from register.web.asking import asking, number_of, storable, token_of
from register.web.kept_text import kept_for

PAGE = 12
LISTS = {
    "waiting": ("To review", (WAITING,)),
    "returned": ("Returned, waiting for an answer", (RETURNED,)),
    "standing": ("Differing opinions that stand", (STANDING,)),
    "decided": ("Decided", (ACCEPTED, "superseded", "withdrawn", "settled")),
}
ACCEPT, ASK = ("accept", "Accept"), ("ask", "Return with a question")
STAND, SUPERSEDE = ("let stand", "Let it stand as a differing opinion"), ("supersede", "Supersede")
BUTTONS = {
    WAITING: (ACCEPT, ASK, STAND, SUPERSEDE),
    RETURNED: (ACCEPT, STAND, SUPERSEDE),
    STANDING: (("accept", "Accept it after all"), ("settle", "Settled: print it no longer")),
}


def queue(request: HttpRequest) -> HttpResponse:
    """What waits, oldest first, each with the points by which it draws the bounds together."""
    _ask(request)
    return render(request, "review/queue.html", _queue(request))


def _ask(request: HttpRequest) -> None:
    if not may(request.user, "review"):
        raise PermissionDenied("The review of what was handed in is for the heritage officer.")


def _queue(request: HttpRequest) -> dict[str, Any]:
    name = request.GET.get("list", "waiting")
    heading, states = LISTS.get(name, LISTS["waiting"])
    rows = ChangeSet.objects.filter(state__in=states).select_related("author", "decided_by")
    page = Paginator(rows.order_by("-pk" if name == "decided" else "pk"), PAGE).get_page(
        request.GET.get("page")
    )
    found = list(page.object_list)
    narrowed = _narrowings(found) if name in ("waiting", "returned", "standing") else {}
    counts = {
        key: ChangeSet.objects.filter(state__in=of).count() for key, (_, of) in LISTS.items() if key != name
    }
    return {
        "list": name if name in LISTS else "waiting",
        "list_heading": heading,
        "page": page,
        "queue": [
            {"one": one, "points": narrowed.get(one.pk, ""), "state": "let stand" if all_of_it_stands(one) else one.state}
            for one in found
        ],
        "others": [
            (key, LISTS[key][0], count) for key, count in counts.items() if count or key == "decided"
        ],
    }


def _narrowings(found: list[ChangeSet]) -> dict[int, str]:
    """By how many points each draws the bounds together; "none" where it changes no figure."""
    asked = {}
    for one in found:
        try:
            asked[one.pk] = Question(as_accepted(changes_of(one), one), one.base_no)
        except Refused:
            continue
    effects = effects_of(list(asked.values()), day=date.today())
    words = {}
    for key, effect in zip(asked, effects, strict=True):
        points = effect.narrowing
        words[key] = "at fault" if effect.faults else "none" if points is None else shown_change(points)
    return words


def change_set(request: HttpRequest, key: int) -> HttpResponse:
    """One of them: what it says, what it does, its evidence, what was said of it, and the decision."""
    _ask(request)
    found = ChangeSet.objects.select_related("author", "decided_by__user").filter(pk=key).first()
    if found is None:
        raise Http404
    faults, refusal, status = [], "", 200
    posted = request.POST if request.method == "POST" else kept_for(request)
    if request.method == "POST":
        try:
            return _decided(request, found)
        except Refused as refused:
            faults, status = refused.faults, 422
        except Conflicted:
            refusal, status = "Somebody changed a record since this was handed in: see both texts below, and say which holds.", 409  # fmt: skip
        except Decided as decided:
            refusal, status = str(decided), 409
        found.refresh_from_db()
    context = _context(request, found) | {
        "faults": faults,
        "refusal": refusal,
        "general_errors": [fault.message for fault in faults] or ([refusal] if refusal else []),
        "reason": posted.get("reason", "") if posted else "",
        "token": secrets.token_urlsafe(24),
    }
    return render(request, "review/change_set.html", context, status=status)


def _decided(request: HttpRequest, found: ChangeSet) -> HttpResponse:
    verb = request.POST.get("decision", "")
    if verb not in VERBS:
        raise Decided("Say what is to become of it: press one of the buttons.")
    decided = decide(
        found.pk,
        verb,
        user=asking(request),
        reason=storable(request.POST.get("reason", "")),
        token=token_of(request),
        keep="file" if request.POST.get("keep") == "file" else "",
        seen=number_of(request.POST.get("seen", ""), most=4),
    )
    messages.success(request, f"{found.title}: {state_sentence(decided, asking(request))}")
    return redirect("review")


def _context(request: HttpRequest, found: ChangeSet) -> dict[str, Any]:
    context: dict[str, Any] = _queue(request) | shown(request, found)
    context |= {
        "buttons": BUTTONS.get(found.state, ()),
        "crumbs": [("Review", reverse("review")), (found.title, "")],
    }
    return context


def shown(request: HttpRequest, found: ChangeSet) -> dict[str, Any]:
    """What a page says of a change set: its records in words, its effect while it is not decided, its log."""
    entries = list(found.entries.select_related("user"))
    anew = [one for one in entries if one.changes is not None]
    context: dict[str, Any] = {
        "change_set": found,
        "said": state_sentence(found, asking(request)),
        "entries": entries,
        "version": len(anew),
        "anew": differences(anew[-1].changes or [], found.changes) if anew else [],
        "asked": next((one.text for one in reversed(entries) if one.verb == "asked"), ""),
        "opinions": list(opinions_out_of(found)),
        "handed_in_with": handed_in_with(found),
        "unreadable": "",
    }
    try:
        changes = as_accepted(changes_of(found), found)
    except Refused as refused:
        return context | {"unreadable": str(refused)}
    context["pictures"] = pictures_in(changes, request.user, undecided=found.state in OPEN)
    if found.state not in (WAITING, RETURNED, STANDING):
        return context | {"rows": found.changes}
    effects = effects_of([Question(changes, found.base_no)], day=date.today())[0]
    return context | effect_context(effects, request.user)


def effect_context(effects: Effects, reader: Any) -> dict[str, Any]:
    """The parts of a page that show what a change set would do: also for a revert or a proposal."""
    return {
        "records": described(effects, reader) if not effects.faults else [],
        "problems": [fault.message for fault in effects.faults],
        "conflicts": effects.conflicts,
        "assessed": assessed_in(effects) if not effects.faults else [],
        "evidence": evidence_in(effects) if not effects.faults else [],
        "effects": [(one, _by_basis(one)) for one in effects.vehicles],
    }


def _by_basis(effect: Any) -> list[EffectView]:
    return [effect_view(basis, *effect.views(basis)) for basis in BASES]


def handed_in(request: HttpRequest, key: int) -> HttpResponse:
    """What became of one's own: the officer's question is answered here, or it is withdrawn."""
    user = asking(request)
    found = ChangeSet.objects.select_related("author").filter(pk=key, author=user).first()
    if found is None or not may(user, "record finds"):
        raise Http404
    faults, refusal, status = [], "", 200
    posted = request.POST if request.method == "POST" else kept_for(request)
    if request.method == "POST":
        verb = request.POST.get("decision", "")
        try:
            if verb == "open":
                return redirect("find-check", open_again(user, key).pk)
            if verb not in ("answer", "withdraw"):
                raise Decided("Answer, or withdraw it: press one of the buttons.")
            decide(
                key,
                verb,
                user=user,
                reason=storable(request.POST.get("reason", "")),
                token=token_of(request),
            )
        except Refused as refused:
            faults, status = refused.faults, 422
        except Decided as decided:
            refusal, status = str(decided), 409
        else:
            messages.success(
                request, "Your answer was sent." if verb == "answer" else "It was withdrawn; it counts nowhere."
            )
            return redirect("handed-in", key)
        found.refresh_from_db()
    context = shown(request, found) | {
        "faults": faults,
        "general_errors": [fault.message for fault in faults] or ([refusal] if refusal else []),
        "reason": posted.get("reason", "") if posted else "",
        "token": secrets.token_urlsafe(24),
        "may_answer": found.state == RETURNED,
        "may_open": find_behind(found) is not None,
        "may_withdraw": found.state in (WAITING, RETURNED, STANDING),
    }
    return render(request, "review/handed_in.html", context, status=status)
