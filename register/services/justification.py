"""The papers of proposals: what they say, gathered from the case as it was decided or as it stands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from django.conf import settings
from django.utils import timezone

from register.documents.comparison import compared
from register.documents.figure_words import figure, percent, reference_words
from register.documents.justification import (
    AlternativeText,
    Justification,
    ModernCase,
    ModernPart,
    ModernParts,
    render_blank,
    render_justification,
    render_modern_parts,
)
from register.fabric.dates import day_in_words, in_words
from register.fabric.rounding import shown_change
from register.models import Alternative, Installation, Part, Proposal, ProposalAct, Vehicle
from register.services.inputs import NoSuch
from register.services.proposal_checks import Check
from register.services.proposal_effect import Effects, effects_of
from register.services.proposal_fields import AFTERWARDS, SECTIONS
from register.services.proposal_record import day_at
from register.services.proposal_steps import in_few_words
from register.services.vehicle_page import Account

HARM = "harm"
COMPARED = ("Bounds, mass", "Best, mass")
MADE_SINCE = ("replica", "modern substitute")


def effect_texts(effects: Effects) -> dict[str, Any]:
    """The effect of every alternative in words, to be kept with a decision: what was known when it was taken."""
    label = effects.reference.label
    figures: dict[str, list[list[str]]] = {}
    for reference in effects.inputs.references:
        rows = compared(
            effects.figures[reference.label],
            [one.figures[reference.label] if one.stands else None for one in effects.outcomes],
            effects.inputs,
        )
        figures[reference.label] = [
            [row.label, *(_cell(cell) for cell in row.cells)] for row in rows if row.label != "Composition"
        ]
    chosen = effects.recommended
    return {
        "day": effects.day.isoformat(),
        "reference": label,
        "against": {one.label: reference_words(one) for one in effects.inputs.references},
        "letters": [one.alternative.letter for one in effects.outcomes],
        "figures": figures,
        "leaving": [_leaving(effects, one) for one in effects.outcomes],
        "since": [
            [one.label, percent(one.then), percent(one.now), shown_change(one.change)]
            for one in (effects.since(chosen) if chosen and chosen.stands else ())
        ],
        "assessed": percent(effects.figures[label]["mass"].whole.assessed_share),
    }


def _cell(cell: Any) -> str:
    if cell is None:
        return "cannot be worked out"
    return f"{cell.text} ({cell.change})" if cell.change else cell.text


def _leaving(effects: Effects, outcome: Any) -> str:
    amount = effects.leaving(outcome)
    return "not known" if amount is None else f"{figure(amount, 0)} kg"


def effect_kept(proposal: Proposal, *, at: datetime | None = None) -> dict[str, Any]:
    """The effect as it was kept with the decision; for one that is not decided, as the register stands today. {} where it
    cannot be worked out."""
    act = decision_of(proposal)
    if act is not None and act.case.get("effect"):
        return dict(act.case["effect"])
    try:
        return effect_texts(effects_of(proposal, day_at(at)))
    except NoSuch:
        return {}


def checks_kept(proposal: Proposal) -> list[Check]:
    """What was asked and answered when it was decided; none as long as it is not."""
    act = decision_of(proposal)
    asked = act.case.get("checks_asked", []) if act is not None else []
    return [Check("", question, because, answer) for question, because, answer in asked]


def decision_of(proposal: Proposal) -> ProposalAct | None:
    """The act that decided it, None as long as it is not."""
    return proposal.acts.filter(kind__in=("approved", "declined")).order_by("pk").last()


def justification(
    proposal: Proposal,
    *,
    checks: Iterable[tuple[str, str, str]] = (),
    named: bool = True,
    at: datetime | None = None,
) -> bytes:
    """The justification record as a PDF. checks: (question, because, answer). named: whether people are named."""
    vehicle = Vehicle.objects.filter(key=proposal.vehicle).first()
    name = vehicle.full_name if vehicle else proposal.vehicle
    answers, effect = proposal.answers, effect_kept(proposal, at=at)
    act = decision_of(proposal)
    kept = act.case.get("checks_asked") if act is not None else None
    content = Justification(
        railway=settings.SITE_NAME,
        code=proposal.code,
        title=proposal.title,
        vehicle=name,
        state=proposal.state,
        day=day_at(at),
        about=f"{name}. {answers.get('fails', '')}".strip(),
        cells=(
            ("State", proposal.state.capitalize()),
            ("Why", answers.get("why", "").capitalize() or "not said"),
            (
                "Sign-off needed",
                " ".join(filter(None, [answers.get("signoff_role", ""), answers.get("signoff", "")]))
                or "not said",
            ),
            ("Decided by", _decided_by(act, named=named)),
        ),
        tests=tuple(
            (one.label, answers.get(one.name, ""))
            for section in SECTIONS
            if section.key == HARM
            for one in section.questions
        ),
        sections=tuple(
            (
                section.title,
                tuple(
                    (one.label, answers.get(one.name, ""))
                    for one in section.questions
                    if answers.get(one.name)
                ),
            )
            for section in SECTIONS
            if section.key != HARM and any(answers.get(one.name) for one in section.questions)
        ),
        alternatives=tuple(_alternatives(proposal, effect)),
        compared=COMPARED if effect else (),
        figures_of=_figures_of(effect),
        since=tuple((one[0], one[1], one[2], one[3]) for one in effect.get("since", ())),
        checks=tuple((one[0], one[1], one[2]) for one in kept) if kept is not None else tuple(checks),
        acts=tuple(_acts(proposal, named=named)),
    )
    return render_justification(content)


def _alternatives(proposal: Proposal, effect: Mapping[str, Any]) -> Iterable[AlternativeText]:
    letters = effect.get("letters", [])
    rows = {row[0]: row[1:] for row in effect.get("figures", {}).get(effect.get("reference"), ())}
    for one in proposal.alternatives.all():
        place = letters.index(one.letter) if one.letter in letters else None
        yield AlternativeText(
            one.letter,
            one.title,
            one.words,
            one.recommended,
            tuple(in_few_words(one.steps)) if one.recommended else (),
            _leaves(proposal, one, effect["leaving"][place] if place is not None else "not known"),
            ": ".join(filter(None, [one.undo.capitalize(), one.undo_how])),
            one.marked,
            one.why_not,
            tuple(rows[label][place] for label in COMPARED if label in rows) if place is not None else (),
        )


def _leaves(proposal: Proposal, one: Alternative, worked_out: str) -> str:
    """What the register works out; for work done long ago, what is remembered."""
    return proposal.answers.get("leaving", "") if one.kind == AFTERWARDS else worked_out


def _figures_of(effect: Mapping[str, Any]) -> str:
    if not effect:
        return "The figures cannot be worked out: the vehicle is no longer in the register."
    against = effect["against"][effect["reference"]]
    return (
        f"Retained original fabric by mass, against {against}, as at {day_in_words(date.fromisoformat(effect['day']))}, "
        f"assessed {effect['assessed']}; the change in brackets, in points, is worked out before rounding."
    )


def _decided_by(act: ProposalAct | None, *, named: bool) -> str:
    """Who decided, under which minute, and when; for a case written up afterwards, when it was written up."""
    if act is None:
        return "not decided"
    who = act.details.get("body") or (_name(act) if named else "the heritage officer")
    own = " (its author)" if act.details.get("by_author") else ""
    day = day_in_words(timezone.localtime(act.at).date())
    chosen = next((one for one in act.case.get("alternatives", ()) if one["recommended"]), None)
    if chosen and chosen["kind"] == AFTERWARDS:
        day = f"written up on {day}"
    return ", ".join(filter(None, [f"{who}{own}", act.details.get("minute", ""), day]))


def _name(act: ProposalAct) -> str:
    return act.user.get_full_name() or act.user.get_username()


def _acts(proposal: Proposal, *, named: bool) -> Iterable[str]:
    for act in proposal.acts.select_related("user"):
        who = f" by {_name(act)}" if named else ""
        body = f" for {act.details['body']}" if act.details.get("body") else ""
        said = f"{day_in_words(timezone.localtime(act.at).date())}: {act.kind}{who}{body}"
        more = [
            act.details.get("minute", ""),
            "decided by its author" if act.details.get("by_author") else "",
            act.words,
            f"dissent: {act.details['dissent']}" if act.details.get("dissent") else "",
            *(f"step {number}: {text}" for number, text in (act.details.get("departures") or {}).items()),
            f"photographs: {act.details['photographs']}" if act.details.get("photographs") else "",
            f"change {act.change_no} of the register" if act.change_no else "",
        ]
        yield ". ".join(part.rstrip(".") for part in (said, *filter(None, more))) + "."


def short_form(proposal: Proposal, *, named: bool = True) -> dict[str, str]:
    """The case in a few words, for the register of modern parts, the statement and the public page."""
    chosen = next((one for one in proposal.alternatives.all() if one.recommended), None)
    others = [one for one in proposal.alternatives.all() if not one.recommended]
    need = [proposal.answers.get("why", ""), proposal.answers.get("fails", "")]
    return {
        "case": proposal.code,
        "why": ": ".join(filter(None, need)).capitalize()
        if not need[1]
        else f"{need[0].capitalize()}: {need[1]}",
        "undo": ": ".join(filter(None, [chosen.undo.capitalize(), chosen.undo_how])) if chosen else "",
        "kept": proposal.answers.get("kept", ""),
        "decided": f"decided by {_decided_by(decision_of(proposal), named=named)}",
        "alternatives": "; ".join(
            f"{one.title} ({one.why_not})" if one.why_not else one.title for one in others
        ),
        "public": proposal.answers.get("public", ""),
    }


def modern_parts_of(
    account: Account, cases: Mapping[str, Proposal], *, named: bool = True
) -> tuple[ModernPart, ...]:
    """Replicas and modern substitutes in place on the day, the hidden ones first, each with its case if there is one."""
    rows = [row for row in account.chosen.rows if row.status in MADE_SINCE and row.part]
    marks = dict(Part.objects.filter(key__in=[row.part for row in rows]).values_list("key", "date_mark"))
    fitted = {
        (position, part): edtf
        for position, part, edtf in Installation.objects.filter(part__in=list(marks)).values_list(
            "position_id", "part_id", "fitted_edtf"
        )
    }
    order = {"hidden": 0, "close inspection": 1, "in view": 2}
    found = []
    for row in sorted(rows, key=lambda one: (order.get(one.visibility, 3), one.position)):
        label = account.labels.parts[row.part or ""]
        case = short_form(cases[row.part or ""], named=named) if row.part in cases else {}
        edtf = fitted.get((row.position, row.part or ""), "")
        found.append(
            ModernPart(
                account.labels.positions[row.position].name,
                label.name,
                label.code,
                row.status,
                row.visibility,
                in_words(edtf) if edtf else "",
                marks.get(row.part or "", ""),
                **{
                    name: case.get(name, "")
                    for name in ("case", "why", "undo", "kept", "decided", "alternatives")
                },
            )
        )
    return tuple(found)


def modern_parts_paper(account: Account, cases: Mapping[str, Proposal], *, named: bool = True) -> bytes:
    """The register of modern and hidden parts of a vehicle as a PDF."""
    day = date.fromordinal(account.chosen.day)
    parts = modern_parts_of(account, cases, named=named)
    shown = {one.case for one in parts if one.case}
    by_code = {proposal.code: proposal for proposal in cases.values()}
    told = tuple(
        ModernCase(by_code[code].title, **short_form(by_code[code], named=named)) for code in sorted(shown)
    )
    return render_modern_parts(ModernParts(settings.SITE_NAME, account.vehicle.full_name, day, parts, told))


def blank_sheet(*, at: datetime | None = None) -> bytes:
    """The questions of a proposal, to be filled in with a pencil."""
    sections: list[tuple[str, list[tuple[str, str, int]]]] = [
        (
            "What is proposed",
            [
                ("Vehicle", "", 1),
                ("Part", "its id or tag", 1),
                ("What is proposed", "in a few words", 1),
                ("Written by, on", "", 1),
            ],
        ),
    ]
    sections += [
        (
            section.title,
            [(one.label, _hint(one), 1 if one.kind != "area" else 3) for one in section.questions],
        )
        for section in SECTIONS
    ]
    way = [
        ("Way", "what is taken out, fitted or treated", 2),
        ("Can it be undone, and how", "", 1),
        ("How it is marked as new", "", 1),
        ("Why not", "", 1),
    ]
    sections += [
        ("Do nothing", way[3:]),
        ("New, like for like", way),
        ("Another way", way),
        ("Another way", way),
    ]
    return render_blank(settings.SITE_NAME, day_at(at), sections)


def _hint(question: Any) -> str:
    return ", ".join(question.options) if question.options else question.hint
