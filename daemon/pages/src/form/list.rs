//! Every form there is: a description in data, one after the other. One job, and long.

use super::{FieldKind, FormField, OfferedAt, RequestForm};

/// Every form.
pub const FORMS: &[RequestForm] = &[
    RequestForm {
        request: "jobs/cut",
        title: "Say what was cut",
        about: "A cut opens a new stage: readings of what it changed are not pooled across it.",
        done: "The cut is kept, and a new stage is open.",
        at: OfferedAt::Job,
        fields: &[
            JOB,
            text("stage", "Name of the new stage", "e.g. milled 1"),
            text("what", "What was cut", "e.g. 0.010 in off both heads"),
            FormField {
                kind: FieldKind::Words,
                ..text(
                    "changes",
                    "What it changed",
                    "The first words of the spots: chamber, deck, bore, flow …",
                )
            },
            FormField {
                kind: FieldKind::Wholes,
                ..optional(
                    "cylinders",
                    "Only these cylinders",
                    "Readings of the others hold on. All of them where empty.",
                )
            },
            optional("depth", "How deep", "With its unit, where it is known."),
            tick(
                "sure",
                "The depth is right, though it is more than may be cut",
            ),
        ],
    },
    RequestForm {
        request: "jobs/correct-cut",
        title: "Correct a cut",
        about: "Where a cut was typed wrong: its readings stay at its stage. A cut that never was is \
                taken back: what was measured after it counts for the stage before.",
        done: "The record says what was cut.",
        at: OfferedAt::Job,
        fields: &[
            JOB,
            text(
                "stage",
                "Stage that the cut opened",
                "By its name, e.g. milled 1",
            ),
            optional(
                "what",
                "What was cut",
                "Left empty, it stays as it was said.",
            ),
            FormField {
                kind: FieldKind::Words,
                ..optional(
                    "changes",
                    "What it changed",
                    "chamber, deck, bore, flow … Left empty, it stays as it was said.",
                )
            },
            FormField {
                kind: FieldKind::Wholes,
                ..optional(
                    "cylinders",
                    "Only these cylinders",
                    "Left empty, they stay as they were said.",
                )
            },
            optional(
                "depth",
                "How deep",
                "With its unit. Left empty, it stays as it was said.",
            ),
            tick("no_depth", "How deep is not known, whatever was said"),
            tick("take_back", "Nothing was cut: take it back"),
            optional("reason", "Why", ""),
            tick(
                "sure",
                "It is right, though readings count for another stage then, or the depth is more than may be cut",
            ),
            BY,
        ],
    },
    RequestForm {
        request: "jobs/exchange-heads",
        title: "Exchange two heads",
        about: "Each goes to the other's bank, and what was measured of it goes along: chambers, ports, valves and flow. Decks and pistons stay.",
        done: "The readings went along with the heads.",
        at: OfferedAt::Job,
        fields: &[
            JOB,
            FormField {
                kind: FieldKind::Words,
                ..text("banks", "The two banks", "By their names, e.g. left right")
            },
            tick(
                "not_turned",
                "The heads keep their front to the front (otherwise what was at the front goes to the rear)",
            ),
            BY,
        ],
    },
    RequestForm {
        request: "jobs/order",
        title: "Enter what was ordered",
        about: "When the parts have come and are measured, ordered stands beside measured. A later \
                order of the same size takes the place of an earlier one.",
        done: "The order is in the record.",
        at: OfferedAt::Job,
        fields: &[
            JOB,
            FormField {
                kind: FieldKind::Rows(&["part", "value", "tolerance"]),
                ..optional(
                    "parts",
                    "What was ordered",
                    "A line for each size: dome, dish, height, bore, skirt or rod; its value; its tolerance if there is one. e.g. dish, 4.20 cc, 0.15 cc. Of one cylinder alone: dish/3",
                )
            },
            optional("from", "From whom", ""),
            optional("on", "Ordered on", "Year-month-day. Today where empty."),
            BY,
            optional("note", "Remark", ""),
            optional(
                "sheet",
                "Hash of the order's sheet",
                "As it stands below the sheet. May stay empty.",
            ),
            FormField {
                kind: FieldKind::Words,
                ..optional(
                    "take_back",
                    "Take back",
                    "Sizes that were never ordered, e.g. dish or height.",
                )
            },
        ],
    },
    RequestForm {
        request: "conditions/set",
        title: "Say a condition",
        about: "A liquid, a temperature, a pressure. It holds until it is said anew.",
        done: "The condition is kept.",
        at: OfferedAt::Job,
        fields: &[
            JOB,
            text("name", "What of", "e.g. liquid, liquid/temperature"),
            text("value", "What it is", "e.g. water, 21.5 degC"),
            optional("u", "Standard uncertainty", "With its unit."),
            optional(
                "since_number",
                "From reading number",
                "12, or A12 where several stations measure. Left empty, it holds for the readings to come.",
            ),
        ],
    },
    RequestForm {
        request: "readings/enter",
        title: "Type a reading",
        about: "For a gauge that is read by eye, outside a route.",
        done: "The reading is kept.",
        at: OfferedAt::Job,
        fields: &[
            JOB,
            text("spot", "Where", "e.g. chamber/3, deck/5/front"),
            optional(
                "value",
                "Value",
                "With its unit. A deck in the hole is positive, out of the hole negative; a dome is positive, a dish negative. Of a flow both: 28.0 and 4.55 inH2O. Left empty where levels are given.",
            ),
            FormField {
                kind: FieldKind::Rows(&["from", "to"]),
                ..optional(
                    "levels",
                    "Burette levels",
                    "A line for each filling: from, to. e.g. 0.00 cc, 46.25 cc",
                )
            },
            optional("u", "Standard uncertainty", "With its unit."),
            optional("gauge", "Gauge", "By its name in the shop."),
            optional(
                "stage",
                "Stage",
                "For a value of before a cut. Left empty, the present one.",
            ),
            tick(
                "sure",
                "It is right, though it is far from what is expected",
            ),
            BY,
        ],
    },
    RequestForm {
        request: "readings/import",
        title: "Import readings",
        about: "Rows of a notebook, as CSV with a heading.",
        done: "The readings are kept.",
        at: OfferedAt::Job,
        fields: &[
            JOB,
            FormField {
                kind: FieldKind::Lines,
                ..text("csv", "Rows", "Columns: spot, value, unit and others.")
            },
            FROM_FORM,
            tick(
                "sure",
                "They are right, though some are far from what is expected",
            ),
            BY,
        ],
    },
    RequestForm {
        request: "readings/void",
        title: "Void a reading",
        about: "The reading stays in the record and counts no more.",
        done: "The reading is void.",
        at: OfferedAt::Elsewhere,
        fields: &[
            JOB,
            text(
                "number",
                "Number of the reading",
                "12, or A12 where several stations measure",
            ),
            text("reason", "Why", ""),
            BY,
        ],
    },
    RequestForm {
        request: "readings/move",
        title: "Move a reading",
        about: "The reading was taken at another spot than it says.",
        done: "The reading is moved.",
        at: OfferedAt::Elsewhere,
        fields: &[
            JOB,
            text(
                "number",
                "Number of the reading",
                "12, or A12 where several stations measure",
            ),
            text("to", "To where it belongs", "e.g. chamber/5"),
            optional("reason", "Why", ""),
            BY,
        ],
    },
    RequestForm {
        request: "routes/start",
        title: "Begin a route",
        about: "The route asks for one stop after the other.",
        done: "The route is begun.",
        at: OfferedAt::Elsewhere,
        fields: &[
            JOB,
            text("route", "Route", ""),
            FormField {
                kind: FieldKind::Pairs,
                ..optional(
                    "gauges",
                    "Gauges",
                    "A line for each kind: volume = burette-1. Only where there are several of a kind.",
                )
            },
            FormField {
                kind: FieldKind::Wholes,
                ..optional(
                    "cylinders",
                    "Only these cylinders",
                    "In this order. All of them where empty.",
                )
            },
            FormField {
                kind: FieldKind::Number,
                ..optional(
                    "mean_s",
                    "Seconds of a mean",
                    "5 to 60, of a flow. 15 where empty.",
                )
            },
            FormField {
                kind: FieldKind::Lists,
                ..optional("lists", "Lists", "e.g. lift = 0.100in 0.200in 0.300in")
            },
            whole(
                "rounds",
                "Rounds",
                "How often each spot is visited. The route's own number where empty.",
            ),
            FormField {
                kind: FieldKind::Lines,
                ..optional("text", "A route of your own", "Its file's text.")
            },
            tick("afresh", "Start over, though a route stands half-way"),
            BY,
        ],
    },
    RequestForm {
        request: "bench/plate",
        title: "Check the flow bench by its plate",
        about: "Do it first and last in a session. The orifice takes its flow from the plate.",
        done: "The check is kept.",
        at: OfferedAt::Job,
        fields: &[
            JOB,
            text(
                "flow",
                "Flow of the plate",
                "By its certificate: 150 cfm, or 150 cfm +- 0.8 cfm (one standard deviation)",
            ),
            text("at", "At the pressure", "e.g. 28 inH2O"),
            ORIFICE,
            optional(
                "test",
                "Test pressure now",
                "With its unit. By the gauge where empty.",
            ),
            METERING,
            FLOW_GAUGE,
            number(
                "allow",
                "Allowed departure",
                "As a share of the flow; 0.01 where empty.",
            ),
            optional("plate", "Name of the plate", ""),
            tick(
                "sure",
                "The plate is right, though the bench is off by more than 5 %",
            ),
        ],
    },
    RequestForm {
        request: "bench/leak",
        title: "Keep the leak of the flow bench",
        about: "Measured with the port sealed. It is taken off at the same pressure.",
        done: "The leak is kept.",
        at: OfferedAt::Job,
        fields: &[
            JOB,
            optional(
                "flow",
                "Leak",
                "2.1 cfm, or 2.1 cfm +- 0.3 cfm (one standard deviation). By the metering pressure where empty.",
            ),
            optional(
                "at",
                "Test pressure",
                "With its unit. By the gauge where empty.",
            ),
            METERING,
            ORIFICE,
            FLOW_GAUGE,
        ],
    },
    RequestForm {
        request: "gauges/zero",
        title: "Zero a gauge",
        about: "What it shows now, held still, is where the master stands.",
        done: "The zero is kept.",
        at: OfferedAt::Job,
        fields: &[
            GAUGE,
            JOB,
            optional(
                "master",
                "Master",
                "With its unit, where it is not 0: a setting ring.",
            ),
            RAW,
            optional(
                "u",
                "Standard uncertainty of this zeroing",
                "With its unit.",
            ),
            tick(
                "hanging",
                "It hangs free: this value is never to be a reading",
            ),
        ],
    },
    RequestForm {
        request: "gauges/check",
        title: "Check a gauge",
        about: "Against a master, or that its zero comes back.",
        done: "The check is kept.",
        at: OfferedAt::Job,
        fields: &[
            GAUGE,
            JOB,
            optional("master", "Master", "With its unit. Zero where empty."),
            RAW,
            optional(
                "allow",
                "Allowed departure",
                "With its unit. One count where empty.",
            ),
            optional("u", "Standard uncertainty of the master", "With its unit."),
        ],
    },
    RequestForm {
        request: "gauges/compare",
        title: "Check a gauge at several points",
        about: "The gauge gets its correction and its uncertainty from it.",
        done: "The check is kept.",
        at: OfferedAt::Job,
        fields: &[
            GAUGE,
            JOB,
            FormField {
                kind: FieldKind::Rows(&["master", "shown", "u"]),
                ..text(
                    "points",
                    "Comparisons",
                    "A line for each: master, shown, and its own uncertainty if there is one. e.g. 0.500 in, 0.4995 in",
                )
            },
            FormField {
                kind: FieldKind::Choice(&[("masters", "masters"), ("water", "water")]),
                ..optional(
                    "against",
                    "Against",
                    "By water the masters are weights, volumes or heights of a column.",
                )
            },
            optional(
                "with",
                "Gauge that gave the masters' values",
                "By its name in the shop.",
            ),
            optional(
                "channel",
                "Channel",
                "By its name in the profile. The first where empty.",
            ),
            optional("allow", "Allowed departure", "With its unit."),
            optional(
                "u",
                "Standard uncertainty that the masters share",
                "With its unit.",
            ),
            optional(
                "water.temperature",
                "Temperature of the water",
                "e.g. 21.5 degC; only by water.",
            ),
            optional("water.glass", "Glass", "borosilicate or soda-lime"),
            optional(
                "water.air",
                "Air about the balance",
                "e.g. 1013 hPa, 21 degC, 45 %RH",
            ),
            optional("water.gravity", "Gravity", "e.g. 9.81 m/s2"),
        ],
    },
    RequestForm {
        request: "jobs/accept-damage",
        title: "Accept damage of the record",
        about: "Where the record is damaged and no sound copy is left: the job goes on without \
                what is missing. The record says so for good.",
        done: "The damage is accepted.",
        at: OfferedAt::Job,
        fields: &[
            JOB,
            text("reason", "Why", "e.g. the disk failed, no copy is left"),
        ],
    },
    RequestForm {
        request: "gauges/set",
        title: "Set a gauge up in every detail",
        about: "What is not known may stay empty: the figures then say what they leave out.",
        done: "The gauge is in the register.",
        at: OfferedAt::Gauges,
        fields: &[
            text("setup.name", "Name in this shop", "e.g. burette-1"),
            text("setup.profile", "Profile", "How this kind of gauge talks."),
            optional(
                "setup.port",
                "Port",
                "e.g. /dev/ttyUSB0. Empty for a gauge read by eye.",
            ),
            optional(
                "setup.adapter",
                "Adapter",
                "Its identity as the list of ports shows it; it wins over the port.",
            ),
            FormField {
                kind: FieldKind::WholeChoice(&[
                    ("1", "grows as the plunger is pushed in"),
                    ("-1", "shrinks as the plunger is pushed in"),
                ]),
                ..optional("setup.sense", "The number", "Of a length gauge.")
            },
            FormField {
                kind: FieldKind::Choice(&[("up", "up"), ("down", "down")]),
                ..optional(
                    "setup.counts",
                    "While it delivers, a burette's scale runs",
                    "Asked at the first movement where empty.",
                )
            },
            optional("setup.capacity", "Capacity of a burette", "e.g. 100 cc"),
            optional(
                "setup.resolution",
                "Smallest step",
                "e.g. 0.0005 in; from its own decimals where empty.",
            ),
            optional(
                "setup.u",
                "Standard uncertainty of its calibration",
                "e.g. 0.0002 in. Empty: never checked.",
            ),
            number(
                "setup.scale_u",
                "Relative standard uncertainty of its scale",
                "e.g. 0.001",
            ),
            optional(
                "setup.repeatability",
                "Repeatability",
                "Standard deviation of a reading set up anew, e.g. 0.05 cc",
            ),
            number(
                "setup.repeatability_dof",
                "Degrees of freedom of the repeatability",
                "One less than the number of readings behind it.",
            ),
            optional(
                "setup.calibrated",
                "When and by what it was last calibrated",
                "",
            ),
            FormField {
                kind: FieldKind::Lines,
                ..optional("profile_text", "A profile of your own", "Its file's text.")
            },
        ],
    },
    RequestForm {
        request: "gauges/remove",
        title: "Take a gauge out",
        about: "What it measured stays.",
        done: "The gauge is out of the register.",
        at: OfferedAt::Elsewhere,
        fields: &[GAUGE],
    },
    RequestForm {
        request: "profiles/check",
        title: "Check a profile",
        about: "Says what is wrong in a profile of your own, with line and column.",
        done: "The profile is sound.",
        at: OfferedAt::Gauges,
        fields: &[
            FormField {
                kind: FieldKind::Lines,
                ..text("text", "Profile", "Its file's text.")
            },
            FROM_FORM,
        ],
    },
    RequestForm {
        request: "board/network/open",
        title: "Let a tablet in",
        about: "Opens the local network and shows a code for one device.",
        done: "The network is open.",
        at: OfferedAt::Gauges,
        fields: &[whole("port", "Port", "A free one where empty.")],
    },
    RequestForm {
        request: "board/network/close",
        title: "Shut the tablets out",
        about: "Closes the network and forgets every device that was let in.",
        done: "The network is closed.",
        at: OfferedAt::Gauges,
        fields: &[],
    },
    RequestForm {
        request: "stop",
        title: "Stop benchhand on this machine",
        about: "What is being kept is finished first. Afterwards no page answers.",
        done: "It stops.",
        at: OfferedAt::Gauges,
        fields: &[],
    },
];

