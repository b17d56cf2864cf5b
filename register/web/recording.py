"""Recording a find on a phone: one question at a time, everything kept on the server."""

from __future__ import annotations

import secrets
from datetime import date
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotAllowed, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse

from register.exchange.faults import Refused
from register.fabric.dates import DateError, day_in_words, read_day
from register.models import ChangeSet, Event, FindDraft, Part
from register.policy import may
from register.services.change_sets import Conflicted
from register.services.find_questions import CHECK, QUESTIONS, questions_for
from register.services.find_rows import WrongAnswers, parts_of, title_of
from register.services.finds import (
    NoFind,
    Stale,
    add_evidence,
    answer,
    begin,
    discard,
    faults_in,
    find_of,
    find_parts,
    mark_of,
    others_like,
    previous_answers,
    readable_parts,
    send,
    unfinished,
)
from register.services.opened import parts_opened_by
from register.web.asking import asking, number_of, storable, token_of
from register.web.find_form import answer_words, evidence_rows, fields_for, texts_posted
from register.web.kept_text import kept_for
from register.web.records import what_was_done

PAGE = 20


def ask_recorder(request: HttpRequest) -> None:
    if not may(request.user, "record finds"):
        raise PermissionDenied("Recording finds is for recorders, engineers and the heritage officer.")


def home(request: HttpRequest) -> HttpResponse:
    """Find a part, go on with a find, see what became of those handed in."""
    ask_recorder(request)
    user, sought = asking(request), storable(request.GET.get("q", "")).strip()[:100]
    mine = ChangeSet.objects.filter(author=user).order_by("-pk")
    context = {
        "sought": sought,
        "found": list(find_parts(sought, user)[:PAGE]) if sought else [],
        "unfinished": _summaries(list(unfinished(user)[:PAGE])),
        "asked": list(mine.filter(state="returned")[:PAGE]),
        "page": Paginator(mine.exclude(state="returned"), PAGE).get_page(request.GET.get("page")),
        "token": secrets.token_urlsafe(24),
    }
    return render(request, "recording/home.html", context)


def _summaries(drafts: list[FindDraft]) -> list[dict[str, Any]]:
    names = dict(
        Part.objects.filter(key__in={key for one in drafts for key in one.parts[:1]}).values_list(
            "key", "name"
        )
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
            {"draft": one, "name": f"{name} and {more} more" if more > 0 else name, "step": _next(one)}
        )
    return found


def _next(draft: FindDraft) -> str:
    """The first question that has no answer yet."""
    for question in questions_for(draft.parts):
        if question.name not in draft.answers:
            return question.name
    return CHECK


def new(request: HttpRequest) -> HttpResponse:
    """What the find is about: one part, several, or none yet."""
    ask_recorder(request)
    user = asking(request)
    faults: list[str] = []
    typed = request.POST if request.method == "POST" else request.GET
    codes = [storable(code) for code in typed.getlist("part")]
    if request.method == "POST":
        try:
            draft = begin(user, codes, token=token_of(request))
        except Refused as refused:
            faults = [fault.message for fault in refused.faults]
        else:
            return redirect("find-question", draft.pk, _next(draft))
    parts = list(readable_parts(user).filter(key__in=[code.lower() for code in codes])[:60])
    if codes and not parts and not faults:
        raise Http404
    context = {
        "parts": parts,
        "others": others_like(parts[0], user) if len(parts) == 1 else [],
        "going": [
            one
            for one in _summaries(list(unfinished(user)[:PAGE]))
            if parts and parts[0].key in one["draft"].parts
        ],
        "faults": faults,
        "general_errors": faults,
        "token": secrets.token_urlsafe(24),
    }
    return render(request, "recording/new.html", context, status=422 if faults else 200)


