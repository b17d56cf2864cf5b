"""A lot of pictures on its way into the register: the pictures as they arrive, one by one or together, and what is written
of all of them, each kept on the server at once; recorded together in one act when their sender says so.

A lot is its sender's alone and no part of the register: one for each thing that the pictures are of.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from register.exchange.faults import Fault, Refused
from register.models import PictureLot, User
from register.services.change_sets import lock
from register.services.kept_pictures import Picture, joined, without
from register.services.photograph_records import CAMERA_DATE, Added, read_texts, record_photographs
from register.services.picture_matching import Owner

MOST = 400
"""Pictures in one lot."""
AT_FIRST = {"access": "restricted", CAMERA_DATE: "yes"}


def lot_of(user: User, owner: Owner | None) -> PictureLot:
    """The person's lot of pictures of this; a new one, not stored yet, where there is none."""
    of = f"{owner.table}:{owner.key}" if owner else ""
    found = PictureLot.objects.filter(author=user, of=of).first()
    return found or PictureLot(author=user, of=of, texts=dict(AT_FIRST))


def add_to_lot(user: User, owner: Owner | None, pictures: Sequence[Picture]) -> PictureLot:
    """Raises Refused where they would be too many."""
    with transaction.atomic():
        lock()
        lot = lot_of(user, owner)
        held = joined(lot.pictures, pictures)
        if len(held) > MOST:
            sentence = f"One lot holds at most {MOST} pictures. Record those that are here first."
            raise Refused([Fault("", None, "photos", "", sentence)])
        return _kept(lot, pictures=held)


def take_out(user: User, owner: Owner | None, sha256: str) -> PictureLot:
    with transaction.atomic():
        lock()
        lot = lot_of(user, owner)
        return _kept(lot, pictures=without(lot.pictures, sha256))


def write_of_lot(user: User, owner: Owner | None, texts: Mapping[str, str]) -> PictureLot:
    """What is to be written of every picture of the lot. Raises Refused with what cannot be read."""
    read_texts(texts)
    with transaction.atomic():
        lock()
        return _kept(lot_of(user, owner), texts=dict(texts))


def _kept(
    lot: PictureLot,
    *,
    pictures: list[Picture] | None = None,
    texts: dict[str, str] | None = None,
    at: datetime | None = None,
) -> PictureLot:
    lot.pictures = lot.pictures if pictures is None else pictures
    lot.texts = lot.texts if texts is None else texts
    lot.changed_at = at or timezone.now()
    lot.save()
    return lot


def record_lot(user: User, owner: Owner | None, *, token: str | None = None) -> tuple[Added, bool]:
    """Record the lot in one act, or have it wait for review; and whether this form recorded it before. An empty one
    records nothing. Raises Refused; the lot is as it was then."""
    with transaction.atomic():
        lock()
        lot = lot_of(user, owner)
        if not lot.pictures:
            return Added(), bool(token) and lot.recorded == token
        added = record_photographs(lot.pictures, owner, lot.texts, user=user, token=_token(token, lot.pictures))
        lot.recorded = token or ""
        _kept(lot, pictures=[], texts=dict(AT_FIRST))
    return added, False


def _token(token: str | None, pictures: Sequence[Picture]) -> str | None:
    """The form's, bound to the pictures, which came by themselves: the same page sent again after others came is another."""
    if token is None:
        return None
    return hashlib.sha256("".join([token, *sorted(one["sha256"] for one in pictures)]).encode()).hexdigest()
