"""The sentences that every conservation statement holds, whatever the vehicle."""

from __future__ import annotations

from register.documents.figure_words import NBSP

NOT_KNOWN = "not known"
NONE_RECORDED = "None recorded."

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
