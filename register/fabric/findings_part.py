"""Findings about parts: what they are held to be, what was done to them, where they are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date

from register.fabric.dates import day_in_words
from register.fabric.finding_facts import (
    Finding,
    Form,
    Judgement,
    Stay,
    VehicleFacts,
    about_part,
    change_part,
    new_for_part,
)
from register.fabric.inputs import Assessment
from register.fabric.interval import MILLION
from register.fabric.occupancy import is_best, is_possible

OLD = 5 * 365
"""Days after which a movement no longer says where a part is (our own rule, no source)."""
HISTORIC = ("original", "restored")
NEW = ("replica", "modern substitute")
NO_JUDGEMENT = Judgement("", "", "")


def made_after_fitted(facts: VehicleFacts, day: int) -> Iterator[Finding]:
    for stay in facts.stays:
        part = facts.parts.get(stay.part)
        if part and part.made and part.made.earliest > stay.fitted.latest:
            yield about_part(
                facts, stay.part, "made-after-fitted", f"{part.words} was made after it was fitted.",
                f"It cannot have been in “{facts.positions[stay.position].name}” before it existed. Correct the date it was made, or "
                "of its fitting; or it is another part than the one that was fitted then.",
                change_part(stay.part, "Correct the date"), stay.position, part.made, stay.fitted)  # fmt: skip


def treatments_against_fraction(facts: VehicleFacts, day: int) -> Iterator[Finding]:
    """What is held to be left of a part, against what dated work took out of it."""
    for key, assessment in _assessed(facts):
        part, work = facts.parts[key], facts.inputs.treatments.get(key, ())
        form = new_for_part(facts, key, "assessments", "Assess it again")
        renewing = [one for one in work if one.replaced.best]
        if assessment.status == "original" and renewing:
            yield about_part(
                facts, key, "original-with-treatments", f"{part.words} is held original, and work on it renewed material.",
                f"“Original” is for what was not materially renewed, and {_times(len(renewing))} some of it was replaced. Assess it "
                "restored with a fraction, or correct the share that was replaced.", form,
                assessment.day, *((*one.span, one.replaced.best) for one in renewing))  # fmt: skip
        fraction = assessment.fraction
        before = [one.replaced.best or 0 for one in work if one.span.latest <= assessment.day]
        if fraction and fraction.best is not None and before and fraction.best > MILLION - max(before):
            yield about_part(
                facts, key, "fraction-above-treatments", f"More of {part.words} is held to survive than dated work left.",
                f"{_percent(fraction.best)} is held original, and one repair before that day replaced {_percent(max(before))}. Assess "
                "it again, or correct the share that was replaced.", form, assessment.day, fraction, max(before))  # fmt: skip
        if assessment.status == "restored" and fraction and fraction.best == MILLION:
            yield about_part(
                facts, key, "restored-whole", f"{part.words} is held restored, with nothing lost.",
                "“Restored” is for what was brought back with some new material, and its fraction is 1. Assess it original, or say "
                "how much survives.", form, assessment.day, fraction)  # fmt: skip


def _times(number: int) -> str:
    return {1: "once", 2: "twice"}.get(number, f"{number} times")


def _percent(millionths: int) -> str:
    return f"{millionths / 10_000:g} %"


def since_building_by_sight(facts: VehicleFacts, day: int) -> Iterator[Finding]:
    """Held to be there since the vehicle was built, where all that is known is that it was seen later."""
    ordinary: dict[str, list[Stay]] = defaultdict(list)
    for stay in facts.stays:
        if not stay.temporary:
            ordinary[stay.part].append(stay)
    for key, assessment in _assessed(facts):
        if assessment.status not in HISTORIC or assessment.original_since or assessment.original_to != facts.inputs.vehicle.key:
            continue
        stays = ordinary[key]
        if stays and all(stay.seen_only for stay in stays):
            first = min(stays, key=lambda one: one.fitted.latest)
            yield about_part(
                facts, key, "as-built-by-sight", f"{facts.parts[key].words} is held original since building, and was only seen.",
                f"Its fitting has no date: it was there on {day_in_words(date.fromordinal(first.fitted.latest))}, which does not say "
                "since when. Give the date of fitting (“as built” if the evidence says so), or say since when it is original.",
                Form("Date the fitting", "installations", first.key), assessment.day, first.fitted)  # fmt: skip


def status_against_heritage(facts: VehicleFacts, day: int) -> Iterator[Finding]:
    """Replicas are made, and historic parts are not, since a vehicle has been looked after as heritage."""
    heritage = facts.heritage
    if heritage is None:
        return
    first = {key: stay for stay in sorted(facts.stays, key=lambda one: one.fitted, reverse=True) for key in [stay.part]}
    for key, assessment in _assessed(facts):
        part, stay = facts.parts[key], first.get(key)
        form = new_for_part(facts, key, "assessments", "Assess it again")
        came = part.made or (stay.fitted if stay and not stay.seen_only else None)
        if assessment.status in NEW and came and came.latest < heritage.earliest:
            yield about_part(
                facts, key, "new-before-heritage", f"{part.words} is held a {assessment.status}, and is too old for one.",
                "It was made or fitted before the vehicle was looked after as heritage: a renewal of its working life is historic, "
                "with an “original since” of its own. Assess it again, or correct the dates.", form, assessment.day, came, heritage)  # fmt: skip
        since = assessment.original_since
        here = assessment.original_to == facts.inputs.vehicle.key
        late = since if since and since.earliest > heritage.latest else part.made if part.made and part.made.earliest > heritage.latest else None
        if assessment.status in HISTORIC and here and late:
            yield about_part(
                facts, key, "historic-after-heritage", f"{part.words} is held {assessment.status}, and came too late for that.",
                "It was made, or became part of the vehicle, after the vehicle was looked after as heritage. Assess it a replica or a "
                "modern substitute, or correct the dates.", form, assessment.day, late, heritage)  # fmt: skip


def new_parts(facts: VehicleFacts, day: int) -> Iterator[Finding]:
    """What has to be said of a part that was made new, wear parts aside: those are renewed as a matter of course."""
    worn = _wear_parts(facts)
    reasons = {stay.part for stay in facts.stays if stay.reason}
    for key, assessment in _assessed(facts):
        if assessment.status not in NEW or key in worn:
            continue
        part, judgement = facts.parts[key], facts.judgements.get(key, NO_JUDGEMENT)
        form = Form("Complete the assessment", "assessments", judgement.key) if judgement.key else change_part(key, "Look at the part")
        if assessment.status == "replica" and not judgement.pattern_basis:
            yield about_part(
                facts, key, "replica-without-pattern", f"{part.words} is a replica of what?",
                "Nothing says what its pattern rests on. Name a survivor, a drawing, a photograph, or conjecture.", form, assessment.day)  # fmt: skip
        if assessment.status == "modern substitute" and not (judgement.reason or key in reasons):
            yield about_part(
                facts, key, "modern-without-reason", f"{part.words} is modern, and no reason is recorded.",
                "Write why the old way would not do, and who required it.", form, assessment.day)  # fmt: skip
        if not part.date_mark and assessment.status == "modern substitute":
            yield about_part(
                facts, key, "modern-without-mark", f"{part.words} is new, and nothing tells it from old.",
                "Record how it is marked as new and where. Never hard-stamp a stressed, pressure or running part without the competent "
                "person’s agreement.", change_part(key, "Record the mark"), assessment.day)  # fmt: skip


def evidence(facts: VehicleFacts, day: int) -> Iterator[Finding]:
    for key, assessment in _assessed(facts):
        part = facts.parts[key]
        if assessment.disputed:
            yield about_part(
                facts, key, "contradicted", f"{part.words} is disputed.",
                f"A source speaks against its being {assessment.status}. Weigh the evidence, and assess it again if it has turned.",
                new_for_part(facts, key, "assessments", "Weigh the evidence"), assessment.day, assessment.status, assessment.strength)  # fmt: skip
        elif not assessment.strength:
            yield about_part(
                facts, key, "unsupported", f"Nothing supports what {part.words} is held to be.",
                f"It is assessed {assessment.status}, and no source is cited for it. Cite what it rests on, an inference if need be.",
                new_for_part(facts, key, "citations", "Cite a source"), assessment.day, assessment.status)  # fmt: skip


def whereabouts(facts: VehicleFacts, day: int) -> Iterator[Finding]:
    """Parts that are in no vehicle, and that nobody knows the place of, or not for certain."""
    fitted = {one.part for one in facts.inputs.installations if is_possible(one, day)}
    for key, part in facts.parts.items():
        if key in fitted or facts.inputs.parts[key].disposal:
            continue
        form = new_for_part(facts, key, "movements", "Say where it is")
        move = facts.moves.get(key)
        if move is None:
            yield about_part(
                facts, key, "whereabouts-unknown", f"Nobody knows where {part.words} is.",
                "It is in no vehicle, was not disposed of, and no movement of it is recorded. Find it and say where it is, or record "
                "what became of it.", form)  # fmt: skip
        elif (due := move.due_back) and due.latest < day:
            yield about_part(
                facts, key, "whereabouts-unconfirmed", f"{part.words} should have come back.",
                f"It was due back by {day_in_words(date.fromordinal(due.latest))}. Confirm where it is.", form, move.moved, due)  # fmt: skip
        elif day - move.moved.best > OLD:
            yield about_part(
                facts, key, "whereabouts-unconfirmed", f"Nobody has confirmed for more than five years where {part.words} is.",
                f"The last movement is of {day_in_words(date.fromordinal(move.moved.best))}. Look, and record that it is still there.",
                form, move.moved)  # fmt: skip


def disposal(facts: VehicleFacts, day: int) -> Iterator[Finding]:
    reasons = {stay.part for stay in facts.stays if stay.reason}
    for key, part in facts.parts.items():
        gone = facts.inputs.parts[key].disposal
        if gone and not part.remarks and key not in reasons:
            yield about_part(
                facts, key, "disposed-without-reason", f"{part.words} was {gone}, and no reason is recorded.",
                "Write in its remarks why it went and who agreed.", change_part(key, "Write the reason"), gone)  # fmt: skip


def cautions(facts: VehicleFacts, day: int) -> Iterator[Finding]:
    """Hazards, and new or restored parts in positions that safety rests on, of which nothing more is said."""
    seen = _wear_parts(facts)
    for key, part in facts.parts.items():
        if part.hazards and not part.remarks and not facts.inputs.parts[key].disposal:
            yield about_part(
                facts, key, "hazard-without-caution", f"{part.words} holds {part.hazards.replace(';', ', ')}, and no caution is written.",
                "Write in its remarks what is known, whether it was sampled, and whom to ask before it is touched. Take it to be "
                "hazardous until somebody competent has said otherwise.", change_part(key, "Write the caution"), part.hazards)  # fmt: skip
    for one in facts.inputs.installations:
        position = facts.positions.get(one.position)
        if position is None or not position.safety or one.part in seen or not is_best(one, day):
            continue
        seen.add(one.part)
        assessment, there = facts.inputs.assessments.get(one.part), facts.parts.get(one.part)
        if there and assessment and assessment.status in NEW and not there.remarks:
            yield about_part(
                facts, one.part, "safety-without-caution", f"{there.words} is new work that safety rests on, and no caution is written.",
                f"“{position.name}” has to do with {position.safety.replace(';', ', ')}. Write in its remarks who signed for it and where "
                "the paper is; this register says nothing of its fitness.", change_part(one.part, "Write the caution"),
                position.safety, assessment.status)  # fmt: skip


def _wear_parts(facts: VehicleFacts) -> set[str]:
    return {stay.part for stay in facts.stays if facts.inputs.positions[stay.position].wear}


def _assessed(facts: VehicleFacts) -> Iterator[tuple[str, Assessment]]:
    for key, assessment in facts.inputs.assessments.items():
        if key in facts.parts:
            yield key, assessment


CHECKS = (
    made_after_fitted, treatments_against_fraction, since_building_by_sight, status_against_heritage, new_parts, evidence,
    whereabouts, disposal, cautions,
)  # fmt: skip
