"""The README of a statement's bag: what is in it, how to check it, and what every column and every code means."""

from __future__ import annotations

from collections.abc import Iterable

from register.exchange.blank_workbook import meaning_of
from register.exchange.schema import TABLES

CODES: dict[str, tuple[tuple[str, str], ...]] = {
    "Status of a part": (
        ("original", "the part that belonged to this vehicle, not materially renewed"),
        ("restored", "the part that belonged to this vehicle, with some new material; how much is always said"),
        ("replica", "made to the historic pattern since the vehicle has been looked after as heritage"),
        ("modern substitute", "made new or bought in since then, not to the historic pattern"),
    ),
    "State of an assessment": (
        ("accepted", "it counts"),
        ("draft", "it waits for review and counts nowhere"),
        ("withdrawn", "it no longer counts; of an event: the vehicle left service"),
    ),
    "Visibility": (
        ("in view", "a bystander sees it"),
        ("close inspection", "seen by somebody who looks for it"),
        ("hidden", "seen only by opening or dismantling"),
    ),
    "Significance, a judgement, with its points": (
        ("exceptional", "4 points"),
        ("considerable", "3 points"),
        ("some", "2 points"),
        ("little", "1 point"),
        ("intrusive", "takes away from the vehicle, 0 points"),
    ),
    "How a mass is known": (
        ("weighed", "on scales"),
        ("calculated", "from dimensions and density"),
        ("estimated", "by judgement"),
    ),
    "What a replica was made after": (
        ("survivor", "another part of its kind that survives"),
        ("drawing", "a drawing; as a source: what was meant, not what was built"),
        ("photograph", "a photograph"),
        ("conjecture", "nothing that survives"),
    ),
    "Kind of a source": (
        ("mark", "stamped, cast or painted on the part itself"),
        ("ledger", "a works or shed record"),
        ("test report", "of a laboratory or a survey"),
        ("publication", "printed, by somebody else"),
        ("testimony", "what somebody remembers"),
        ("inference", "concluded from type or wear"),
    ),
    "Disposal of a part": (
        ("none", "it is still the railway’s"),
        ("scrapped", "broken up"),
        ("destroyed", "by fire or accident"),
        ("lost", "nobody knows where it is"),
        ("transferred", "to another owner"),
    ),
    "Who may read a row": (
        ("public", "anybody"),
        ("restricted", "the workshop and the office"),
    ),
    "Kind of a vehicle": (
        ("locomotive", "it pulls"),
        ("carriage", "it carries people"),
        ("wagon", "it carries goods"),
        ("tender", "it carries a locomotive’s coal and water"),
    ),
    "Kind of an event": (
        ("rebuilt", "altered in its working life or since"),
        ("overhaul", "taken apart and put right"),
        ("preserved", "taken into care as heritage"),
        ("accident", "damage"),
        ("owner", "a change of owner"),
        ("renumbered", "a change of number"),
        ("livery", "a change of paint; its layers are evidence"),
        ("examination", "what was examined, by what role, and who holds the paper: never a result"),
        ("other", "anything else; said in the title"),
    ),
    "What work on a position can touch (a reminder, not a risk assessment)": (
        ("pressure", "holds steam, water or air under pressure"),
        ("brakes", "stops the vehicle"),
        ("running gear", "wheels, axles, springs, motion"),
        ("lifting", "needs a crane or jacks"),
        ("electrical", "live when in use"),
        ("fire", "burns, or holds what does"),
    ),
    "Hazards recorded or presumed": (
        ("asbestos", "presumed until sampled by somebody competent"),
        ("lead paint", "presumed in old paint"),
        ("chromate", "in primers and cooling water"),
        ("mercury", "in switches and gauges"),
        ("pcb", "in old electrical oil"),
        ("radioactive paint", "on dials"),
    ),
    "Weight is reckoned by (basis)": (
        ("mass", "the part’s mass, or failing that the mass by the drawing"),
        ("count", "1 a part"),
        ("significance", "the points of the position’s grade"),
    ),
    "Composition in figures.json": (
        ("reference_fabric", "what is left of the vehicle as it was at the reference date"),
        ("later_historic", "historic, later than the reference date"),
        ("historic_from_elsewhere", "historic, of another vehicle"),
        ("new_material", "new material within historic parts"),
        ("modern_substitute", "as above"),
        ("not_assessed", "nobody has said, with acceptance, what it is"),
    ),
    "Survival in figures.json": (
        ("with_this_vehicle", "still with it"),
        ("with_another_vehicle", "in another vehicle"),
        ("in_store", "with neither, and kept"),
        ("material_renewed", "new material in parts that survive"),
    ),
}


