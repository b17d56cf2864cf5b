"""The pictures of a find: each is kept in the draft as it arrives, after everything that was written."""

from __future__ import annotations

from collections.abc import Sequence

from django.db import transaction

from register.exchange.faults import Fault, Refused
from register.models import FindDraft, User
from register.services.change_sets import lock
from register.services.find_questions import PICTURES, pictures_of
from register.services.finds import answer, find_of
from register.services.kept_pictures import Picture, joined, without

MOST = 20
"""Pictures of one find."""


def add_pictures(user: User, key: int, pictures: Sequence[Picture]) -> FindDraft:
    """Raises NoFind; Refused where they would be too many, or the find was handed in meanwhile."""
    with transaction.atomic():
        lock()
        held = joined(pictures_of(find_of(user, key)), pictures)
        if len(held) > MOST:
            sentence = f"A find has at most {MOST} pictures. Hand this one in, and begin another."
            raise Refused([Fault("", None, "photos", "", sentence)])
        return answer(user, key, PICTURES.name, {"rows": held})


def take_picture_out(user: User, key: int, sha256: str) -> FindDraft:
    """Raises NoFind, Refused."""
    with transaction.atomic():
        lock()
        return answer(user, key, PICTURES.name, {"rows": without(pictures_of(find_of(user, key)), sha256)})


def no_picture(user: User, key: int, skip: str) -> FindDraft:
    """Nothing is taken out by it. Raises NoFind, Refused."""
    with transaction.atomic():
        lock()
        held = dict(find_of(user, key).answers.get(PICTURES.name, {}))
        return answer(user, key, PICTURES.name, held | {"skip": skip})