def question(request: HttpRequest, find: int, step: str) -> HttpResponse:
    """One question. What is posted is kept before anything is said of it."""
    ask_recorder(request)
    draft = _draft(request, find)
    if draft.sent_at:
        return redirect("find-check", draft.pk)
    if step not in QUESTIONS or QUESTIONS[step] not in questions_for(draft.parts):
        raise Http404
    if request.method == "POST":
        return _answered(request, draft, step)
    held = draft.answers.get(step, {})
    shown: dict[str, Any] = {**held.get("aside", {}), **held}
    kept = kept_for(request)
    if kept is not None:
        shown |= texts_posted(step, kept)
    if request.GET.get("copy") == "yes":
        shown = dict(previous_answers(asking(request), draft, step)) or shown
    return _page(request, draft, step, shown, was=mark_of(held), kept=kept is not None)


def _draft(request: HttpRequest, find: int) -> FindDraft:
    try:
        return find_of(asking(request), find)
    except NoFind:
        raise Http404 from None


def _answered(request: HttpRequest, draft: FindDraft, step: str) -> HttpResponse:
    user, posted = asking(request), request.POST
    if step == "evidence":
        return _evidence(request, draft)
    skip = storable(posted.get("skip", ""))
    typed = texts_posted(step, posted)
    answers: dict[str, Any] = {"skip": skip, "aside": typed} if skip else typed
    try:
        draft = answer(user, draft.pk, step, answers, was=posted.get("was"))
    except Stale as stale:
        return _page(request, draft, step, answers, was=mark_of(stale.stored), stale=stale.stored)
    except Refused:
        return redirect("find-check", draft.pk)
    faults = [] if skip else faults_in(QUESTIONS[step], answers)
    if faults:
        return _page(request, draft, step, answers, was=mark_of(answers), faults=faults)
    return redirect(_after(draft, step))


def _evidence(request: HttpRequest, draft: FindDraft) -> HttpResponse:
    """Sources are added one after another; the mark that was read is one of them."""
    user, posted = asking(request), request.POST
    held = dict(draft.answers.get("evidence", {}))
    texts = texts_posted("evidence", posted)
    row = {name: texts.get(name, "") for name in ("source", "kind", "locator", "supports")}
    try:
        if (at := number_of(posted.get("remove", ""), most=4)) is not None:
            rows = list(held.get("rows", []))
            held["rows"] = [one for number, one in enumerate(rows) if number != at]
            draft = answer(user, draft.pk, "evidence", held)
            return redirect("find-question", draft.pk, "evidence")
        held["mark"] = "yes" if posted.get("mark") else "no"
        if skip := storable(posted.get("skip", "")):
            held["skip"] = skip
        draft = answer(user, draft.pk, "evidence", held)
        if row["source"].strip() and not skip:
            draft = add_evidence(user, draft.pk, row)
    except WrongAnswers as wrong:
        return _page(request, draft, "evidence", row, was="", faults=wrong.faults)
    except Refused:
        return redirect("find-check", draft.pk)
    if posted.get("add"):
        return redirect("find-question", draft.pk, "evidence")
    return redirect(_after(draft, "evidence"))


def _after(draft: FindDraft, step: str) -> str:
    names = [one.name for one in questions_for(draft.parts)]
    following = names[names.index(step) + 1 :]
    if draft.answers.get("status", {}).get("skip"):
        following = [name for name in following if name != "why"]
    if not following:
        return reverse("find-check", args=[draft.pk])
    return reverse("find-question", args=[draft.pk, following[0]])


