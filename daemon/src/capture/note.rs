//! What a capture has to say besides values, as types, with a plain sentence for each.
//!
//! The module does not know how notes are shown, nor in which language.

use benchhand_drivers::Unit;
use serde::Serialize;

mod text;

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
    /// The gauge was not heard, or nobody was to look, and the value is like the one before: it may
    /// be the same place still.
    PlaceUnseen,
    /// The plunger went out and in as fast as a hand lifts a bridge or jerks the crank, it did not
    /// hang free meanwhile as far as was seen, and the value is like the one before: it may be the
    /// same place still.
    LiftedOrJerked,
    /// Passes are not counted, for the reason that was said before.
    PassesIgnored,
    /// A turn began or ended so near the top that it is no pass.
    TooShort,
    /// The gauge stands again where it stood before its number jumped: no key was pressed.
    NoKeyPressed {
        at: f64,
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
    /// A level does not hold: its run over the window.
    DoesNotHold {
        channel: u8,
        over_window: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// Nothing has changed since the last reading.
    AsBefore,
    /// The mean begins now.
    FromNow,
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
    /// The flow is that of a lower lift, although it should have risen with the lift.
    AsAtLift {
        lift: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// The route ended before enough passes over the turning point were good.
    PassesMissing { good: usize, needed: usize },
    /// The value keeps running at an even rate although it should rest.
    Leaking {
        per_min: f64,
        #[serde(serialize_with = "symbol")]
        unit: Unit,
    },
    /// The dial rested further on the pushed-in side of its zero than any place is: its number may
    /// run the other way than was stated.
    StoodPushedIn {
        by: f64,
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
    /// Whether it leaves open at which place the gauge stands.
    pub fn asks_which_place(&self) -> bool {
        matches!(
            self,
            CaptureNote::LeftUnfinished { .. }
                | CaptureNote::LeftTooSoon { .. }
                | CaptureNote::PlaceUnseen
                | CaptureNote::LiftedOrJerked
        )
    }

    /// Whether a key of the gauge may have been pressed, so that its zero may hold no more.
    pub fn doubts_the_zero(&self) -> bool {
        matches!(
            self,
            CaptureNote::JumpToZero { .. } | CaptureNote::SignFlip { .. }
        )
    }

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
