"""The administrator's pages: who may sign in, in which role, and what was done to their accounts."""

from __future__ import annotations

import secrets
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from register.models import User
from register.policy import ROLES, may
from register.services.accounts import (
    LONGEST_NAME,
    AccountRefused,
    Link,
    account_log,
    accounts,
    change_account,
    deactivate,
    invite,
    new_link,
    reactivate,
    role_of,
)
from register.web.asking import asking, token_of

PAGE = 50
CHOICES = tuple((role, role.capitalize()) for role in ROLES)
LINK = "account-link"
"""In the administrator's session, from making a link until it has been shown once."""


class AccountForm(forms.Form):
    name = forms.CharField(max_length=LONGEST_NAME, help_text="as colleagues know him or her", widget=forms.TextInput(attrs={"autocomplete": "off"}))
    role = forms.ChoiceField(choices=CHOICES)
    person = forms.CharField(
        label="Person in the register",
        required=False,
        max_length=40,
        help_text="the id, if the holder is named in the register too: so he or she reads the own name. May stay empty",
    )


class InviteForm(AccountForm):
    username = forms.CharField(
        required=False, max_length=150, help_text="what is typed to sign in; made from the name where it stays empty"
    )
    field_order = ("name", "username", "role", "person")


def account_list(request: HttpRequest) -> HttpResponse:
    _ask(request)
    page = Paginator(accounts(), PAGE).get_page(request.GET.get("page"))
    entries = [{"account": one, "role": role_of(one), "state": _state(one)} for one in page]
    return render(request, "accounts/accounts.html", {"page": page, "entries": entries})


def new_account(request: HttpRequest) -> HttpResponse:
    """Invite somebody. The link is shown once, on the page of the account."""
    _ask(request)
    form = InviteForm(request.POST or None) if request.method == "POST" else InviteForm(initial={"role": ROLES[0]})
    if request.method == "POST" and form.is_valid():
        try:
            user, link = invite(
                **form.cleaned_data, by=asking(request), token=token_of(request)
            )
        except AccountRefused as refused:
            _refuse(form, refused)
        else:
            return _with_link(request, user, link, f"{user} is invited.")
    return _form_page(request, form, "Invite somebody", {"submit": "Make the account and its link"})


def account(request: HttpRequest, number: int) -> HttpResponse:
    """One account: its role, what may be done to it, what was done."""
    _ask(request)
    user = accounts().filter(pk=number).first()
    if user is None:
        raise Http404
    form = AccountForm({"name": str(user), "role": role_of(user), "person": user.person.code if user.person else ""})
    refusal, status = "", 200
    if request.method == "POST":
        try:
            answer = _done(request, user)
        except AccountRefused as refused:
            refusal, status = str(refused), 422
        else:
            if answer is not None:
                return answer
            form, status = AccountForm(request.POST), 422
    link = request.session.pop(LINK, None) if request.method == "GET" else None
    context = {
        "account": user,
        "role": role_of(user),
        "state": _state(user),
        "form": form if status == 422 and not refusal else None,
        "change_form": form,
        "refusal": refusal,
        "has_errors": status == 422,
        "link": link if link and link["account"] == user.pk else None,
        "log": account_log(user)[:PAGE],
        "is_oneself": user.pk == asking(request).pk,
        "crumbs": [("Accounts", reverse("accounts")), (str(user), "")],
    }
    return render(request, "accounts/account.html", context, status=status)


def _done(request: HttpRequest, user: User) -> HttpResponse | None:
    """Does what the button says. None where the form was not filled in well. Raises AccountRefused."""
    by, wanted = asking(request), request.POST.get("do", "")
    if wanted == "link":
        return _with_link(request, user, new_link(user, by=by), "A new link is made; the earlier ones are void.")
    if wanted == "reactivate":
        return _with_link(request, user, reactivate(user, by=by), f"{user} may sign in again, after choosing a password.")
    if wanted == "deactivate":
        deactivate(user, by=by, reason=request.POST.get("reason", ""))
        messages.success(request, f"{user} cannot sign in any more. What {user} recorded stays.")
    elif wanted == "change":
        form = AccountForm(request.POST)
        if not form.is_valid():
            return None
        change_account(user, **form.cleaned_data, by=by)
        messages.success(request, "Recorded.")
    else:
        raise AccountRefused("Nothing was asked for: use one of the buttons.")
    return redirect("account", number=user.pk)


def account_changes(request: HttpRequest) -> HttpResponse:
    _ask(request)
    page = Paginator(account_log(), PAGE).get_page(request.GET.get("page"))
    crumbs = [("Accounts", reverse("accounts")), ("Log", "")]
    return render(request, "accounts/log.html", {"page": page, "crumbs": crumbs})


def _ask(request: HttpRequest) -> None:
    if not may(request.user, "look after accounts"):
        raise PermissionDenied("Accounts are for the administrator.")


def _state(user: User) -> str:
    if not user.is_active:
        return "deactivated"
    return "active" if user.has_usable_password() else "invited, no password yet"


def _with_link(request: HttpRequest, user: User, link: Link, sentence: str) -> HttpResponse:
    request.session[LINK] = {"account": user.pk, "address": link.address, "until": link.until.isoformat()}
    messages.success(request, sentence)
    return redirect("account", number=user.pk)


def _refuse(form: forms.Form, refused: AccountRefused) -> None:
    form.add_error(refused.field if refused.field in form.fields else None, str(refused))


def _form_page(request: HttpRequest, form: forms.Form, heading: str, more: dict[str, Any]) -> HttpResponse:
    context = {
        "form": form,
        "heading": heading,
        "token": request.POST.get("token") or secrets.token_urlsafe(24),
        "cancel_url": reverse("accounts"),
        "crumbs": [("Accounts", reverse("accounts")), (heading, "")],
    }
    return render(request, "accounts/form.html", context | more, status=422 if form.errors else 200)
