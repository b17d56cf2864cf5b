"""The sentences that every conservation statement holds, whatever the vehicle."""

from __future__ import annotations

from register.documents.figure_words import NBSP

NOT_KNOWN = "not known"
NONE_RECORDED = "None recorded."
NOT_RECORDED = "Not recorded."
NO_POLICY = "No policy is recorded for this vehicle."

SIGNIFICANCE_LEAD = (
    "What the vehicle is worth, in words, under the heads by which the trade weighs it. These words weigh in no figure; the"
    " grades of positions, which do, stand beside them."
)

IN_PUBLIC_LEAD = (
    "A panel is read by people who read nothing else. The sentence follows from the figures of this statement, in whole numbers"
    " rounded outwards, and is the one that the vehicle’s public page says."
)

PROVENANCE_ONLY = (
    "This statement is about fabric and provenance only. It does not show that the vehicle, or any part"
    " of it, is fit or safe to run. For that, see the safety file held by the railway’s responsible"
    " person."
)

DEFINITIONS = (
    ("original", "The part that belonged to this vehicle, not materially renewed."),
    (
        "restored",
        (
            "The part that belonged to this vehicle, repaired or brought back with some new material; how"
            " much is always said."
        ),
    ),
    ("replica", "Made to the historic pattern since the vehicle has been looked after as heritage."),
    ("modern substitute", "Made new or bought in since then, not to the historic pattern."),
    (
        "not assessed",
        (
            "Nobody has said, with acceptance, what it is. It may be anything, and is counted neither as"
            " original nor as new."
        ),
    ),
)
"""As in the method, section 1."""

PURPOSE = (
    "This statement sets down what the vehicle is made of, how anybody knows, and what is not known, so that those who"
    " own it, pay for it, list it or work on it can judge a proposal or a claim. It states a condition of the record on"
    " one day; it proposes nothing."
)

CHARTERS_LEAD = (
    "Paraphrased; read the texts before quoting them. No charter defines a percentage, nor “original” for a railway"
    " vehicle: those are this register’s own words, above and in the method."
)

CHARTERS = (
    [
        "FEDECRAIL, Riga Charter (2005)",
        "For historic railway equipment that is worked: restoration may replace missing parts, and the work is neither"
        " invisible nor glaring. See the modern and hidden parts.",
    ],
    [
        "Venice Charter (1964), Article 9",
        "Restoration rests on old substance and on documents that can be trusted and stops where conjecture begins. See the evidence,"
        " and what is not known.",
    ],
    [
        "Venice Charter, Article 11",
        "Valid work of every period is respected. So later historic fabric is shown, and more than one reference period.",
    ],
    [
        "Venice Charter, Article 12",
        "Replacements are distinguishable from what is original. See how new parts are marked.",
    ],
    [
        "Burra Charter (2013), Article 1",
        "Fabric is all the physical material of the place or thing, its parts and contents too; conservation is all the"
        " care that keeps its significance.",
    ],
    [
        "Burra Charter, Article 27",
        "The effect of a change, and of changes added up, is judged against significance, and the fabric is recorded before"
        " and after. See the change over time.",
    ],
)
"""Paraphrases; the clauses are those whose wording was read, in a public copy, by the authors."""

IDENTITY_APART = (
    "The identity of the vehicle is stated in words, on evidence. No percentage in this statement was worked out from"
    " it, and none decides it: the basis would stand at any figure."
)

RESTS_ON = {
    3: "a mark on the part itself, a works drawing, a ledger, or a test or survey report",
    2: "a dated photograph or publication, or two sources of different kinds",
    1: "one source that is testimony, inference or an undated picture",
    0: "no source",
    None: "no accepted assessment: it may be anything",
}
"""By the strength of an assessment (method, section 7)."""

HOW_SEEN = (
    "Whether a part was seen dismantled, in place or through paint is known only where a source or an event of the"
    " history says so; else it is not known. The share of a part-renewed part is the assessor’s estimate, with a low and"
    " a high, or follows from treatments of known share."
)

NOT_HELD = (
    "Condition, vulnerability, maintenance plans, costs and skills: not kept in this register.",
    "Whether a modern part can be undone, and which alternatives were rejected, where no proposal is named beside it.",
    "Where a copy of this record is deposited.",
)
NOT_IN_A_DRAFT = (
    "Earlier statements, and what has changed since by work or by knowledge: a draft is compared with none.",
    "An independent check of the figures: a draft is not checked. The check in the method shows how to make one.",
)

