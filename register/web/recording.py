"""Recording a find on a phone: one question at a time, everything kept on the server."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotAllowed, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse

from register.exchange.faults import Refused
from register.fabric.dates import DateError, day_in_words, read_day
from register.models import ChangeSet, Event, FindDraft, User
from register.models.change_set import ACCEPTED, OPEN
from register.policy import may
from register.services.change_sets import Conflicted
from register.services.deciding import LET_STAND
from register.services.find_questions import CHECK, QUESTIONS, caption_field, pictures_of, questions_for
from register.services.find_rows import WrongAnswers, parts_of, title_of
from register.services.finds import (
    NoFind,
    begin,
    discard,
    find_parts,
    others_like,
    readable_parts,
    unfinished,
)
from register.services.finds_sent import DecidedMeanwhile, question_asked, send
from register.services.opened import parts_opened_by
from register.services.picture_access import why_not_shown
from register.web.asking import asking, storable, token_of
from register.web.find_form import answer_words, ask_recorder, draft_of, evidence_rows, next_step
from register.web.kept_text import kept_for
from register.web.records import what_was_done

PAGE = 20


def home(request: HttpRequest) -> HttpResponse:
    """Find a part, go on with a find, see what became of those handed in."""
    ask_recorder(request)
    user, sought = asking(request), storable(request.GET.get("q", "")).strip()[:100]
    mine = ChangeSet.objects.filter(author=user).exclude(state=ACCEPTED, decided_by__kind=LET_STAND).order_by("-pk")
    context = {
        "sought": sought,
        "found": list(find_parts(sought, user)[:PAGE]) if sought else [],
        "unfinished": _summaries(list(unfinished(user)[:PAGE]), user),
        "asked": list(mine.filter(state="returned")[:PAGE]),
        "page": Paginator(mine.exclude(state="returned"), PAGE).get_page(request.GET.get("page")),
        "token": secrets.token_urlsafe(24),
    }
    return render(request, "recording/home.html", context)


def _summaries(drafts: list[FindDraft], user: User) -> list[dict[str, Any]]:
    names = dict(
        readable_parts(user).filter(key__in={key for one in drafts for key in one.parts[:1]}).values_list("key", "name")
    )
    found = []
    for one in drafts:
        name = (
            names.get(one.parts[0], one.parts[0])
            if one.parts
            else one.answers.get("what", {}).get("name") or "A find that fits nowhere yet"
        )
        more = len(one.parts) - 1
        found.append(
            {"draft": one, "name": f"{name} and {more} more" if more > 0 else name, "step": next_step(one)}
        )
    return found


def new(request: HttpRequest) -> HttpResponse:
    """What the find is about: one part, several, or none yet."""
    ask_recorder(request)
    user = asking(request)
    faults: list[str] = []
    typed = request.POST if request.method == "POST" else kept_for(request) or request.GET
    codes = [storable(code) for code in typed.getlist("part")]
    if request.method == "POST":
        try:
            draft = begin(user, codes, token=token_of(request))
        except Refused as refused:
            faults = [fault.message for fault in refused.faults]
        else:
            return redirect("find-question", draft.pk, next_step(draft))
    parts = list(readable_parts(user).filter(key__in=[code.lower() for code in codes])[:60])
    if codes and not parts and not faults:
        raise Http404
    context = {
        "parts": parts,
        "others": others_like(parts[0], user) if len(parts) == 1 else [],
        "going": [
            one
            for one in _summaries(list(unfinished(user)[:PAGE]), user)
            if parts and parts[0].key in one["draft"].parts
        ],
        "faults": faults,
        "general_errors": faults,
        "token": secrets.token_urlsafe(24),
    }
    return render(request, "recording/new.html", context, status=422 if faults else 200)


@dataclass(slots=True)
class Checking:
    """What the last page shows beside the answers. is_late: what the find was written anew from has been decided."""

    day: str
    note: str
    is_late: bool
    faults: list[tuple[str, str, str]] = field(default_factory=list)
    conflicts: Any = ()

    def error(self, name: str) -> str:
        return next((one for where, column, one in self.faults if (where, column) == (CHECK, name)), "")


def check(request: HttpRequest, find: int) -> HttpResponse:
    """Everything once more; then it is handed in, once."""
    ask_recorder(request)
    draft = draft_of(request, find)
    posted = request.POST if request.method == "POST" else kept_for(request) or QueryDict()
    said = draft.answers.get(CHECK, {})
    day = date.fromisoformat(said["day"]) if said else date.today()
    checking = Checking(
        storable(posted.get("day", "")) or day_in_words(day),
        storable(posted.get("note", said.get("note", ""))),
        posted.get("own") == "yes",
    )
    if request.method == "POST":
        try:
            draft, handed = send(
                asking(request),
                draft.pk,
                day=_day(checking.day),
                note=checking.note,
                keep="file" if posted.get("keep") == "mine" else "",
                on_its_own=checking.is_late,
            )
        except DateError as error:
            checking.faults = [(CHECK, "day", str(error))]
        except WrongAnswers as wrong:
            checking.faults = wrong.faults
            checking.is_late |= isinstance(wrong, DecidedMeanwhile)
        except Conflicted as conflicted:
            checking.conflicts = conflicted.conflicts
        else:
            messages.success(request, what_was_done(handed) if handed else "It was handed in already, once.")
            return redirect("find-check", draft.pk)
    return _check_page(request, draft, checking)


def _day(text: str) -> date:
    day = read_day(text)
    if day > date.today():
        raise DateError("That day is still to come: give the day on which you saw it.")
    return day


def _check_page(request: HttpRequest, draft: FindDraft, checking: Checking) -> HttpResponse:
    parts, faults = parts_of(draft, asking(request)), checking.faults
    asked = questions_for(draft)
    context = {
        "draft": draft,
        "parts": parts,
        "title": title_of(draft, parts) if parts else "",
        "answers": [
            (one, answer_words(one, draft.answers.get(one.name, {})), [f[2] for f in faults if f[0] == one.name])
            for one in asked
        ],
        "rows": evidence_rows(draft),
        "pictures": _pictures(request, draft),
        "mark_shows": draft.answers.get("evidence", {}).get("mark") == "yes"
        and bool(draft.answers.get("marks", {}).get("marks")),
        "back": reverse("find-question", args=[draft.pk, asked[-1].name]),
        "faults": faults,
        "general_errors": [sentence for where, _, sentence in faults if where not in QUESTIONS and where != CHECK],
        "day_error": checking.error("day"),
        "note_error": checking.error("note"),
        "day": checking.day,
        "note": checking.note,
        "conflicts": checking.conflicts,
        "is_late": checking.is_late,
        "question_asked": question_asked(draft),
        "counts": may(request.user, "change the register"),
    }
    status = 422 if faults else 409 if checking.conflicts else 200
    return render(request, "recording/check.html", context, status=status)


def _pictures(request: HttpRequest, draft: FindDraft) -> list[tuple[dict[str, str], str, str]]:
    """(picture, caption, why it is not shown) of each."""
    pictures, captions = pictures_of(draft), draft.answers.get("captions", {})
    undecided = draft.sent_at is None or (draft.sent is not None and draft.sent.state in OPEN)
    why_not = why_not_shown([one["sha256"] for one in pictures], request.user, undecided=undecided)
    return [(one, captions.get(caption_field(one), ""), why_not[one["sha256"]]) for one in pictures]


def throw_away(request: HttpRequest, find: int) -> HttpResponse:
    ask_recorder(request)
    if request.method != "POST":
        return HttpResponseNotAllowed(["POST"])
    try:
        draft = draft_of(request, find)
        discard(asking(request), find)
    except NoFind:
        raise Http404 from None
    if draft.follows_id and draft.sent_id:
        messages.success(request, "It is left as you handed it in first.")
        return redirect("handed-in", draft.sent_id)
    messages.success(request, "The find was thrown away. Nothing of it is in the register.")
    return redirect("record")


def opened(request: HttpRequest, event: str) -> HttpResponse:
    """What an examination opened: its parts, for recording while they can be seen."""
    ask_recorder(request)
    found = Event.objects.select_related("vehicle", "part").filter(key=storable(event)).first()
    restricted = may(request.user, "read what is restricted")
    if found is None or (found.access == "restricted" and not restricted):
        raise Http404
    context = {
        "event": found,
        "parts": parts_opened_by(found, asking(request)),
        "token": secrets.token_urlsafe(24),
        "crumbs": [
            ("Vehicles", reverse("fleet")),
            (found.vehicle.full_name, reverse("vehicle", args=[found.vehicle_id])),
            ("What was opened", ""),
        ],
    }
    return render(request, "recording/opened.html", context)
