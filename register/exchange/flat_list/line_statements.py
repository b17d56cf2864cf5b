"""What a line says of its thing: a draft with its doubts, work done, who says what, and what else is to be
asked."""

from __future__ import annotations

from register.exchange.flat_list.answers import Context
from register.exchange.flat_list.facts import person_in, shares, testimonies_of, to_find, work_of
from register.exchange.flat_list.given import shares_of
from register.exchange.flat_list.line_facts import LineFacts
from register.exchange.flat_list.line_rows import LineRows
from register.exchange.flat_list.line_stays import installation, lies_at, lost, whereabouts
from register.exchange.flat_list.roles import DONE_BY, STATUS, fold
from register.exchange.flat_list.status_words import GONE, MODERN, NO_ANSWER, ORIGINAL, REPLICA, RESTORED
from register.exchange.flat_list.things import slug
from register.fabric.dates import AS_BUILT


def rows_of(facts: LineFacts, context: Context) -> LineRows:
    """Everything that one line (or one portion of it) amounts to."""
    line = LineRows(facts, context)
    if line.is_loose():
        line.part()
        whereabouts(line)
    elif facts.meaning == GONE:
        lost(line)
    else:
        line.position()
        line.part()
        installation(line)
        lies_at(line)
    assessment(line)
    treatments(line)
    testimonies(line)
    further_questions(line)
    return line


def assessment(line: LineRows) -> None:
    """At most a draft, which waits for review; the fraction of something restored is asked, never stored."""
    found = line.facts.verdict
    share = shares(line.remark) if found.status == RESTORED else None
    left = f"about {1 - int(share[1][:-1]) / 100:.2g}, if what is new is {share[1]}" if share else ""
    line.ask("status", found.asked, suggestion=left or found.suggestion)
    if not found.status:
        return
    if not line.context.day:
        line.draft_waits_for_day = True
        return
    heading = line.context.choices.heading("status")
    word = line.facts.portion.words if line.facts.portion else line.thing.cell(STATUS)
    says = f"{heading}: {word}" if word else heading
    share_given = line.given("share")
    answered = f" Answered when it was entered: {found.status}." if line.given("status") else ""
    owner = line.context.vehicle if line.is_loose() and found.status in (ORIGINAL, RESTORED) else ""
    line.add(
        "assessments",
        {
            "part_id": line.part_id,
            "assessed_on": line.context.day,
            "state": "draft",
            "status": found.status,
            "original_to": owner,
            **(shares_of(share_given) if found.status == RESTORED and share_given else {}),
            "pattern_basis": found.pattern_basis,
            "reason": f"From the list, {says}. {line.thing.remark}{answered}".strip(),
        },
        {
            "status": found.doubt,
            "fraction": found.asked if found.status == RESTORED else "",
            "original_to": "it is not on the vehicle now, and the list is hers" if owner else "",
        },
    )


def treatments(line: LineRows) -> None:
    """Dated work: what renewed part of an old thing, or who fitted a new one."""
    if line.facts.verdict.status == RESTORED:
        renewal(line)
        return
    name, fitted = done_by(line), line.facts.fitted
    if name and fitted and fitted.edtf != AS_BUILT:
        line.add(
            "treatments",
            {
                "part_id": line.part_id,
                "date": fitted.text,
                "work": "fitted, as the list has it",
                "done_by": name,
            },
        )


def done_by(line: LineRows) -> str:
    """One person: several are asked about, since a record names one."""
    if answer := line.given("done by"):
        return answer
    cell = line.thing.cell(DONE_BY)
    if not cell or fold(cell) in NO_ANSWER:
        return ""
    name = person_in(cell)
    if not name:
        line.ask("done by", f"Who of “{cell}” did it? One name can be entered.", cell)
    return name


def renewal(line: LineRows) -> None:
    """The work that brought new material into an old thing."""
    done = work_of(line.remark, line.facts.cues.new_within, line.context.people)
    later = line.facts.fitted if line.context.after_built(line.facts.fitted) else None
    date = done.date or line.facts.when.second or (later.text if later else "")
    by = done.done_by or done_by(line)
    if not date:
        line.ask(
            "work",
            f"When was this done, and by whom: “{done.words}”?"
            if done.words
            else "When was it repaired, and by whom?",
        )
        return
    low, best, high = shares(line.remark) or ("0%", "", "100%")
    doubt = (
        "as the remark says"
        if best
        else "how much was replaced is not said: nothing to all, until somebody says"
    )
    line.add(
        "treatments",
        {
            "part_id": line.part_id,
            "date": date,
            "work": done.words or "repaired",
            "done_by": by,
            "replaced_low": low,
            "replaced": best,
            "replaced_high": high,
        },
        {"replaced": doubt},
    )


def testimonies(line: LineRows) -> None:
    """Who says what, each a source, cited for or against the draft where its words say which."""
    has_draft = any(row.table == "assessments" for row in line.rows)
    said = testimonies_of(line.remark)
    for number, one in enumerate(said):
        again = sum(1 for earlier in said[:number] if earlier.who == one.who)
        ident = f"{line.facts.ident}-{slug(one.who)[:12]}{again + 1 if again else ''}"
        source_id = line.context.id(ident)
        line.add(
            "sources",
            {
                "source_id": source_id,
                "kind": "testimony",
                "title": one.words,
                "author": one.who,
                "access": "restricted",
            },
            tell=ident,
        )
        if has_draft and one.supports is not None:
            line.add(
                "citations",
                {
                    "part_id": line.part_id,
                    "source_id": source_id,
                    "supports": "yes" if one.supports else "no",
                    "assessed_on": line.context.day,
                    "note": one.words,
                },
                {"supports": "whether it speaks for or against is read from its words"},
                tell=ident,
            )
    if {one.supports for one in said} >= {True, False}:
        line.ask(
            "who is right",
            f"{' and '.join(one.who for one in said)} do not agree. Both are kept, one for and one against.",
        )


def further_questions(line: LineRows) -> None:
    """What the remark raises beside status, weight and dates."""
    cues, facts, remark = line.facts.cues, line.facts, fold(line.remark)
    if cues.another and facts.meaning != ORIGINAL:
        line.ask(
            "another thing",
            f"“{cues.another}” is another thing in the same line: split it, or say that it goes with this "
            f"one.",
        )
    if facts.verdict.status in (REPLICA, MODERN) and cues.unmarked:
        line.ask("date mark", f"It was made new and is not marked as new (“{cues.unmarked}”): will it be?")
    if cues.evidence:
        line.ask(
            "evidence",
            f"“{cues.evidence}”: this is evidence. Who records it before anybody cleans, strips or paints "
            f"it?",
        )
    if "ditto" in remark and facts.portion is None:
        line.ask("same thing", "Is this another one, or the same thing written twice?")
    if line.is_mixed():
        line.ask(
            "mixed", f"They are mixed: which are old and which new? {line.doubt_of_mixed_weight()}".strip()
        )
    for what in to_find(line.remark):
        line.ask(f"source {what}", f"“{what}” would be a source: where is it? Enter it once it is found.")
