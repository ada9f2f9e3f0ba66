//! What a capture has to say besides values, as types, with a plain sentence for each.
//!
//! The module does not know how notes are shown, nor in which language.

use benchhand_drivers::Unit;
use serde::Serialize;
use std::fmt;

/// Something worth saying that is not a value.
///
/// Numbers are in `unit` where one is given, times in seconds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "note")]
#[allow(missing_docs)] // the fields are named by what they hold, in the units said above
pub enum CaptureNote {
    /// Too few samples lie near the turning point.
    TooFast { near: usize, needed: usize },
    /// No smooth turn fits the samples near the turning point.
    UnevenTurn,
    /// Two passes over the turning point differ by more than they may.
    PassesDisagree {
        first: f64,
        second: f64,
        allowed: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// Every pass stood still at its top: the plunger met its stop, or the hand turned back early.
    StoodAtTop,
    /// Too few good passes were made at the place before: the present one may be the next place.
    LeftUnfinished { good: usize, needed: usize },
    /// The gauge rested elsewhere and was lifted before a value was taken there: the present place
    /// may be the next one.
    LeftTooSoon {
        value: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// The first value after a silence is 0, far from the value before: the gauge was switched off
    /// and has lost its zero.
    ZeroLost {
        from: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// A channel beside the main one is too near to 0: its hose is off, or nothing flows there.
    NoFlow { channel: u8 },
    /// The value pulses about its mean by this share of it.
    Pulsing { share: f64 },
    /// The metering hose shows the usual test pressure, and the test hose does not: exchanged
    /// hoses.
    HosesExchanged {
        test: f64,
        metering: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// The flow is only this share of the expected flow. The expected flow comes from the round
    /// before, from the other cylinders at this lift, or from the neighbouring lifts of this port.
    OtherFlow {
        share: f64,
        between_lifts: bool,
        like_orifice: bool,
    },
    /// The flow is that of a lower lift, mm, although it should have risen with the lift.
    AsAtLift { lift_mm: f64 },
    /// The route ended before enough passes over the turning point were good.
    PassesMissing { good: usize, needed: usize },
    /// The value keeps running at an even rate although it should rest.
    Leaking {
        per_min: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// The plunger hangs free and touches nothing.
    Hanging,
    /// The gauge sends the same frame again and again: its noise is less than it can be.
    RepeatsLastFrame,
    /// The gauge is beyond its travel or range.
    Overrange,
    /// The gauge shows a frozen value (its hold key was pressed).
    DisplayHeld,
    /// The gauge reports a fault of its own.
    Fault,
    /// The value jumped to 0 without passing the values between: a key was pressed.
    JumpToZero {
        from: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// The value changed its sign in one step: a key was pressed.
    SignFlip {
        from: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// The gauge changed its unit.
    UnitChanged {
        #[serde(serialize_with = "symbol")]
        from: Unit,
        #[serde(serialize_with = "symbol")]
        to: Unit,
    },
    /// The vessel was lifted off, or something else rests on the pan.
    Away,
    /// The vessel is back. The rest differs by `shift` from the rest before.
    Back {
        shift: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// Liquid evaporates; `taken_off` is the loss that was added back to the value.
    Evaporation {
        per_min: f64,
        taken_off: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// The mean ran away by `over_window` during the window; its standard error is beside it.
    Drift {
        over_window: f64,
        se: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// The spread grew far beyond that of this gauge at rest.
    Unsteady {
        sd: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// No samples came for this long.
    Gap { seconds: f64 },
    /// Liquid was delivered while samples were lost: that amount is unknown.
    DeliveredInGap,
    /// The balance was tared, or its vessel lifted, while liquid ran: that amount is unknown.
    MovedMidPour,
    /// The balance shows 0 and its level rested before.
    AtZero,
    /// A pour came while capture was asked to ignore the samples.
    PouredOnHold,
    /// The same while capture still ignores the samples.
    PoursOnHold {
        delivered: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// A delivery was under way when the gauge was first heard: its amount is not known.
    BeginningUnseen,
    /// The work was broken off, and part of this pour may have come meanwhile.
    MayHaveBegunBefore,
    /// A pour began or ended without a rest: its end is known only roughly.
    NoRestBetween {
        uncertain: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// The burette was refilled amid a pour: the next delivery belongs to the same spot.
    GoesOn {
        delivered: f64,
        near_end: bool,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// One pour with a rest in it, or two pours from one filling: the amounts do not tell.
    OneOrTwo {
        first: f64,
        second: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// The burette was refilled so soon after a stream that the film in it had not drained.
    NotDrained {
        rested_s: f64,
        off: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// A small amount was let out to bring the level to the zero mark: no pour.
    ZeroSet {
        let_out: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// The level went back to where it began: nothing was delivered.
    NothingDelivered,
    /// The bridge or the gauge was moved; the passes before that are forgotten.
    Moved,
    /// The request cannot be met now: the gauge does not rest.
    NotStill,
    /// The request cannot be met: there is no value yet.
    NothingToTake,
    /// The reading was dropped because it is to be taken again.
    Again,
    /// The gauge rests, but was not moved since the last reading.
    NotArmed,
}

impl CaptureNote {
    /// Whether the amount of a pour was lost. Then the next pour may be the same one poured again.
    pub fn loses_a_pour(&self) -> bool {
        matches!(
            self,
            CaptureNote::DeliveredInGap
                | CaptureNote::MovedMidPour
                | CaptureNote::BeginningUnseen
                | CaptureNote::NoRestBetween { .. }
        )
    }
}

fn symbol<S: serde::Serializer>(unit: &Unit, to: S) -> Result<S::Ok, S::Error> {
    to.serialize_str(unit.symbol())
}

impl fmt::Display for CaptureNote {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use CaptureNote::*;
        match *self {
            TooFast { near, needed } => write!(
                f,
                "too fast: {near} samples near the turn, {needed} needed; turn more slowly over the top"
            ),
            StoodAtTop => f.write_str(
                "stood still at the top in every pass: plunger against its stop, or turned back too soon",
            ),
            LeftUnfinished { good, needed } => write!(
                f,
                "the place before was left after {good} of {needed} passes: which place is this?"
            ),
            LeftTooSoon { value, unit } => write!(
                f,
                "it rested at {value:.4} {unit} and was lifted before that was taken: which place is this?"
            ),
            ZeroLost { from, unit } => write!(
                f,
                "it shows 0 after a silence, {from:.4} {unit} before: switched off it has lost its zero: zero it, or hold and continue if it was not"
            ),
            NoFlow { channel } => write!(
                f,
                "channel {channel} shows next to nothing: is its hose on, is the blower running?"
            ),
            HosesExchanged {
                test,
                metering,
                unit,
            } => write!(
                f,
                "its test pressure is {test:.2} {unit} and its metering pressure {metering:.2} {unit}: are the hoses exchanged?"
            ),
            OtherFlow {
                share,
                between_lifts,
                like_orifice,
            } => {
                write!(f, "its flow is {:.0} % of what ", 100.0 * share)?;
                f.write_str(match between_lifts {
                    true => "the other lifts of this port allow",
                    false => "the same lift showed before",
                })?;
                f.write_str(match like_orifice {
                    true => ", as through another orifice of the list: which one is on?",
                    false => ": is it this lift, and the orifice that is stated?",
                })
            }
            AsAtLift { lift_mm } => write!(
                f,
                "its flow is that of the lift before, {:.3} in ({lift_mm:.2} mm): is the valve at this lift?",
                lift_mm / 25.4
            ),
            Pulsing { share } => write!(f, "pulsing by {:.0} % of the mean", 100.0 * share),
            PassesDisagree {
                first,
                second,
                allowed,
                unit,
            } => write!(
                f,
                "passes disagree: {first:.4} and {second:.4} {unit}, {allowed:.4} allowed; turn over again"
            ),
            UnevenTurn => {
                f.write_str("uneven: the hand stopped or jerked near the turn; turn over it again")
            }
            PassesMissing { good, needed } => write!(
                f,
                "{good} good passes over the turn, {needed} needed; turn over it again, slowly"
            ),
            Leaking { per_min, unit } => {
                write!(f, "leaking: {per_min:.3} {unit} a minute with the tap shut")
            }
            Hanging => f.write_str("not touching: the plunger hangs free"),
            RepeatsLastFrame => {
                f.write_str("the gauge repeats its last value; check its battery and cable")
            }
            Overrange => f.write_str("beyond the gauge's range or travel"),
            DisplayHeld => f.write_str("the gauge's display is on hold; release it"),
            Fault => f.write_str("the gauge reports a fault"),
            JumpToZero { from, unit } => write!(
                f,
                "jumped from {from} {unit} to zero: was the gauge's zero key pressed?"
            ),
            SignFlip { from, unit } => write!(
                f,
                "the sign flipped at {from} {unit}: was the gauge's direction key pressed?"
            ),
            UnitChanged { from, to } => {
                write!(
                    f,
                    "the gauge changed from {from} to {to}; set it back or begin again"
                )
            }
            Away => f.write_str("vessel lifted, or something rests on the pan"),
            Back { shift, unit } => write!(f, "vessel back, {shift:+.3} {unit} from before"),
            Evaporation {
                per_min,
                taken_off,
                unit,
            } => write!(
                f,
                "evaporation of {per_min:.3} {unit} a minute; {taken_off:.3} {unit} allowed for"
            ),
            Drift {
                over_window,
                se,
                unit,
            } => write!(
                f,
                "drift of {over_window:+.3} {unit} over the window (standard error {se:.3})"
            ),
            Unsteady { sd, unit } => write!(f, "unsteady: spread of {sd:.4} {unit}"),
            Gap { seconds } => write!(f, "no value from the gauge for {seconds:.1} s"),
            DeliveredInGap => {
                f.write_str("delivery went on while the gauge was not heard; pour this one again")
            }
            MovedMidPour => f.write_str(
                "the balance was tared, or its vessel lifted, while liquid ran; pour this one again",
            ),
            AtZero => f.write_str("the balance shows 0: tared, or its vessel lifted"),
            PouredOnHold => f.write_str("it was poured while on hold"),
            PoursOnHold { delivered, unit } => write!(
                f,
                "{delivered:.2} {unit} poured on hold, not counted yet: continue, and it is asked about"
            ),
            MayHaveBegunBefore => {
                f.write_str("part of it may have come while nobody listened")
            }
            BeginningUnseen => {
                f.write_str("a delivery was under way before a rest was seen; pour this one again")
            }
            NoRestBetween { uncertain, unit } => write!(
                f,
                "no rest between pour and refill: known to {uncertain:.2} {unit} only"
            ),
            GoesOn {
                delivered,
                near_end,
                unit,
            } => {
                f.write_str(match near_end {
                    true => "refilled near the burette's end",
                    false => "refilled in mid-pour",
                })?;
                write!(f, " after {delivered:.2} {unit}: this one goes on")
            }
            OneOrTwo {
                first,
                second,
                unit,
            } => write!(
                f,
                "{first:.2} {unit}, a rest, and {second:.2} {unit} more: one or two?"
            ),
            NotDrained {
                rested_s,
                off,
                unit,
            } => write!(
                f,
                "the burette was refilled {rested_s:.1} s after the stream, before it had drained: \
                 it may be {off:.2} {unit} off"
            ),
            ZeroSet { let_out, unit } => {
                write!(
                    f,
                    "{let_out:.2} {unit} let out down to the zero mark: not counted"
                )
            }
            NothingDelivered => f.write_str("back at the level it began: nothing was delivered"),
            Moved => f.write_str("the gauge was moved: passes before this are forgotten"),
            NotStill => f.write_str("not still yet"),
            NothingToTake => f.write_str("nothing to take yet"),
            Again => f.write_str("dropped, to be taken again"),
            NotArmed => f.write_str("not moved since the last reading"),
        }
    }
}
