"""One question of a find: what is posted is kept before anything is said of it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from register.exchange.faults import Refused
from register.models import FindDraft
from register.services.find_pictures import add_pictures, no_picture, take_picture_out
from register.services.find_questions import (
    CAPTIONS,
    EVIDENCE,
    PICTURES,
    QUESTIONS,
    Question,
    pictures_of,
    questions_for,
)
from register.services.find_rows import WrongAnswers, parts_of
from register.services.finds import (
    NoFind,
    Stale,
    add_evidence,
    answer,
    begin,
    faults_in,
    find_of,
    mark_of,
    previous_answers,
)
from register.services.finds_sent import question_asked
from register.services.kept_pictures import Kept
from register.services.photographs import MAX_BYTES
from register.web.asking import asking, number_of, storable
from register.web.find_form import (
    answer_words,
    ask_recorder,
    evidence_rows,
    fields_for,
    texts_posted,
    unanswered,
)
from register.web.kept_text import kept_for
from register.web.picture_files import has_pictures, is_script, keep_sent, told


def question(request: HttpRequest, find: int, step: str) -> HttpResponse:
    """One question, with its answers kept so far."""
    ask_recorder(request)
    try:
        draft = find_of(asking(request), find)
    except NoFind:
        if request.method == "POST" and step in QUESTIONS:
            return _thrown_away(request, find, QUESTIONS[step])
        raise Http404 from None
    asked = next((one for one in questions_for(draft) if one.name == step), None)
    if asked is None:
        if request.method == "POST" and step == CAPTIONS.name:
            return redirect("find-question", draft.pk, PICTURES.name)  # its pictures were taken out meanwhile
        raise Http404
    if draft.sent_at:
        return _too_late(request, draft, asked) if request.method == "POST" else redirect("find-check", draft.pk)
    if request.method == "POST":
        return ANSWERED.get(step, _answered)(request, draft, asked)
    held = draft.answers.get(step, {})
    shown: dict[str, Any] = {**held.get("aside", {}), **held}
    kept = kept_for(request)
    if kept is not None:
        shown |= texts_posted(asked, kept)
    if request.GET.get("copy") == "yes":
        shown = dict(previous_answers(asking(request), draft, step)) or shown
    return _page(request, draft, asked, shown, was=mark_of(held), kept=kept is not None)


def _too_late(request: HttpRequest, draft: FindDraft, asked: Question) -> HttpResponse:
    """The find was handed in from another page meanwhile: what was typed here begins another of the same parts."""
    if is_script(request):
        return told(Kept(failed=[("", "This find was handed in already.")]))
    held, typed = draft.answers.get(asked.name, {}), texts_posted(asked, request.POST)
    if all(not text.strip() or text == held.get(name) for name, text in typed.items()):
        return redirect("find-check", draft.pk)
    sentence = "That find was handed in already, from another page. What you typed here is kept: it is in a new find, about the same."
    return _kept_in_another(request, draft.pk, draft.parts, asked, sentence)


def _thrown_away(request: HttpRequest, find: int, asked: Question) -> HttpResponse:
    """There is no such find of this person's, any more or ever: what was typed begins one about nothing yet."""
    if not any(text.strip() for text in texts_posted(asked, request.POST).values()):
        raise Http404
    sentence = "That find was thrown away, from another page. What you typed here is kept: it is in a new find, of something that fits nowhere yet."
    return _kept_in_another(request, find, [], asked, sentence)


def _kept_in_another(
    request: HttpRequest, find: int, parts: list[str], asked: Question, sentence: str
) -> HttpResponse:
    """The same text from the same old page begins one find, however often it is sent."""
    user, typed = asking(request), texts_posted(asked, request.POST)
    token = f"after-{user.pk}-{find}-{mark_of(typed)}"
    try:
        another = begin(user, parts, token=token)
    except Refused:  # the part has been struck out since
        another = begin(user, [], token=token)
    if not another.answers and not another.sent_at:
        answer(user, another.pk, asked.name, typed)
    messages.warning(request, sentence)
    return redirect("find-question", another.pk, asked.name)


def _answered(request: HttpRequest, draft: FindDraft, asked: Question) -> HttpResponse:
    """What is posted is kept before anything is said of it."""
    user, posted = asking(request), request.POST
    skip = storable(posted.get("skip", ""))
    typed = texts_posted(asked, posted)
    answers: dict[str, Any] = {"skip": skip, "aside": typed} if skip else typed
    try:
        draft = answer(user, draft.pk, asked.name, answers, was=posted.get("was"))
    except Stale as stale:
        return _page(request, draft, asked, answers, was=mark_of(stale.stored), stale=stale.stored)
    except Refused:
        return _too_late(request, draft, asked)
    faults = [] if skip else faults_in(asked, answers)
    if faults:
        return _page(request, draft, asked, answers, was=mark_of(answers), faults=faults)
    return redirect(_after(draft, asked.name))


