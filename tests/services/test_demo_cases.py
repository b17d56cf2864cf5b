"""Every modern part of the demo has its case, and the paper answers what an assessor asks of it."""

from __future__ import annotations

from datetime import date
from io import BytesIO

import pytest
from django.conf import settings
from pypdf import PdfReader

from register.models import Proposal, User, Vehicle
from register.services.demo_cases import load_cases
from register.services.justification import justification, modern_parts_of, modern_parts_paper
from register.services.proposal_work import case_for_parts
from register.services.vehicle_page import Question, account_of
from tests.demo_register import plant_demo_register

pytestmark = pytest.mark.django_db


def words_of(data: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(data)).pages).split())


def test_every_modern_part_has_its_case_and_the_papers_answer_the_assessor():
    """Questions 18 to 22: every hidden modern part and who approved it; what left and where it is; which options were
    rejected and why not like for like; whether it can be undone; how it is told from old work."""
    plant_demo_register()
    author, officer = User.objects.create_user("author", last_name="Author"), User.objects.create_user("officer", last_name="Officer")
    assert load_cases(settings.FIXTURES / "demo_cases.json", author=author, officer=officer) == Proposal.objects.count()
    assert load_cases(settings.FIXTURES / "demo_cases.json", author=author, officer=officer) == 0
    seen = 0
    for vehicle in Vehicle.objects.filter(in_fleet=True):
        account, cases = account_of(vehicle.key, Question(date.today(), None, include_wear=True)), case_for_parts(vehicle.key)
        listed = [one for one in modern_parts_of(account, cases) if one.status == "modern substitute"]
        without = [one.part_id for one in listed if not one.case]
        assert not without, (vehicle.code, without)
        text = words_of(modern_parts_paper(account, cases))
        for one in listed:
            seen += 1
            assert one.part_id in text and one.case in text
            assert one.decided and one.kept and one.undo and "New, like for like (" in one.alternatives
    assert seen > 80
    for proposal in Proposal.objects.filter(state="done"):
        text = words_of(justification(proposal))
        chosen = proposal.alternatives.get(recommended=True)
        assert proposal.acts.get(kind="approved").details["body"] in text
        for words in (proposal.answers["kept"], chosen.undo_how, *(one.why_not for one in proposal.alternatives.all() if not one.recommended)):
            assert " ".join(words.split())[:40] in text, (proposal.code, words)