/// The requests that change something or need fields, and have another way than a form here, with
/// the page that has it.
pub const NO_FORM: &[(&str, &str)] = &[
    ("routes/control", "the board's keys"),
    (
        "gauges/find",
        "the page of the gauges, where a port is listened at",
    ),
    (
        "jobs/pack",
        "the page of the job, from which the file is loaded",
    ),
    ("jobs/unpack", "the page that takes a job in, with a file"),
    ("jobs/decide", "the pages of the decisions"),
    (
        "jobs/sheet",
        "the page of the sheets, and a decision's answer",
    ),
    ("jobs/new", "the page on which an engine is stated"),
    ("jobs/engine/set", "the page on which an engine is stated"),
    (
        "shop/join",
        "the command at the machine: it needs the password of a role",
    ),
    (
        "shop/prepare",
        "the command at the machine: it needs the password of the owner's role",
    ),
    ("shop/leave", "the command at the machine"),
    (
        "board/open",
        "the command that opens the page: a page that is open needs none",
    ),
];

/// The form of a request, if it has one.
pub fn form_of(request: &str) -> Option<&'static RequestForm> {
    FORMS.iter().find(|form| form.request == request)
}

/// The forms that are offered on a job's page.
pub fn of_jobs() -> impl Iterator<Item = &'static RequestForm> {
    FORMS.iter().filter(|form| form.at == OfferedAt::Job)
}