def _evidence(request: HttpRequest, draft: FindDraft, asked: Question) -> HttpResponse:
    """Sources are added one after another; the mark that was read is one of them."""
    user, posted = asking(request), request.POST
    held = {name: value for name, value in draft.answers.get("evidence", {}).items() if name not in ("skip", "aside")}
    row = texts_posted(asked, posted)
    try:
        if (at := number_of(posted.get("remove", ""), most=4)) is not None:
            rows = list(held.get("rows", []))
            held["rows"] = [one for number, one in enumerate(rows) if number != at]
            draft = answer(user, draft.pk, "evidence", held)
            return redirect("find-question", draft.pk, "evidence")
        held["mark"] = "yes" if posted.get("mark") else "no"
        if skip := storable(posted.get("skip", "")):
            held |= {"skip": skip, "aside": row}
        draft = answer(user, draft.pk, "evidence", held)
        if row["source"].strip() and not skip:
            draft = add_evidence(user, draft.pk, row)
    except WrongAnswers as wrong:
        return _page(request, draft, asked, row, was="", faults=wrong.faults)
    except Refused:
        return _too_late(request, draft, asked)
    if posted.get("add"):
        return redirect("find-question", draft.pk, "evidence")
    return redirect(_after(draft, "evidence"))


def _pictures(request: HttpRequest, draft: FindDraft, asked: Question) -> HttpResponse:
    """The script sends one picture at a time; without it several come in one request, which holds nothing else."""
    user, posted = asking(request), request.POST
    kept = keep_sent(request) if has_pictures(request) else Kept()
    try:
        if sha256 := storable(posted.get("take_out", ""))[:64]:
            take_picture_out(user, draft.pk, sha256)
            return redirect("find-question", draft.pk, asked.name)
        if kept.pictures:
            draft = add_pictures(user, draft.pk, kept.pictures)
        elif not pictures_of(draft) and not kept.failed:
            draft = no_picture(user, draft.pk, storable(posted.get("skip", "")))
    except Refused as refused:
        if is_script(request):
            return told(kept, refused.faults[0].message)
        faults = [(asked.name, "photos", fault.message) for fault in refused.faults]
        return _page(request, draft, asked, {}, was="", faults=faults)
    if is_script(request):
        return told(kept)
    if kept.failed:
        faults = [(asked.name, "photos", f"{name}: {why}") for name, why in kept.failed]
        return _page(request, draft, asked, {}, was="", faults=faults)
    return redirect(_after(draft, asked.name))


ANSWERED = {EVIDENCE.name: _evidence, PICTURES.name: _pictures}
"""Questions that are more than fields."""


def _after(draft: FindDraft, step: str) -> str:
    """The next question that has no answer: who came back to change one thing is not led through the others again, and
    who opened a find again not even through those left empty at first."""
    names = [one.name for one in questions_for(draft)]
    left = [name for name in unanswered(draft) if name in names[names.index(step) + 1 :]]
    if draft.follows_id:
        left = [name for name in left if step == PICTURES.name]
    if not left:
        return reverse("find-check", args=[draft.pk])
    return reverse("find-question", args=[draft.pk, left[0]])


def _page(
    request: HttpRequest,
    draft: FindDraft,
    asked: Question,
    shown: dict[str, Any],
    *,
    was: str,
    faults: list[tuple[str, str, str]] | None = None,
    stale: dict[str, Any] | None = None,
    kept: bool = False,
) -> HttpResponse:
    step, names = asked.name, [one.name for one in questions_for(draft)]
    number = names.index(step) + 1
    fields = fields_for(asked, shown, faults or [])
    pictures = pictures_of(draft) if step in (PICTURES.name, CAPTIONS.name) else []
    context = {
        "draft": draft,
        "parts": parts_of(draft, asking(request)),
        "question": asked,
        "step": step,
        "number": number,
        "of": len(names),
        "steps": [place < number for place in range(len(names))],
        "back": reverse("find-question", args=[draft.pk, names[number - 2]])
        if number > 1
        else reverse("record"),
        "fields": fields,
        "faults": faults,
        "was": was,
        "question_asked": question_asked(draft),
        "stale": answer_words(asked, stale) if stale is not None else None,
        "typed": answer_words(asked, shown) if stale is not None else None,
        "kept": kept,
        "skipped": dict(asked.skips).get(shown.get("skip", ""), ""),
        "copy": bool(previous_answers(asking(request), draft, step)),
        "rows": evidence_rows(draft) if step == EVIDENCE.name else [],
        "marks": draft.answers.get("marks", {}).get("marks", ""),
        "mark_shows": draft.answers.get("evidence", {}).get("mark", "yes") == "yes",
        "pictures": pictures,
        "captions": list(zip(pictures, fields, strict=False)) if step == CAPTIONS.name else [],
        "photo_errors": [sentence for _, name, sentence in faults or () if name == "photos"],
        "most_bytes": MAX_BYTES,
    }
    status = 422 if faults else 409 if stale is not None else 200
    return render(request, "recording/question.html", context, status=status)
