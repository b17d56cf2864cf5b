"""Proposals: the case for a piece of work, its alternatives, and what was decided.

None of it is fabric data: what a proposal would do is written by a change set when it is done, never before.
"""

from __future__ import annotations

from django.conf import settings
from django.db import models

from register.models.base import short, text

DRAFT, SUBMITTED, RETURNED, APPROVED = "draft", "submitted", "returned", "approved"
DECLINED, WITHDRAWN, DONE, SUPERSEDED = "declined", "withdrawn", "done", "superseded"
PROPOSAL_STATES = (DRAFT, SUBMITTED, RETURNED, APPROVED, DECLINED, WITHDRAWN, DONE, SUPERSEDED)
OPEN_TO_CHANGE = frozenset({DRAFT, RETURNED})
UNDECIDED = frozenset({DRAFT, RETURNED, SUBMITTED})


class Proposal(models.Model):
    """vehicle: key of the vehicle. answers: {field: text}, the fields of ``services/proposal_fields``. checks:
    {check: the answer in writing}. revision: of the draft, raised by every change, so that two editors meet."""

    number = models.PositiveIntegerField(unique=True)
    vehicle = models.CharField(max_length=40, db_index=True)
    title = models.CharField(max_length=300)
    author = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="proposals")
    state = models.CharField(max_length=20, choices=[(one, one) for one in PROPOSAL_STATES], default=DRAFT)
    answers = models.JSONField(default=dict)
    checks = models.JSONField(default=dict)
    revision = models.PositiveIntegerField(default=0)
    made_at = models.DateTimeField()
    token = models.CharField(max_length=64, null=True, blank=True, unique=True)
    supersedes = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="superseded_by"
    )
    record_due = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ("-number",)
        constraints = (
            models.CheckConstraint(condition=~models.Q(title=""), name="proposal_title_given"),
            models.CheckConstraint(
                condition=models.Q(state__in=PROPOSAL_STATES), name="proposal_state_known"
            ),
        )

    def __str__(self) -> str:
        return f"{self.code} {self.title}"

    @property
    def code(self) -> str:
        """``P-014``"""
        return f"P-{self.number:03d}"

    @property
    def may_be_changed(self) -> bool:
        return self.state in OPEN_TO_CHANGE

    @property
    def is_undecided(self) -> bool:
        return self.state in UNDECIDED


class Alternative(models.Model):
    """One way to go, with its letter. steps: [{"do", ...texts}] of ``services/proposal_steps``, in order."""

    proposal = models.ForeignKey(Proposal, on_delete=models.CASCADE, related_name="alternatives")
    letter = models.CharField(max_length=2)
    kind = models.CharField(max_length=60)
    title = models.CharField(max_length=200)
    words = text()
    steps = models.JSONField(default=list)
    recommended = models.BooleanField(default=False)
    why_not = text()
    undo = short()
    undo_how = text()
    marked = text()

    class Meta:
        ordering = ("proposal", "letter")
        constraints = (
            models.UniqueConstraint(fields=["proposal", "letter"], name="a_letter_once_a_proposal"),
            models.UniqueConstraint(
                fields=["proposal"], condition=models.Q(recommended=True), name="one_recommended_alternative"
            ),
        )

    def __str__(self) -> str:
        return f"{self.letter}, {self.title}"


class ProposalAct(models.Model):
    """What happened to a proposal, in order: never changed or deleted.

    words: the reason, question, conditions or dissent as written. details: {name: text}, by the kind of act.
    case: the whole proposal as it stood, for a decision; change_no: of the act of the register that recorded what was
    done.
    """

    proposal = models.ForeignKey(Proposal, on_delete=models.PROTECT, related_name="acts")
    at = models.DateTimeField()
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=40)
    words = text()
    details = models.JSONField(default=dict)
    case = models.JSONField(default=dict)
    change_no = models.PositiveBigIntegerField(null=True, blank=True)
    token = models.CharField(max_length=64, null=True, blank=True, unique=True)

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"{self.proposal.code}: {self.kind}"
