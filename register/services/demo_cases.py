"""The demo's proposals: one for every modern part, most of them written up afterwards, and one that waits for a decision.

They go through the same services as anybody's, so that the demo shows nothing that the site would refuse.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from register.models import Proposal, User
from register.services import proposals
from register.services.proposal_decision import approve, checks_now, submit
from register.services.proposal_record import day_at
from register.services.proposal_steps import THERE
from register.services.proposal_work import carry_out

KEPT = ("kind", "title", "words", "why_not", "undo", "undo_how", "marked")


def load_cases(path: Path, *, author: User, officer: User, at: datetime | None = None) -> int:
    """Write up the cases of the file, unless there is any proposal already; how many there were. Raises Refused."""
    if Proposal.objects.exists():
        return 0
    cases = json.loads(path.read_text(encoding="utf-8"))
    for case in cases:
        _load(case, author, officer, at)
    return len(cases)


def _load(case: Mapping[str, Any], author: User, officer: User, at: datetime | None) -> None:
    made = proposals.begin(vehicle_id=case["vehicle"], title=case["title"], user=author, at=at)
    proposals.write(made, case["answers"], user=author, revision=made.revision)
    for place, one in enumerate(case["alternatives"]):
        texts = {name: one.get(name, "") for name in KEPT}
        texts["recommended"] = "yes" if one.get("recommended") else ""
        letter = "AB"[place] if place < 2 else ""
        written = proposals.put_alternative(made, letter, texts, user=author, revision=made.revision)
        if one["steps"]:
            letter, steps = written.letter, one["steps"]
            proposals.add_step(made, letter, *steps, user=author, revision=made.revision, at=at)
    if case["state"] == "draft":
        return
    submit(made, user=author, at=at)
    if case["state"] == "submitted":
        return
    answers = {one.key: case["checks"] for one in checks_now(made, at=at)}
    proposals.answer_checks(made, answers, user=author, at=at)
    decision = case["decision"]
    approve(made, user=officer, words=decision["words"], details=decision, at=at)
    if case["state"] == "done":
        chosen = made.alternatives.get(recommended=True)
        day = day_at(at).isoformat()
        steps = {
            number: {**step, "on": day} for number, step in enumerate(chosen.steps, 1) if step["do"] == THERE
        }
        carry_out(made, steps, user=author, at=at)
