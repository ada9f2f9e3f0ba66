//! The questions of a decision, each as a form: what is asked, in a builder's words.

use crate::form::{FieldKind, FormField, OfferedAt, RequestForm};

/// The other job of a comparison; no field of the question itself.
pub const AGAINST_JOB: &str = "against_job";
/// The other stage of a comparison.
pub const AGAINST_STAGE: &str = "against_stage";
/// The gasket's thickness on a slider, in the engine's unit of length.
pub const THICKNESS: &str = "thickness";

/// What becomes of chambers that are opened.
const MADE_EQUAL: &[(&str, &str)] = &[
    ("allowed", "as alike as the engine file allows"),
    ("chambers", "all chambers equal"),
    ("compression", "all compressions equal"),
];

/// Every question, what is asked most first. `request` is the question's name.
pub const QUESTIONS: &[RequestForm] = &[
    question(
        "what-if",
        "What if something were changed?",
        "Try a change before metal is cut.",
        &[FormField {
            kind: FieldKind::Lines,
            ..field(
                "set",
                "Changes",
                "A line for each: gasket thickness = 0.051 in, chamber/3 -= 2 cc",
            )
        }],
    ),
    question(
        "mill",
        "How deep to mill?",
        "Each head by itself, to an average compression or chamber.",
        &[
            RATIO,
            field(
                "chamber",
                "Or chamber volume",
                "e.g. 61.0 cc; instead of a compression",
            ),
            FormField {
                kind: FieldKind::Wholes,
                ..field(
                    "cylinders",
                    "Only the head of these cylinders",
                    "Each head where empty.",
                )
            },
            field(
                "area",
                "Area of a chamber's opening",
                "e.g. 52 cm2, or 52 cm2 +- 0.5 cm2 with one standard deviation, which is half of the ± that the answer tells; as the engine file has it where empty",
            ),
            tick("learn", "Learn it from the cuts already made"),
            field("angle", "Angle of a tipped cut", "e.g. 0.5 deg"),
            field(
                "centroid",
                "Chambers' openings from the line of tipping",
                "With its unit.",
            ),
            field(
                "far_edge",
                "Edge of the face from the line of tipping",
                "With its unit.",
            ),
            field(
                "most",
                "Most that may be cut in all",
                "As the engine file has it where empty.",
            ),
            FormField {
                kind: FieldKind::Choice(MADE_EQUAL),
                ..field(
                    "opened",
                    "With the chambers opened first",
                    "As they are where empty.",
                )
            },
        ],
    ),
    question(
        "chambers",
        "What to take out of each chamber?",
        "The least that keeps to what is allowed; or all as large as the largest, or all compressions alike.",
        &[FormField {
            kind: FieldKind::Choice(MADE_EQUAL),
            ..field(
                "equal",
                "How alike they become",
                "As alike as is allowed where empty.",
            )
        }],
    ),
    question(
        "dome",
        "Which dome or dish to order?",
        "The volume of the piston's top for a compression.",
        &[
            RATIO,
            FormField {
                kind: FieldKind::Number,
                ..field(
                    "ratio_tolerance",
                    "It may be off by",
                    "Half of the spread that is allowed where empty.",
                )
            },
        ],
    ),
    question(
        "gasket",
        "Which gasket to take?",
        "Of those at hand, the nearest to the compression first.",
        &[
            RATIO,
            FormField {
                kind: FieldKind::Rows(&["name", "bore", "thickness"]),
                needed: true,
                ..field(
                    "offers",
                    "Gaskets at hand",
                    "A line for each: name, opening, thickness as compressed. e.g. thin, 4.100 in, 0.027 in",
                )
            },
        ],
    ),
    question(
        "fit",
        "Which piston and rod into which bore?",
        "As many of each as there are cylinders; the least spread of the compression.",
        &[
            FormField {
                kind: FieldKind::Rows(&["id", "crown", "height", "pin_offset", "side"]),
                needed: true,
                ..field(
                    "pistons",
                    "Pistons",
                    "A line for each: mark, dome (+) or dish (-), compression height. e.g. P1, -3.2 cc, 1.2000 in",
                )
            },
            FormField {
                kind: FieldKind::Rows(&["id", "length", "side"]),
                needed: true,
                ..field(
                    "rods",
                    "Rods",
                    "A line for each: mark, length. e.g. R1, 6.0003 in",
                )
            },
        ],
    ),
    question(
        "next",
        "Which reading to take once more?",
        "The one that tells most.",
        &[
            FormField {
                kind: FieldKind::Choice(&[
                    ("compression", "compression"),
                    ("compression_spread", "spread of the compression"),
                    ("chamber_spread", "spread of the chambers"),
                    ("deck_spread", "spread of the decks"),
                ]),
                ..field("goal", "Of what", "All of them where empty.")
            },
            CYLINDER,
        ],
    ),
    question(
        "compare",
        "What is different from another stage or job?",
        "Both beside each other.",
        &[
            field(AGAINST_STAGE, "Stage", "Of this job, or of the other one."),
            field(AGAINST_JOB, "Other job", "This one where empty."),
        ],
    ),
    question(
        "ports",
        "Which port is unlike the others?",
        "Port against port of its kind, lift by lift.",
        &[],
    ),
    question(
        "target",
        "What separates each cylinder from a compression?",
        "The volume to take away or to add.",
        &[RATIO],
    ),
    question(
        "sensitivities",
        "What does the compression answer to?",
        "Each dimension a step further, and what its own ± makes.",
        &[CYLINDER],
    ),
    question(
        "effective",
        "What is the effective compression?",
        "From where the intake valve closes.",
        &[
            needed(
                "closing",
                "Intake closes",
                "After bottom dead centre, e.g. 62 deg",
            ),
            needed("at_lift", "Told at a lift of", "e.g. 0.050 in"),
            field(
                "rod",
                "Rod length",
                "As the engine file has it where empty.",
            ),
            field(
                "offset",
                "Offset of pin or bore",
                "As the engine file has it where empty.",
            ),
        ],
    ),
    question(
        "simulate",
        "Do the ± hold by simulation?",
        "The figures drawn many times over.",
        &[
            FormField {
                kind: FieldKind::Whole,
                ..field("trials", "Draws", "100000 where empty.")
            },
            FormField {
                kind: FieldKind::Whole,
                ..field("seed", "Seed", "Always the same where empty.")
            },
        ],
    ),
];

const RATIO: FormField = FormField {
    kind: FieldKind::Number,
    ..field(
        "ratio",
        "Compression to aim at",
        "As the engine file has it where empty.",
    )
};
const CYLINDER: FormField = FormField {
    kind: FieldKind::Whole,
    ..field("cylinder", "Cylinder", "")
};

pub(super) const fn question(
    request: &'static str,
    title: &'static str,
    about: &'static str,
    fields: &'static [FormField],
) -> RequestForm {
    RequestForm {
        request,
        title,
        about,
        done: "",
        at: OfferedAt::Elsewhere,
        fields,
    }
}

pub(super) const fn field(
    name: &'static str,
    label: &'static str,
    help: &'static str,
) -> FormField {
    FormField {
        name,
        label,
        help,
        kind: FieldKind::Text,
        needed: false,
    }
}

pub(super) const fn needed(
    name: &'static str,
    label: &'static str,
    help: &'static str,
) -> FormField {
    FormField {
        needed: true,
        ..field(name, label, help)
    }
}

const fn tick(name: &'static str, label: &'static str) -> FormField {
    FormField {
        kind: FieldKind::Tick,
        ..field(name, label, "")
    }
}
