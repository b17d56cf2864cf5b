"""Accounts: invited by a link, deactivated and never deleted, each change in a log; signing in slowed for whoever guesses,
and for nobody else."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from axes.models import AccessAttempt
from builders import change
from django.db import DatabaseError, transaction
from django.test import Client
from django.utils import timezone

from register.models import AccountChange, User
from register.services.accounts import (
    AccountRefused,
    change_account,
    deactivate,
    invite,
    link_of,
    link_tokens,
    reactivate,
)
from register.services.change_sets import apply
from register.web.security import client_address

pytestmark = pytest.mark.django_db
PHRASE, ANOTHER = "a long pass phrase 7", "quite another phrase 8"


@pytest.fixture(autouse=True)
def quick_passwords(settings):
    """A hash made to be slow is slow in every test too."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def admin(sign_in):
    return sign_in("administrator")


def path_of(address):
    return "/" + address.split("/", 3)[3]


def link_shown(answer):
    return re.search(r'id="f-link" value="([^"]+)"', answer.content.decode())[1]


def choose(link, phrase=PHRASE):
    """A new browser opens the link and chooses a password. The page after, or None where the link does not work."""
    browser = Client()
    page = browser.get(path_of(link), follow=True)
    if b"new_password1" not in page.content:
        return None
    return browser.post(page.redirect_chain[-1][0], {"new_password1": phrase, "new_password2": phrase})


def signed_in(username, phrase=PHRASE, **meta):
    """A browser after trying to sign in, and whether it is in."""
    browser = Client(**meta)
    browser.post("/sign-in/", {"username": username, "password": phrase})
    return browser, browser.get("/").status_code == 200


def somebody(name="Ada Bell", role="recorder", phrase=PHRASE):
    user, _ = invite(name=name, role=role, by=None)
    user.set_password(phrase)
    user.save()
    return user


# Invited


def test_an_administrator_invites_somebody_who_chooses_a_password_and_is_in(admin):
    page = admin.get("/accounts/new/")
    made = admin.post("/accounts/new/", {"name": "Ada  Bell", "username": "ada", "role": "engineer", "token": page.context["token"]}, follow=True)
    link = link_shown(made)
    assert "works once" in made.content.decode() and "invited, no password yet" in made.content.decode()
    assert not signed_in("ada")[1]
    assert choose(link).status_code == 302
    browser, is_in = signed_in("ada")
    assert is_in and browser.get("/vehicles/nobody/").status_code == 404 and browser.get("/import/").status_code == 403
    assert choose(link, ANOTHER) is None and not signed_in("ada", ANOTHER)[1], "the link works once"
    assert [one.kind for one in AccountChange.objects.order_by("pk")] == ["invited", "password chosen"]


def test_the_link_is_shown_once_and_on_no_other_page(admin):
    made = admin.post("/accounts/new/", {"name": "Ada Bell", "role": "recorder", "token": "t"}, follow=True)
    address = made.redirect_chain[-1][0]
    assert "choose-password" in made.content.decode()
    for later in (address, "/accounts/", "/accounts/log/"):
        assert "choose-password" not in admin.get(later).content.decode()


def test_a_double_tap_makes_one_account(admin):
    for _ in range(2):
        answer = admin.post("/accounts/new/", {"name": "Ada Bell", "username": "ada", "role": "recorder", "token": "same"})
        assert answer.status_code == 302
    assert User.objects.filter(last_name="Ada Bell").count() == 1


def test_a_link_that_is_too_old_does_not_work(settings):
    user, link = invite(name="Ada Bell", role="recorder", by=None)
    later = type(link_tokens)()
    later._now = lambda: link_tokens._now() + timedelta(days=3, minutes=1)
    token = link.address.rstrip("/").rsplit("/", 1)[1]
    assert link_tokens.check_token(user, token) and not later.check_token(user, token)


