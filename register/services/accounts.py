"""Accounts: who may sign in, in which role. Persons named in the register are another thing (``Person``); an account
may say which of them its holder is.

An administrator makes an account and hands on a link by which its holder chooses a password; no password is ever sent.
An account is deactivated, never deleted, since history points to it. Every change of an account is in a log that only
grows.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth.models import Group
from django.contrib.auth.tokens import PasswordResetTokenGenerator
from django.db import connection, transaction
from django.db.models import QuerySet
from django.urls import reverse
from django.utils import timezone
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from register.exchange.values import key_of
from register.models import AccountChange, Person, User
from register.policy import ADMINISTRATOR, ROLES

LONGEST_NAME = 100
LONGEST_USERNAME = 60


class AccountRefused(ValueError):
    """What cannot be done to an account, in a sentence. field: of the form, "" where it is none of them."""

    def __init__(self, sentence: str, field: str = "") -> None:
        super().__init__(sentence)
        self.field = field


class LinkTokens(PasswordResetTokenGenerator):
    """A link dies when it is used, when its holder signs in all the same, when a newer one is made, when the account is
    deactivated, and after its time."""

    key_salt = "register.services.accounts.LinkTokens"

    def _make_hash_value(self, user: User, timestamp: int) -> str:
        return f"{super()._make_hash_value(user, timestamp)}{user.link_no}{user.is_active}"


link_tokens = LinkTokens()


@dataclass(frozen=True, slots=True)
class Link:
    """The address by which a password is chosen, once, and until when."""

    address: str
    until: datetime


def invite(
    *, name: str, role: str, username: str = "", person: str = "", by: User | None, token: str | None = None
) -> tuple[User, Link]:
    """A new account in a role, and its link. username: made from the name where it is "". by: None at the command line.
    A form sent twice (the same ``token``) makes one account. Raises AccountRefused."""
    name, role = _name(name), _role(role)
    with transaction.atomic():
        _one_at_a_time()
        done = AccountChange.objects.filter(token=token).select_related("account").first() if token else None
        if done is not None:
            return done.account, link_of(done.account)
        user = User(username=_username(username, name), last_name=name, person=_person(person))
        user.set_unusable_password()
        user.save()
        _put_in(user, role)
        _log(user, by, "invited", f"as {role}, to sign in as {user.username}", token)
    return user, link_of(user)


def new_link(account: User, *, by: User | None) -> Link:
    """A link for a forgotten password, or instead of one that ran out; every earlier link of the account dies. The
    password holds until another is chosen."""
    with transaction.atomic():
        user = _again(account)
        if not user.is_active:
            raise AccountRefused("This account is deactivated: reactivate it, which makes a link too.")
        user.link_no += 1
        user.save(update_fields=["link_no"])
        _log(user, by, "link made")
    return link_of(user)


def deactivate(account: User, *, by: User | None, reason: str = "") -> User:
    """Nobody signs in with it any more; its sessions, its links and its password end at once. Raises
    AccountRefused."""
    with transaction.atomic():
        user = _again(account)
        _not_oneself(user, by, "deactivate")
        _not_the_last(user)
        if user.is_active:
            user.is_active = False
            user.link_no += 1
            user.set_unusable_password()  # sessions are made from it, and would come back to life with the account
            user.save(update_fields=["is_active", "link_no", "password"])
            _log(user, by, "deactivated", reason.strip()[:500])
    return user


def reactivate(account: User, *, by: User | None) -> Link:
    """The account may be used again, after a password has been chosen by the link."""
    with transaction.atomic():
        user = _again(account)
        if user.is_active:
            raise AccountRefused("This account is active already.")
        user.is_active = True
        user.link_no += 1
        user.save(update_fields=["is_active", "link_no"])
        _log(user, by, "reactivated")
    return link_of(user)


def change_account(account: User, *, name: str, role: str, person: str, by: User | None) -> User:
    """Name, role and who of the register it is; what is the same is not logged. Raises AccountRefused."""
    name, role = _name(name), _role(role)
    with transaction.atomic():
        user = _again(account)
        before = (user.last_name, role_of(user), user.person_id or "")
        if role != before[1]:
            _not_oneself(user, by, "change the role of")
            if before[1] == ADMINISTRATOR:
                _not_the_last(user)
        who = _person(person)
        user.last_name, user.first_name, user.person = name, "", who
        user.save(update_fields=["last_name", "first_name", "person"])
        if role != before[1]:
            _put_in(user, role)
        after = (name, role, who.key if who else "")
        told = [
            f"{what} from {old or 'none'} to {new or 'none'}"
            for what, old, new in zip(("name", "role", "person"), before, after, strict=True)
            if old != new
        ]
        if told:
            _log(user, by, "changed", "; ".join(told))
    return user


def password_chosen(user: User, *, how: str) -> None:
    """To be told when a holder has chosen a password. how: by link, or changed."""
    _log(user, user, "password chosen", how)


def accounts() -> QuerySet[User]:
    """Every account, the active ones first, with its roles and its person."""
    return User.objects.select_related("person").prefetch_related("groups").order_by("-is_active", "last_name", "pk")


def account_log(account: User | None = None) -> QuerySet[AccountChange]:
    """What was done to accounts, the latest first."""
    entries = AccountChange.objects.select_related("account", "by").order_by("-pk")
    return entries.filter(account=account) if account else entries


def role_of(user: User) -> str:
    """The role of an account, "" where it has none; of several the one that may most."""
    names = {group.name for group in user.groups.all()}
    return next((role for role in reversed(ROLES) if role in names), "")


def link_of(user: User, *, at: datetime | None = None) -> Link:
    """The link that works now. at: when it is made; now where it is not told."""
    path = reverse(
        "choose-password", args=[urlsafe_base64_encode(force_bytes(user.pk)), link_tokens.make_token(user)]
    )
    until = (at or timezone.now()) + timedelta(seconds=settings.PASSWORD_RESET_TIMEOUT)
    return Link(f"{settings.PUBLIC_BASE_URL or 'http://127.0.0.1:8000'}{path}", until)


# What an account may be


def _name(text: str) -> str:
    name = " ".join(text.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise AccountRefused(f"A name of 1 to {LONGEST_NAME} letters is needed.", "name")
    return name


def _role(text: str) -> str:
    role = text.strip().casefold()
    if role not in ROLES:
        raise AccountRefused(f'"{role[:40]}" is not a role; choose one of {", ".join(ROLES)}.', "role")
    return role


def _person(text: str) -> Person | None:
    typed = " ".join(text.split())
    if not typed:
        return None
    found = Person.objects.filter(key=key_of(typed)).first() if typed.isprintable() else None
    if found is None:
        raise AccountRefused(f'There is no person "{typed[:40]}" in the register: give an id from the page of persons.', "person")
    return found


def _username(typed: str, name: str) -> str:
    """As typed, if it is free whatever its capitals; else one made from the name."""
    wanted = unicodedata.normalize("NFKC", typed).strip()
    if not wanted:
        return _free_username(name)
    if len(wanted) > LONGEST_USERNAME or not re.fullmatch(r"[\w.@+-]+", wanted):
        raise AccountRefused(
            f"A username has at most {LONGEST_USERNAME} letters, digits and . @ + - _, and no spaces.", "username"
        )
    if User.objects.filter(username__iexact=wanted).exists():
        raise AccountRefused(f'Somebody signs in as "{wanted}" already: choose another username.', "username")
    return wanted


def _free_username(name: str) -> str:
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", ".", plain).strip(".")[:40] or "person"
    names = {one.lower() for one in User.objects.filter(username__istartswith=stem).values_list("username", flat=True)}
    return next(
        one for number in range(1, 10_000) if (one := stem if number == 1 else f"{stem}{number}") not in names
    )


# How it is written


def _put_in(user: User, role: str) -> None:
    """In this role and no other. The administrator also reads the tables behind the pages."""
    group, _ = Group.objects.get_or_create(name=role)
    user.groups.set([group])
    user.is_staff = user.is_superuser = role == ADMINISTRATOR
    user.save(update_fields=["is_staff", "is_superuser"])


def _again(account: User) -> User:
    """The account as it is now, held until the transaction ends."""
    _one_at_a_time()
    return User.objects.get(pk=account.pk)


def _one_at_a_time() -> None:
    """Two administrators who deactivate each other at the same moment wait for one another. SQLite does so anyway."""
    if connection.features.has_select_for_update:
        list(User.objects.select_for_update().filter(groups__name=ADMINISTRATOR).order_by("pk").values_list("pk"))


def _not_oneself(user: User, by: User | None, what: str) -> None:
    if by is not None and by.pk == user.pk:
        raise AccountRefused(f"You cannot {what} your own account: ask another administrator.")


def _not_the_last(user: User) -> None:
    administrators = User.objects.filter(is_active=True, groups__name=ADMINISTRATOR)
    if administrators.filter(pk=user.pk).exists() and not administrators.exclude(pk=user.pk).exists():
        raise AccountRefused("This is the last active administrator: make another one first.")


def _log(
    user: User, by: User | None, kind: str, detail: str = "", token: str | None = None, *, at: datetime | None = None
) -> None:
    AccountChange.objects.create(
        at=at or timezone.now(), by=by, account=user, kind=kind, detail=detail, token=token or None
    )
