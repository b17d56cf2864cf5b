"""Contents of statements for tests: an invented engine with something in every section, and vehicles with little."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Any

from register.documents.elevation import Elevation, Outline, steps_of
from register.documents.figure_view import FigureView, figure_view
from register.documents.statement_content import (
    Assembly,
    Balloon,
    Dispute,
    Front,
    Hazard,
    HistoryEvent,
    Issue,
    NewPart,
    OverTime,
    PartRow,
    ReferencePeriod,
    RemovedPart,
    SourceRow,
    Statement,
    Unweighted,
)
from register.documents.statement_evidence_content import (
    Evidence,
    FromElsewhere,
    Loss,
    Masses,
    MassKnown,
    OpenQuestion,
    Quotient,
    StrengthRow,
    WithElsewhere,
    Worked,
    WorkedItem,
)
from register.documents.statement_texts_content import (
    Case,
    Cumulative,
    Fate,
    Impact,
    InPublic,
    LogRow,
    Option,
    Policy,
    Proposed,
    SinceRow,
    TimeRow,
    Worth,
)
from register.documents.step_band import Step
from register.fabric.figures import figures_on
from register.fabric.inputs import BASES
from register.fabric.interval import Interval
from register.fabric.survival import Survival, survival
from register.fabric.timeline import timeline
from tests.fabric.builders import TODAY, Engine

FRONT = Front(
    railway="Selmouth & Harrenby Railway",
    vehicle="Harrenby",
    number="6",
    kind="locomotive",
    builder="Garth, Pellow & Co.",
    works_number="412",
    built="12 May 1894",
    owner="Selmouth & Harrenby Railway Trust",
    day=date.fromordinal(TODAY),
    method_version="1",
    software_version="0.1.0",
    change_number=17,
    written_by="M. Thorley, heritage officer",
    former_numbers=("Works plant 6", "S&HR 6"),
    summary="A small side tank engine that worked the branch for sixty-two years.",
    public_address="https://register.example/id/vehicles/har/",
)


def engine() -> Engine:
    made = Engine(built="1894", empty_kg=16_000)
    made.reference("as rebuilt 1912", "1912")
    made.item("frames", (3200, 3300, 3400), "restored", (0.8, 0.85, 0.9), visibility="close inspection", grade=4, strength=3)
    made.item("boiler", (4800, 5000, 5200), "original", visibility="hidden", grade=3, since="1912", fitted="1912", strength=2)
    made.item("cab", 640, "replica", grade=2, fitted="1998", strength=3)
    made.item("compressor", (70, 80, 90), "modern substitute", visibility="hidden", grade=0, fitted="2009", strength=3)
    made.item("tank", 900, grade=2)
    made.item("tyres", 1400, "modern substitute", fitted="2009", wear=True)
    made.part("first cab", 610).fit("first cab", "cab", "as built", "1998").assess("first cab", "original")
    return made


def views(made: Engine, **asked: Any) -> tuple[FigureView, ...]:
    """Of every reference and basis, as a statement may say them."""
    inputs = made.inputs()
    return tuple(
        figure_view(found, inputs, guarded=True)
        for reference in inputs.references
        for found in figures_on(inputs, day=TODAY, reference=reference, bases=BASES, **asked).values()
    )


def survivals(made: Engine) -> tuple[Survival, ...]:
    inputs = made.inputs()
    return tuple(survival(inputs, day=TODAY, reference=one, basis="mass") for one in inputs.references)


def over_time(made: Engine) -> OverTime:
    inputs = made.inputs()
    steps = tuple(
        Step(one.start, one.level.low, one.level.high, one.level.best, one.recorded)
        for one in timeline(inputs, reference=inputs.references[0], basis="mass").steps
        if one.start < TODAY
    )
    balloons = (
        Balloon("1", date(1912, 6, 1).toordinal(), "1912: boiler renewed at the railway’s own works", "1912", "boiler renewed"),
        Balloon("2", date(1998, 4, 1).toordinal(), "1998: cab", "1998", "cab"),
    )
    return OverTime("by mass, against as built", steps, TODAY, balloons)


def part(position: str = "Main frame plates", **changes: Any) -> PartRow:
    made = PartRow(
        position=position, part=position, part_id="FR-001", status="restored", original_low=Fraction(80),
        original_best=Fraction(85), original_high=Fraction(90), fitted="as built", visibility="close inspection",
        evidence="documented", quantity=2, mass=Interval(3_200_000, 3_300_000, 3_400_000), mass_basis="calculated",
        sources=(1,),
    )  # fmt: skip
    return replace(made, **changes)


NOTHING, ALL = Fraction(0), Fraction(100)


def schedule() -> tuple[Assembly, ...]:
    boiler = part(
        "Boiler", part="Boiler of 1912", part_id="BO-110", status="original", original_low=NOTHING, quantity=1,
        original_best=NOTHING, original_high=NOTHING, fitted="1912", visibility="hidden", evidence="corroborated",
        mass=Interval(4_800_000, 5_000_000, 5_200_000), remark="historic, later", disputed="replica", sources=(1, 2),
    )  # fmt: skip
    tank = part(
        "Side tank", part="Tank", part_id="TC-001", status="", original_low=NOTHING, original_best=None,
        original_high=ALL, evidence="", quantity=1, mass=None, mass_basis="", sources=(), fitted="",
    )  # fmt: skip
    lamp = part("Lamp iron", part_id="FR-053", doubtful=True, mass=Interval.exactly(2_400), mass_basis="weighed")
    tyre = part(
        "Tyre", part_id="WS-071", status="", original_best=None, original_low=NOTHING, original_high=ALL, evidence="",
        remark="in no figure", is_wear=True, sources=(), fitted="2009", mass=Interval.exactly(248_000),
    )  # fmt: skip
    return (
        Assembly("Frames", (part(), lamp, tyre), 3_302_400),
        Assembly("Boiler and tanks", (boiler, tank), 5_000_000),
    )


def statement(**changes: Any) -> Statement:
    """Something in every section."""
    made = engine()
    full = Statement(
        front=FRONT,
        figures=views(made),
        identity="The engine is No. 6 by its main frames, hers since 1894 and stamped 412 in four places.",
        references=(
            ReferencePeriod("as built", "1894", "The state that the makers’ drawings show.", True),
            ReferencePeriod("as rebuilt 1912", "1912", "The working life that people remember."),
        ),
        history=(
            HistoryEvent("12 May 1894", "other", "Left the makers’ works", reference="P 0001", sources=(2,)),
            HistoryEvent("1904", "livery", "Plain green", until="1912", sources=(1, 2)),
            HistoryEvent("May 2019", "examination", "Boiler, ten-yearly", reference="folio 44", holder="the inspector"),
        ),
        survival=survivals(made),
        over_time=over_time(made),
        schedule=schedule(),
        new_parts=(
            NewPart("Compressor", "Air compressor", "BR-054", "modern substitute", "hidden", "2009", "The line may not run without it.", "M 2009, tag", "cast iron", "P-003", "fully: three bolts"),
            NewPart("Cab", "Cab", "TC-011", "replica", "in view", "1998", "", ""),
        ),
        cases=(Case("P-003", "Air compressor", "Law: brakes must work by air.", "Do nothing (it may not run)", "committee, minute 4"),),
        unweighted=(Unweighted("Side tank", "Tank", "TC-001", "", "some"),),
        removed=(RemovedPart("First cab", "TC-010", "Cab", "1998", "Wasted at the foot.", "in store", "original", (Fraction(60), Fraction(100))),),
        disputes=(Dispute("Boiler of 1912", "BO-110", "Boiler", "original", "A newsletter of 1987 says that it was bought in.", (2,)),),
        unknown=("Which frame plate was patched in 1931.", "Whether the door is of 1894 or of 1912."),
        sources=(
            SourceRow(1, "mark", "Stamp 412 on the main frames", "R. A.", "18 October 2022", "Works office", "Mark book 7, pp 1-3"),
            SourceRow(2, "ledger", "Boiler shop day book", "", "1911", "Railway archive", "DB 9"),
        ),
        hazards=(Hazard("Tank", "TC-001", "Side tank", ("lead paint", "asbestos")),),
        safety=("pressure", "lifting"),
        elevation=elevation(),
        losses=(Loss("First cab", "Cab of 1894", "TC-010", "in store", "1998", Interval.exactly(610_000)), Loss("Dome", "", "", "lost")),
        open_questions=(OpenQuestion("Side tank", "Tank", "TC-001", Fraction(31, 10), "not assessed", True),),
        evidence=evidence(made),
        elsewhere=(FromElsewhere("Whistle", "Whistle of No. 3", "BO-180", "original", "First No. 3", "1936", Interval.exactly(6_000)),),
        with_elsewhere=WithElsewhere(Fraction(30), Fraction(40), Fraction(50)),
        masses=Masses((MassKnown("weighed", 1, 2_400), MassKnown("calculated", 5, 9_000_000)), Interval(15_900_000, 16_000_000, 16_100_000), Fraction(563, 10)),
        worked=worked(),
        significance=worth(),
        time_rows=(
            TimeRow("1894", "the reference date", "80.0–100.0", "95.0", "90.0"),
            TimeRow("1912", "boiler renewed", "40.1–60.2", "50.3", "91.0", True),
        ),
        cumulative=Cumulative(
            "by mass, against as built (1894)",
            (SinceRow("the reference date, as built (1894)", "95.0 %", "47.5 %", "−47.5"), SinceRow("the first statement", "–", "47.5 %", "–")),
            (Fate("with this vehicle", "4,100", "61.0"), Fate("lost", "2,600", "39.0", True)),
            ("6,700", "100.0"), ("2,601", "39.1"), "The policy of this vehicle allows a loss of 50 points: it is kept to.",
        ),
        proposed=proposed(),
        policy=Policy(
            (("Principles adopted", "Venice Charter (1964), Article 12."), ("Second person", "asked for")),
            "Laid down on 3 March 2024 by M. Thorley, heritage officer; adopted: minute 31.",
        ),
        log=(LogRow("3 March 2024", "policy laid down", "M. Thorley, heritage officer", "adopted: minute 31"), LogRow("2 May 2023", "P-001 Cab: approved", "the committee")),
        in_public=InPublic(
            "By weight, at least 40 and at most 60 parts in every hundred are original.", "About half of her is of 1894.",
            "It names no percentage.", ("That she is all original.", "That she is fit to run: this statement does not show it."),
        ),
    )  # fmt: skip
    return replace(full, **changes)


def worth() -> tuple[Worth, ...]:
    """Of the whole, of a group in words, and of one without."""
    return (
        Worth("", (("Evidential", "The frames carry the makers’ numbers."), ("How rare", "One of two."))),
        Worth("Frames", (("Historical", "What makes her No. 6."),), "HAR-FR", "exceptional", "They carry the identity.", "2 exceptional, 1 some"),
        Worth("Brakes", (), "HAR-BR"),
    )  # fmt: skip


def proposed() -> Proposed:
    """Axleboxes: mended, which is recommended, or new."""
    options = (
        Option("A", "Weld and re-bush", "Crown cracks welded.", True, ("35.9–59.8 (low −0.1)", "47.3 (−0.2)", "46.1–56.6"), "38 kg", "Irreversible", "", ("Treat WS-101",)),
        Option("B", "New bronze", "To drawing 412/31.", False, ("34.0–57.6", "44.9 (−2.6)", "42.4–52.8"), "750 kg", "Fully", "Takes out two sound boxes.", ("Fit WS-221",)),
    )  # fmt: skip
    axleboxes = Impact(
        "P-027", "Axleboxes, all six", "submitted", "Safety: cracks of 38 mm.", ("Bounds by mass, %", "Best by mass, %", "Bounds by significance, %"),
        ("36.0–59.8", "47.5", "46.3–56.8"), options, (("Is it necessary?", "Yes: a cracked crown can break."),),
        "Waits for a decision. Recommended: alternative A, Weld and re-bush.",
    )  # fmt: skip
    return Proposed((axleboxes,), 2)


def elevation() -> Elevation:
    """A plate with a wheel: a region that is restored, one that is not assessed, and a line."""
    plate = Outline(steps_of("M0 0H90V40H0Z"), frozenset(), "RS", "plate")
    wheel = Outline(steps_of("M20 40A12 12 0 1 1 44 40A12 12 0 1 1 20 40Z"), frozenset(), "NA", "wheel")
    rail = Outline(steps_of("M-5 54H100"), frozenset({"m"}))
    return Elevation("Left-hand elevation", (plate, wheel, rail), (("RS", 1), ("NA", 1)))


def evidence(made: Engine) -> Evidence:
    inputs = made.inputs()
    floors = tuple(
        figure_view(
            figures_on(inputs, day=TODAY, reference=inputs.references[0], bases=("mass",), evidence_floor=floor)["mass"],
            inputs, guarded=True,
        )
        for floor in (1, 2, 3)
    )  # fmt: skip
    rows = (StrengthRow(3, 3, 4_020_000), StrengthRow(2, 1, 5_000_000), StrengthRow(None, 1, 900_000))
    return Evidence(rows, floors, ("heritage officer (4 parts)",), "18 October 2022")


def worked() -> Worked:
    """3,300 kg of which 0.85 is original, and 5,640 kg of which nothing is."""
    frames = WorkedItem("Main frame plates", "Frames", "FR-001", Fraction(3300), Fraction(4, 5), Fraction(17, 20), Fraction(9, 10))
    best = Quotient(Fraction(2805), Fraction(8940))
    return Worked(
        "mass", "kg", (frames,), 2, 3, Quotient(Fraction(0), Fraction(5640)), best,
        Quotient(Fraction(2560), Fraction(9900)), Quotient(Fraction(3060), Fraction(8900)),
    )  # fmt: skip


ISSUE = Issue(
    number="S-005", edition="assessor", issued_on=date(2024, 7, 1), approved_by="J. Penhale, trustee",
    supersedes="S-001, 14 March 2019", inputs_sha256="4f81b2c907de5a13", check_at="register.example/s/5",
)  # fmt: skip

FIXED = {"status", "disputed", "grade", "fate", "why", "basis", "unit", "state", "labels", "dated", "event"}
"""Fields whose words are those of a list, not anybody's text, or that another field repeats."""


def map_texts(value: Any, change: Callable[[str], str], name: str = "") -> Any:
    """The content with every text that somebody typed changed; those of the figures too."""
    if isinstance(value, str):
        return value if name in FIXED else change(value)
    if isinstance(value, FigureView):
        return replace(value, answer=replace(value.answer, reference=_renamed(value.answer.reference, change)))
    if name == "floors":  # the headline's reference period again
        return value
    if isinstance(value, Elevation):
        return replace(value, title=change(value.title))
    if isinstance(value, Survival):
        return replace(value, reference=_renamed(value.reference, change))
    if isinstance(value, tuple) and not hasattr(value, "_fields"):
        return tuple(map_texts(one, change, name) for one in value)
    if is_dataclass(value) and not isinstance(value, type):
        known = {one.name: map_texts(getattr(value, one.name), change, one.name) for one in fields(value)}
        return replace(value, **known) if not isinstance(value, Interval) else value
    return value


def _renamed(reference: Any, change: Callable[[str], str]) -> Any:
    return replace(reference, label=change(reference.label))