FAULTY = [({"name": ""}, "name"), ({"name": "x" * 101}, "name"), ({"name": "a\x00b"}, "name"), ({"name": "a\u202eb"}, "name"), ({"role": "king"}, "role"), ({"role": ""}, "role"), ({"username": "a b"}, "username"),
          ({"username": "<script>"}, "username"), ({"username": "x" * 10_000}, "username"), ({"username": "A-Administrator"}, "username"), ({"person": "nobody"}, "person")]  # fmt: skip


@pytest.mark.parametrize(("typed", "field"), FAULTY, ids=lambda one: str(one)[:30])
def test_what_is_wrong_is_said_at_its_field_and_nothing_is_made(typed, field, admin):
    before = User.objects.count()
    answer = admin.post("/accounts/new/", {"name": "Ada Bell", "role": "recorder", **typed})
    text = answer.content.decode()
    assert answer.status_code == 422 and f'href="#f-{field}"' in text and "<title>Error:" in text
    assert User.objects.count() == before and "<script>" not in text.split("<main")[1]


def test_two_of_one_name_get_usernames_of_their_own():
    names = [invite(name=name, role="recorder", by=None)[0].username for name in ("Ada Bell", "ada bell", "字")]
    assert names == ["ada.bell", "ada.bell2", "person"]


# Looked after


def test_a_forgotten_password_gets_a_new_link_and_the_earlier_ones_die(admin):
    user = somebody()
    earlier = link_of(user).address
    page = admin.post(f"/accounts/{user.pk}/", {"do": "link"}, follow=True)
    assert choose(earlier) is None
    assert choose(link_shown(page), ANOTHER).status_code == 302
    assert signed_in(user.username, ANOTHER)[1] and not signed_in(user.username)[1]


def test_the_old_password_holds_until_another_is_chosen_and_signing_in_with_it_ends_the_link(admin):
    user = somebody()
    page = admin.post(f"/accounts/{user.pk}/", {"do": "link"}, follow=True)
    assert signed_in(user.username)[1]
    assert choose(link_shown(page), ANOTHER) is None


def test_deactivated_the_sessions_the_links_and_the_password_end_at_once_and_stay_ended(admin):
    user = somebody()
    browser, is_in = signed_in(user.username)
    link = link_of(user).address
    assert is_in
    admin.post(f"/accounts/{user.pk}/", {"do": "deactivate", "reason": "left the railway"})
    assert browser.get("/").status_code == 302 and choose(link) is None and not signed_in(user.username)[1]
    page = admin.post(f"/accounts/{user.pk}/", {"do": "reactivate"}, follow=True)
    assert browser.get("/").status_code == 302, "an old session does not come back to life"
    assert not signed_in(user.username)[1]
    assert choose(link_shown(page), ANOTHER) is not None and signed_in(user.username, ANOTHER)[1]
    log = admin.get("/accounts/log/").content.decode()
    for said in ("deactivated", "left the railway", "reactivated", "A administrator"):
        assert said in log, said


def test_a_role_taken_away_is_gone_at_the_next_request(admin):
    user = somebody(role="officer")
    browser, _ = signed_in(user.username)
    assert browser.get("/new/parts/").status_code == 200
    admin.post(f"/accounts/{user.pk}/", {"do": "change", "name": "Ada Bell", "role": "recorder"})
    assert browser.get("/new/parts/").status_code == 403
    assert "role from officer to recorder" in admin.get(f"/accounts/{user.pk}/").content.decode()


def test_an_account_may_say_which_person_of_the_register_it_is(admin):
    apply([change("people", person_id="AB", name="Ada Bell")], kind="test")
    user = somebody()
    admin.post(f"/accounts/{user.pk}/", {"do": "change", "name": "Ada Bell", "role": "recorder", "person": "ab"})
    assert User.objects.get(pk=user.pk).person_id == "ab"
    text = admin.get("/accounts/").content.decode()
    assert "Accounts" in text and "/people/" in text


