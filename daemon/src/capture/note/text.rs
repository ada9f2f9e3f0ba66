//! The plain sentence of each note.

use std::fmt;

use benchhand_drivers::Unit;

use super::CaptureNote;

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
            PlaceUnseen => f.write_str(
                "nobody saw whether the bridge was moved, and it is like the one before: which place is this?",
            ),
            LiftedOrJerked => f.write_str(
                "the bridge was lifted or the crank was jerked, and it is like the one before: which place is this?",
            ),
            PassesIgnored => f.write_str(
                "this pass is not counted: zero the gauge, or hold and continue if its zero stands",
            ),
            TooShort => f.write_str(
                "the turn began or ended too near the top: go further back, then over it again",
            ),
            NoKeyPressed { at, unit } => write!(
                f,
                "it is back at {at:.3} {unit}: no key was pressed"
            ),
            ZeroLost { from, unit } => write!(
                f,
                "it shows 0 after a silence, {from:.4} {unit} before: switched off it has lost its zero: zero it, or hold and continue if it was not"
            ),
            NoFlow { channel } => write!(
                f,
                "channel {channel} shows next to nothing: is its hose on, is the blower running?"
            ),
            DoesNotHold {
                channel,
                over_window,
                unit,
            } => write!(
                f,
                "channel {channel} does not hold yet, it still {} ({over_window:+.3} {unit} over the window)",
                if over_window > 0.0 { "climbs" } else { "falls" }
            ),
            AsBefore => f.write_str(
                "the pressures are as at the reading before: set the next valve, or take if it is set",
            ),
            FromNow => f.write_str("the mean begins now"),
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
            AsAtLift { lift, unit } => write!(
                f,
                "its flow is that of the lift before, {lift:.*} {unit}: is the valve at this lift?",
                if unit == Unit::Inch { 3 } else { 2 }
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
            StoodPushedIn { by, unit } => write!(
                f,
                "the dial stood {by:.3} {unit} further in than on its zero face. If it hung free there, its number runs the other way than the register says: end, and `gauge direction`"
            ),
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