/// The forms that are offered beside the gauges.
pub fn of_gauges() -> impl Iterator<Item = &'static RequestForm> {
    FORMS.iter().filter(|form| form.at == OfferedAt::Gauges)
}

/// What messages call a text that came by a form.
const FROM_FORM: FormField = FormField {
    kind: FieldKind::Always("the form"),
    ..optional("file", "", "")
};
/// Who does it; the browser keeps what was typed.
const BY: FormField = optional(
    "by",
    "Your initials",
    "At most 8 letters or digits. This browser keeps them.",
);
const JOB: FormField = text("job", "Job", "");
const GAUGE: FormField = text("name", "Gauge", "By its name in the shop.");
const RAW: FormField = optional(
    "raw",
    "What it shows",
    "With its unit, of a gauge that is read by eye. Live where empty.",
);
const ORIFICE: FormField = optional(
    "orifice",
    "Metering orifice",
    "By its name in the engine file; the bench's own where empty.",
);
const METERING: FormField = optional(
    "metering",
    "Metering pressure now",
    "With its unit. By the gauge where empty.",
);
const FLOW_GAUGE: FormField = optional(
    "gauge",
    "Gauge",
    "The one that has both pressures as its channels.",
);

const fn text(name: &'static str, label: &'static str, help: &'static str) -> FormField {
    FormField {
        name,
        label,
        help,
        kind: FieldKind::Text,
        needed: true,
    }
}

const fn optional(name: &'static str, label: &'static str, help: &'static str) -> FormField {
    FormField {
        needed: false,
        ..text(name, label, help)
    }
}

const fn number(name: &'static str, label: &'static str, help: &'static str) -> FormField {
    FormField {
        kind: FieldKind::Number,
        ..optional(name, label, help)
    }
}

const fn whole(name: &'static str, label: &'static str, help: &'static str) -> FormField {
    FormField {
        kind: FieldKind::Whole,
        ..optional(name, label, help)
    }
}

const fn tick(name: &'static str, label: &'static str) -> FormField {
    FormField {
        kind: FieldKind::Tick,
        ..optional(name, label, "")
    }
}
