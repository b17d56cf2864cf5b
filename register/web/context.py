"""What every page knows."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse

from register.policy import may

NAV = (("Vehicles", "fleet"), ("Parts", "parts"), ("Sources", "sources"), ("Places", "places"))
IN_A_ROW = 7
"""Entries that stand beside each other in the head of a page 1280 px wide; where a role has more, those of ``ASIDE`` are
behind the last one."""

ASIDE = frozenset({"places", "people", "import"})
"""What is looked for least often, once a register has begun: what begins one is on its first page."""

SECTIONS = {
    "vehicle": "fleet",
    "computed": "fleet",
    "timeline": "fleet",
    "findings": "fleet",
    "explain-finding": "fleet",
    "survival": "fleet",
    "find-out": "fleet",
    "compare-days": "fleet",
    "compare-vehicles": "fleet",
    **dict.fromkeys(("schedule", "schedule-workbook", "schedule-paper", "schedule-chart"), "fleet"),
    "schedule-inputs": "fleet",
    "period-report": "fleet",
    "part": "parts",
    "part-mass": "parts",
    **dict.fromkeys(("break-down", "join-parts", "split-set", "refit-part", "take-part"), "parts"),
    **dict.fromkeys(("exchange-parts", "replace-part", "merge-part"), "parts"),
    **dict.fromkeys(("position-structure", "move-position"), "fleet"),
    "source": "sources",
    "place": "places",
    "import-look": "import",
    "statement": "statements",
    "withdraw-statement": "statements",
    "issue-statement": "fleet",
    "new-account": "accounts",
    "account": "accounts",
    "account-log": "accounts",
    "list": "import",
    **{f"list-{one}": "import" for one in ("look", "columns", "words", "vehicle", "lines", "questions")},
    "vehicle-questions": "fleet",
    "new-vehicle": "fleet",
    "add-positions": "fleet",
    "proposal": "proposals",
    "new-proposal": "proposals",
    "write-proposal": "proposals",
    "proposal-alternative": "proposals",
    "proposal-checks": "proposals",
    "decide-proposal": "proposals",
    "carry-out-proposal": "proposals",
    "follow-up-proposal": "proposals",
    "vehicle-policy": "fleet",
    "significance": "fleet",
    "write-significance": "fleet",
    "modern-parts": "fleet",
    "new-find": "record",
    "find-question": "record",
    "find-check": "record",
    "handed-in": "record",
    "review-change-set": "review",
}
"""Which entry of the navigation a page belongs to."""


def site(request: HttpRequest) -> dict[str, Any]:
    found: dict[str, Any] = {"site_name": settings.SITE_NAME, "is_demo": settings.DEMO}
    user = getattr(request, "user", None)
    if user is not None and user.is_authenticated:
        match = request.resolver_match
        here = match.url_name if match else ""
        current = SECTIONS.get(here or "", here)
        entries = [*NAV]
        if may(user, "read proposals"):
            entries += [("Proposals", "proposals")]
        if may(user, "read issued statements"):
            entries += [("Statements", "statements")]
        if may(user, "record finds"):
            entries += [("Record", "record")]
        if may(user, "review"):
            entries += [("Review", "review")]
        if may(user, "import"):
            entries += [("People", "people"), ("Import", "import")]
        if may(user, "look after accounts"):
            entries.append(("Accounts", "accounts"))
        listed = [(label, reverse(name), name == current, name in ASIDE) for label, name in entries]
        is_long = len(listed) > IN_A_ROW
        found |= {
            "nav": [one[:3] for one in listed if not (is_long and one[3])],
            "nav_more": [one[:3] for one in listed if is_long and one[3]],
            "search_url": reverse("search"),
        }
    return found