FIGURES = (
    ("fabric", "the figures on each basis and against each reference period, the statement's first"),
    ("survival", "what became of the vehicle of each reference period, on each basis"),
    ("timeline", "the figures by mass since it was built, a record from its day until the next"),
    ("at_reference", "by mass, on the last day of the reference period: what loss is counted from"),
    ("proposals", "for each open proposal and each of its alternatives the figures that it would leave, or why there are none"),
    ("significance, policy, signed", "in texts.json, each with who wrote it and when; `public` is how the person may be called"),
)
"""What stands in the two files, by name."""


def readme(number: str, about: Iterable[str], *, edition: str, left_out: Iterable[str]) -> bytes:
    """Markdown. about: lines on what the statement is of. left_out: what this edition does not hold."""
    lines = [f"# Conservation statement {number}", "", *about, ""]
    lines += [
        "This is a bag after RFC 8493 (BagIt). It holds what the statement was computed from, as it was frozen.",
        "",
        "| file | what it is |",
        "|---|---|",
        f"| `statement/{edition}.pdf` | the statement, {edition} edition, to the letter as issued |",
        "| `statement/figures.json` | every figure, percentages with six decimals; `null` where one does not exist |",
        "| `statement/texts.json` | what the statement says in words: significance, policy, proposals with their alternatives and steps, "
        "decisions, who signed; below |",
        "| `statement/entry.json` | its entry in the chain: the SHA-256 of a zero byte, `previous` and `content` is `hash` |",
        "| `tables/*.csv` | the rows of the register as they were typed; `tables/datapackage.json` describes them (Table Schema) |",
        "| `read/*.csv` | the same as numbers: days, grams, millionths; an empty end of a date is open |",
        "| `recompute.py` | works the headline figures out of `read` again; needs Python 3.9 and nothing else |",
        "| `photographs/` | the photographs that may be given, without hidden data |",
        "",
        "## Check it",
        "",
        "    sha256sum -c manifest-sha256.txt",
        "    sha256sum -c tagmanifest-sha256.txt",
        "    python3 data/recompute.py",
        "",
        "The first two are run in the folder of the bag. The digits that the third prints are those of "
        "`statement/figures.json`, and the printed ones are these, rounded: a low bound downwards, a high bound upwards.",
        "",
    ]
    lines += [
        "## figures.json and texts.json",
        "",
        *(f"- `{name}`: {meaning}" for name, meaning in FIGURES),
        "",
        "The steps in `texts.json`, laid over the rows in `tables` as if they were done on the day of the statement, give the "
        "figures under `proposals`. The words of `texts.json` are in no figure. The SHA-256 that the paper prints of the "
        "frozen texts is that of the internal package's file.",
        "",
    ]
    if said := list(left_out):
        lines += ["## What this edition leaves out", "", *(f"- {one}" for one in said), ""]
    lines += ["## Codes", ""]
    for heading, codes in CODES.items():
        lines += [f"### {heading}", "", *(f"- `{code}`: {meaning}" for code, meaning in codes), ""]
    lines += ["## Tables", ""]
    for table in TABLES.values():
        if table.name == "export":
            continue
        lines += [f"### {table.name}", ""]
        if table.row_id:
            lines.append("- `row_id`: the register’s own number of the row")
        for column in table.columns:
            about_it = f"{column.about}: {meaning_of(column)}" if column.about else meaning_of(column)
            lines.append(f"- `{column.name}`: {about_it}")
        lines.append("")
    lines += [
        "A text that begins with `= + - @` or `'` has one `'` put before it in `tables`, so that no spreadsheet takes it "
        "for a formula.",
        "",
        "The statement is about fabric and provenance. It does not show that the vehicle, or any part of it, is fit or "
        "safe to run.",
        "",
    ]
    return "\n".join(lines).encode()