def test_the_last_administrator_stays(sign_in):
    first = somebody("One", "administrator")
    with pytest.raises(AccountRefused, match="last active administrator"):
        deactivate(first, by=None)
    with pytest.raises(AccountRefused, match="last active administrator"):
        change_account(first, name="One", role="recorder", person="", by=None)
    second = somebody("Two", "administrator")
    deactivate(first, by=second)
    with pytest.raises(AccountRefused, match="last active administrator"):
        deactivate(second, by=None)
    reactivate(first, by=second)
    assert deactivate(second, by=first).is_active is False


@pytest.mark.parametrize("what", [{"do": "deactivate"}, {"do": "change", "name": "Me", "role": "recorder"}])
def test_nobody_locks_himself_out(what, admin):
    somebody("Two", "administrator")
    oneself = User.objects.get(username="a-administrator")
    answer = admin.post(f"/accounts/{oneself.pk}/", what)
    assert answer.status_code == 422 and "ask another administrator" in answer.content.decode()
    assert admin.get("/accounts/").status_code == 200


@pytest.mark.parametrize("what", [{}, {"do": "delete"}, {"do": "change", "name": ""}, {"do": "reactivate"}, {"do": "link\x00"}])
def test_a_stale_or_odd_form_is_answered_in_words(what, admin):
    user = somebody()
    answer = admin.post(f"/accounts/{user.pk}/", what)
    assert answer.status_code == 422 and "<title>Error:" in answer.content.decode()
    assert User.objects.get(pk=user.pk).is_active


def test_deactivating_twice_is_deactivating_once(admin):
    user = somebody()
    for _ in range(2):
        assert admin.post(f"/accounts/{user.pk}/", {"do": "deactivate"}).status_code == 302
    assert AccountChange.objects.filter(kind="deactivated").count() == 1
    assert admin.post(f"/accounts/{user.pk}/", {"do": "link"}).status_code == 422


def test_the_log_only_grows():
    somebody()
    for attempt in (lambda: AccountChange.objects.update(kind="nothing"), lambda: AccountChange.objects.all()._raw_delete("default")):
        with pytest.raises(DatabaseError), transaction.atomic():
            attempt()


def test_the_admin_site_changes_no_account_and_shows_no_password(admin):
    user = somebody()
    assert admin.get(f"/admin/register/user/{user.pk}/change/").status_code == 200
    assert "md5$" not in admin.get(f"/admin/register/user/{user.pk}/change/").content.decode()
    assert admin.post(f"/admin/register/user/{user.pk}/change/", {"username": "x"}).status_code == 403
    assert admin.get(f"/admin/register/user/{user.pk}/password/").status_code in (302, 403, 404)
    assert admin.get("/admin/auth/group/add/").status_code == 403
    assert admin.get("/admin/password_change/").url == "/password/"


@pytest.mark.parametrize("role", ["recorder", "engineer", "officer"])
def test_accounts_are_the_administrator_s(role, sign_in):
    user = somebody()
    client = sign_in(role)
    for address in ("/accounts/", "/accounts/new/", "/accounts/log/", f"/accounts/{user.pk}/", "/accounts/999/"):
        assert client.get(address).status_code == 403 and client.post(address, {"do": "deactivate"}).status_code == 403
    assert User.objects.get(pk=user.pk).is_active and "/accounts/" not in client.get("/").content.decode()


# Signing in, slowed


@pytest.fixture
def throttled(settings):
    settings.AXES_ENABLED = True


def guess(username, times, **meta):
    return [Client(**meta).post("/sign-in/", {"username": username, "password": f"wrong {at}"}).status_code for at in range(times)]


