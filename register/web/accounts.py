"""Choosing a password by the one-time link; signing in and out are Django's own views."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, LogoutView, PasswordChangeDoneView, PasswordChangeView, PasswordResetConfirmView
from django.urls import reverse_lazy
from django.utils.decorators import method_decorator


class SignIn(LoginView):
    """Signing in; a demo server also offers each role."""

    redirect_authenticated_user = True


class SignOut(LogoutView):
    http_method_names = ["post", "options"]


class ChangePassword(PasswordChangeView):
    success_url = reverse_lazy("password-changed")


class PasswordChanged(PasswordChangeDoneView):
    pass


@method_decorator(login_not_required, name="dispatch")
class ChoosePassword(PasswordResetConfirmView):
    """The link works once: using it changes what it was made from."""

    template_name = "registration/choose_password.html"
    success_url = reverse_lazy("sign-in")
