"""The demo's people: one for each role, and a second officer, who sign in from a list on the sign-in page of a demo server."""

from __future__ import annotations

from django.conf import settings
from django.contrib.auth.models import Group

from register.models import Person, User
from register.policy import ADMINISTRATOR, ENGINEER, OFFICER, RECORDER

SECOND_OFFICER = "second officer"
DEMO_PEOPLE = {
    RECORDER: (RECORDER, "ra", "Ruth Ashdown"),
    ENGINEER: (ENGINEER, "do", "Daniel Okoro"),
    OFFICER: (OFFICER, "mt", "Margaret Thorley"),
    SECOND_OFFICER: (OFFICER, "jp", "John Penhale"),
    ADMINISTRATOR: (ADMINISTRATOR, "lo", "Lewis Orchard"),
}
"""By what the sign-in page calls them: role, id among the people, name."""


def make_demo_people() -> None:
    """Users in every role. Only in a demo: they have no password, and the demo's sign-in page lets anybody be them."""
    if not settings.DEMO:
        raise RuntimeError("Demo people are for the demo alone.")
    for who, (role, key, name) in DEMO_PEOPLE.items():
        group, _ = Group.objects.get_or_create(name=role)
        user, made = User.objects.get_or_create(
            username=f"demo-{who.replace(' ', '-')}",
            defaults={
                "last_name": name,
                "is_staff": role == ADMINISTRATOR,
                "is_superuser": role == ADMINISTRATOR,
                "person": Person.objects.filter(key=key).first(),
            },
        )
        if made:
            user.set_unusable_password()
            user.save()
            user.groups.add(group)


def demo_user(who: str) -> User | None:
    """The demo's user in a role, or its second officer; None outside a demo."""
    if not settings.DEMO or who not in DEMO_PEOPLE:
        return None
    return User.objects.filter(username=f"demo-{who.replace(' ', '-')}", is_active=True).first()
