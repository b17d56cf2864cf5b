"""Choosing a password by the one-time link; signing in and out are Django's own views."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import (
    LoginView,
    LogoutView,
    PasswordChangeDoneView,
    PasswordChangeView,
    PasswordResetConfirmView,
)
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse, reverse_lazy
from django.utils.decorators import method_decorator
from django.views.decorators.http import require_POST

from register.services.accounts import link_tokens, password_chosen
from register.services.demo import DEMO_PEOPLE, demo_user


class SignIn(LoginView):
    """Signing in; a demo server also offers each role."""

    redirect_authenticated_user = True

    def get_context_data(self, **context: Any) -> dict[str, Any]:
        found = super().get_context_data(**context)
        if settings.DEMO:
            found |= {
                "demo_people": [(who, f"{name}, {who}") for who, (_, _, name) in DEMO_PEOPLE.items()],
                "demo_url": reverse("demo-sign-in"),
            }
        return found


@login_not_required
@require_POST
def demo_sign_in(request: HttpRequest) -> HttpResponse:
    """Sign in as one of the demo's people; there is no such page outside a demo."""
    user = demo_user(request.POST.get("role", ""))
    if user is None:
        raise Http404
    login(request, user, backend="register.web.backends.RoleBackend")
    return redirect("fleet")


class SignOut(LogoutView):
    http_method_names = ["post", "options"]


class ChangePassword(PasswordChangeView):
    success_url = reverse_lazy("password-changed")

    def form_valid(self, form: Any) -> HttpResponse:
        answer = super().form_valid(form)
        password_chosen(form.user, how="changed")
        return answer


class PasswordChanged(PasswordChangeDoneView):
    pass


@method_decorator(login_not_required, name="dispatch")
class ChoosePassword(PasswordResetConfirmView):
    """The link works once: using it changes what it was made from."""

    token_generator = link_tokens
    template_name = "registration/choose_password.html"
    success_url = reverse_lazy("sign-in")

    def form_valid(self, form: Any) -> HttpResponse:
        answer = super().form_valid(form)
        password_chosen(form.user, how="by a link")
        return answer