SCOPE = (
    "A part is one physical object, or a set registered as one. A position is the place where it is"
    " fitted. Parts that are renewed as a matter of course (brake blocks, tyres, gaskets, firebars, paint)"
    " are wear parts: they are listed and left out of the figures. Work done by or for the railway that"
    " worked the vehicle, in its working life, is historic, not new.",
    "No published method for a “percentage original” of a railway vehicle is known to the authors of this"
    " one. So every figure here carries its basis, its reference, its date and its bounds, and what makes"
    " this vehicle this vehicle is said in words, never worked out from a percentage.",
)

METHOD = (
    (
        "Bounds.",
        "The least and the greatest value that the figure can have, with every weight and every original"
        " fraction anywhere between its recorded low and high, and every part that is not assessed"
        " anywhere between nothing and all original. They are exact.",
    ),
    (
        "Best.",
        "100 times the sum of weight times original fraction, over the sum of weights, each at its best"
        " value, over the assessed parts alone. It is not given where less than half of the weight has"
        " been assessed.",
    ),
    (
        "Likely range.",
        "Best and 1.96 standard uncertainties to either side, by the law of propagation of uncertainty for"
        " independent inputs (JCGM 100:2008, 5.1.2), within the bounds. It is approximate.",
    ),
    (
        "Assessed share.",
        "How much of the weight has an accepted assessment. Unweighted parts have no weight on the basis;"
        " they are in no sum, and those without a mass are listed.",
    ),
    (
        "Whole vehicle.",
        "The bounds with one more item, of unknown origin, for what the vehicle weighs beyond the parts"
        " listed. Where a part is unweighted these bounds stand first, for leaving a modern part unweighed"
        " must not raise a figure. Where much is unweighted no other percentage by mass is given.",
    ),
    (
        "By mass, by count, by significance.",
        "Kilograms; every part or set once (vehicles are never compared by count); the grade of the position:"
        " exceptional 4, considerable 3, some 2, little 1, intrusive 0, which is a judgement.",
    ),
    (
        "Survival.",
        "The other question: of the vehicle as it was at the reference date, how much is left, and where.",
    ),
    (
        "Dates.",
        "A date that is only roughly known is taken as a span, and what may have been fitted, or lost, on"
        " either side of the day widens the bounds.",
    ),
    (
        "Rounding.",
        "Figures are worked out in full and rounded where they are printed: a low bound down and a high"
        f" bound up, the rest to the nearest 0.1{NBSP}%.",
    ),
)
"""The method, sections 2 to 8 and 13, in brief."""

CAUTIONS = (
    PROVENANCE_ONLY,
    "The law, the local codes and rule books, and the competent persons who answer under them prevail"
    " over anything that is said here. A part’s heritage is never a reason to refit it against their"
    " advice.",
    "Asbestos and lead: lagging, gaskets, packing, brake blocks, panels and old paint are presumed to"
    " hold asbestos or lead until they have been sampled, whether a hazard is recorded below or not. Leave"
    " them alone and ask a competent person. Chromates, mercury, PCBs and luminous paint may be met in old"
    " fittings too.",
    (
        "Masses are for these figures alone: part of them is calculated or estimated, and none is for"
        " planning a lift."
    ),
    "Pressure vessels, brakes, running gear, couplings, springs and lifting points: their condition,"
    " their limits and their examinations are in the safety file and with the competent persons. An"
    " examination named here is a pointer to a paper, never its result.",
    (
        "Fireboxes, boilers, tanks and other confined spaces are not to be entered because this statement"
        " describes them."
    ),
    "New parts are not to be hard-stamped, nor old marks cleaned up or struck again, on stressed,"
    " rotating or pressure parts without the engineer’s agreement.",
)
"""Usual cautions of the trade; common practice, no source, but for the presumption about asbestos, which
is that of the Control of Asbestos Regulations 2012 in Great Britain (from memory)."""

SHORT_METHOD = (
    "The bounds are the least and the greatest that the figure can be, whatever the parts that nobody has assessed turn out to"
    " be. The best figure rests on the assessed parts alone. Original is what belonged to this vehicle by the reference period;"
    " a replica is made new to the old pattern, a modern substitute is not. How it is all worked out is in the other editions."
)

SURVIVAL_SHARES = {
    "with_this_vehicle": "with this vehicle",
    "with_another_vehicle": "with another vehicle",
    "in_store": "in store",
    "transferred": "transferred to another owner",
    "material_renewed": "material renewed",
    "lost": "lost",
    "not_assessed": "not assessed",
}

REPLACED_CHARACTER = (
    "A character that the typeface of this paper lacks is printed as its Unicode number, for instance"
    " [U+6F22]."
)