def _page(
    request: HttpRequest,
    draft: FindDraft,
    step: str,
    shown: dict[str, Any],
    *,
    was: str,
    faults: list[tuple[str, str, str]] | None = None,
    stale: dict[str, Any] | None = None,
    kept: bool = False,
) -> HttpResponse:
    asked = QUESTIONS[step]
    names = [one.name for one in questions_for(draft.parts)]
    number = names.index(step) + 1
    parts = parts_of(draft)
    context = {
        "draft": draft,
        "parts": parts,
        "question": asked,
        "step": step,
        "number": number,
        "of": len(names),
        "steps": [place < number for place in range(len(names))],
        "back": reverse("find-question", args=[draft.pk, names[number - 2]])
        if number > 1
        else reverse("record"),
        "fields": fields_for(asked, shown, faults or []),
        "faults": faults,
        "was": was,
        "stale": answer_words(asked, stale) if stale is not None else None,
        "typed": answer_words(asked, shown) if stale is not None else None,
        "kept": kept,
        "skipped": dict(asked.skips).get(shown.get("skip", ""), ""),
        "copy": bool(step != "what" and previous_answers(asking(request), draft, step)),
        "rows": evidence_rows(draft) if step == "evidence" else [],
        "marks": draft.answers.get("marks", {}).get("marks", ""),
        "mark_shows": draft.answers.get("evidence", {}).get("mark", "yes") == "yes",
    }
    status = 422 if faults else 409 if stale is not None else 200
    return render(request, "recording/question.html", context, status=status)


def check(request: HttpRequest, find: int) -> HttpResponse:
    """Everything once more; then it is handed in, once."""
    ask_recorder(request)
    draft = _draft(request, find)
    posted = request.POST if request.method == "POST" else kept_for(request) or QueryDict()
    day_text = posted.get("day") or day_in_words(date.today())
    faults: list[tuple[str, str, str]] = []
    conflicts: Any = ()
    if request.method == "POST":
        try:
            day = read_day(day_text)
            if day > date.today():
                raise DateError("That day is still to come: give the day on which you saw it.")
            draft, handed = send(
                asking(request),
                draft.pk,
                day=day,
                note=storable(posted.get("note", "")),
                keep="file" if posted.get("keep") == "mine" else "",
            )
        except DateError as error:
            faults = [(CHECK, "day", str(error))]
        except WrongAnswers as wrong:
            faults = wrong.faults
        except Conflicted as conflicted:
            conflicts = conflicted.conflicts
        else:
            messages.success(request, what_was_done(handed) if handed else "It was handed in already, once.")
            return redirect("find-check", draft.pk)
    return _check_page(request, draft, day_text, posted.get("note", ""), faults, conflicts)


def _check_page(
    request: HttpRequest,
    draft: FindDraft,
    day_text: str,
    note: str,
    faults: list[tuple[str, str, str]],
    conflicts: Any,
) -> HttpResponse:
    parts = parts_of(draft)
    asked = questions_for(draft.parts)
    context = {
        "draft": draft,
        "parts": parts,
        "title": title_of(draft, parts) if parts else "",
        "answers": [
            (one, answer_words(one, draft.answers.get(one.name, {})), [f[2] for f in faults if f[0] == one.name])
            for one in asked
        ],
        "rows": evidence_rows(draft),
        "mark_shows": draft.answers.get("evidence", {}).get("mark") == "yes"
        and bool(draft.answers.get("marks", {}).get("marks")),
        "back": reverse("find-question", args=[draft.pk, asked[-1].name]),
        "faults": faults,
        "general_errors": [sentence for where, _, sentence in faults if where not in QUESTIONS and where != CHECK],
        "day_error": next((one for where, field, one in faults if (where, field) == (CHECK, "day")), ""),
        "note_error": next((one for where, field, one in faults if (where, field) == (CHECK, "note")), ""),
        "day": day_text,
        "note": note,
        "conflicts": conflicts,
        "counts": may(request.user, "change the register"),
    }
    status = 422 if faults else 409 if conflicts else 200
    return render(request, "recording/check.html", context, status=status)


def throw_away(request: HttpRequest, find: int) -> HttpResponse:
    ask_recorder(request)
    if request.method != "POST":
        return HttpResponseNotAllowed(["POST"])
    try:
        discard(asking(request), find)
    except NoFind:
        raise Http404 from None
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