def test_twenty_wrong_tries_for_one_name_keep_nobody_else_at_that_address_out(throttled):
    """One proxy, or one workshop: everybody comes from the same address."""
    ada, ben = somebody("Ada"), somebody("Ben")
    answers = guess(ada.username, 20, REMOTE_ADDR="10.0.0.1")
    assert answers[:7] == [200] * 7 and set(answers[8:]) == {429}
    assert not signed_in(ada.username, REMOTE_ADDR="10.0.0.1")[1], "not even with the right password, for a while"
    assert signed_in(ben.username, REMOTE_ADDR="10.0.0.1")[1]
    assert signed_in(ada.username, REMOTE_ADDR="10.0.0.2")[1], "from elsewhere the right person gets in"


def test_after_a_quarter_of_an_hour_the_right_person_gets_in_though_somebody_kept_trying(throttled):
    ada = somebody("Ada")
    guess(ada.username, 20, REMOTE_ADDR="10.0.0.1")
    AccessAttempt.objects.update(attempt_time=timezone.now() - timedelta(minutes=14))
    assert set(guess(ada.username, 3, REMOTE_ADDR="10.0.0.1")) == {429}, "and these do not begin the quarter again"
    AccessAttempt.objects.update(attempt_time=timezone.now() - timedelta(minutes=16))
    assert signed_in(ada.username, REMOTE_ADDR="10.0.0.1")[1]


HEADERS = ["HTTP_X_FORWARDED_FOR", "HTTP_X_REAL_IP", "HTTP_FORWARDED", "HTTP_CLIENT_IP", "HTTP_X_CLIENT_IP", "HTTP_TRUE_CLIENT_IP", "HTTP_USER_AGENT"]


def test_no_header_of_the_browser_s_own_gets_around_it(throttled):
    ada = somebody("Ada")
    guess(ada.username, 8, REMOTE_ADDR="10.0.0.1")
    for at, header in enumerate(HEADERS):
        meta = {"REMOTE_ADDR": "10.0.0.1", header: f"192.0.2.{at}"}
        assert guess(ada.username, 1, **meta) == [429], header
    assert len(set(AccessAttempt.objects.values_list("ip_address", flat=True))) == 1


def test_behind_a_proxy_only_the_proxy_s_own_word_counts(throttled, settings):
    """The proxy adds the address that it saw at the end of X-Forwarded-For; what stands before it the browser wrote."""
    settings.BEHIND_PROXY = True
    ada = somebody("Ada")
    for at in range(8):
        guess(ada.username, 1, REMOTE_ADDR="127.0.0.1", HTTP_X_FORWARDED_FOR=f"192.0.2.{at}, 198.51.100.7")
    assert guess(ada.username, 1, REMOTE_ADDR="127.0.0.1", HTTP_X_FORWARDED_FOR="203.0.113.9, 198.51.100.7") == [429]
    assert signed_in(ada.username, REMOTE_ADDR="127.0.0.1", HTTP_X_FORWARDED_FOR="198.51.100.8")[1]


@pytest.mark.parametrize(("meta", "address"), [({"REMOTE_ADDR": "10.0.0.1"}, "10.0.0.1"), ({"REMOTE_ADDR": ""}, None), ({"REMOTE_ADDR": "unix:"}, None), ({"REMOTE_ADDR": "::1", "HTTP_X_FORWARDED_FOR": "x"}, "::1")])
def test_an_address_is_an_address_or_not_known(meta, address, rf):
    assert client_address(rf.get("/", **meta)) == address


def test_the_same_name_written_otherwise_is_the_same_name(throttled):
    """Django reads a username in its compatibility form (NFKC, Unicode Standard Annex 15)."""
    ada = somebody("Ada")
    wide = "".join(chr(ord(letter) + 0xFEE0) for letter in ada.username)
    guess(ada.username, 7, REMOTE_ADDR="10.0.0.1")
    guess(wide, 1, REMOTE_ADDR="10.0.0.1")
    assert guess(ada.username, 1, REMOTE_ADDR="10.0.0.1") == [429]


def test_somebody_without_a_role_reads_nothing(client, django_user_model):
    user = django_user_model.objects.create(username="none")
    client.force_login(user, backend="register.web.backends.RoleBackend")
    assert client.get("/accounts/").status_code == 403
