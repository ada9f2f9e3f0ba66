//! Refuses two fields that claim the same bytes.

use std::ops::Range;

use super::draft::{Draft, StatusDraft};
use super::frame::Frame;
use crate::profile::error::{Flaw, ProfileFault};
use crate::profile::model::{By, Chooser, FieldPlace, Form, Framing, Sent, Stretch};

/// A stretch of the content that a field claims, and the bits of it.
struct Claim {
    what: String,
    place: FieldPlace,
    bits: u8,
    span: Range<usize>,
}

impl Claim {
    fn collides(&self, other: &Claim) -> bool {
        let same_place = match (&self.place, &other.place) {
            (FieldPlace::At { at: a, len: n }, FieldPlace::At { at: b, len: m }) => {
                *a < b.saturating_add(*m) && *b < a.saturating_add(*n)
            }
            (FieldPlace::Whole, FieldPlace::Whole) => true,
            (a, b) => a == b,
        };
        same_place && self.bits & other.bits != 0
    }
}

pub(super) fn fields(
    frame: &Frame<'_>,
    channels: &[Draft],
    statuses: &[StatusDraft],
) -> Result<(), Flaw> {
    let mut claims: Vec<Claim> = fixed_parts(frame);
    let asked_apart = channels
        .iter()
        .all(|draft| draft.command.is_some() || draft.id.is_some());
    for (number, draft) in channels.iter().enumerate() {
        // Channels that are never in the same frame may stand at the same place.
        let apart = asked_apart && number > 0;
        let mut own = Vec::new();
        for claim in channel_claims(draft) {
            if !apart {
                check(&claims, &claim)?;
            }
            check(&own, &claim)?;
            own.push(claim);
        }
        claims.append(&mut own);
    }
    for StatusDraft { rule, span, .. } in statuses {
        let claim = claim("a status field", &rule.chooser, span);
        check(&claims, &claim)?;
        claims.push(claim);
    }
    Ok(())
}

fn check(known: &[Claim], claim: &Claim) -> Result<(), Flaw> {
    let Some(other) = known.iter().find(|other| other.collides(claim)) else {
        return Ok(());
    };
    Err(Flaw::new(
        ProfileFault::Overlap,
        claim.span.clone(),
        format!("{} where {} stands", claim.what, other.what),
        "fields that do not overlap",
        "correct `at`, `len`, `column` or `bit` of one of them",
    ))
}

fn channel_claims(draft: &Draft) -> Vec<Claim> {
    let name = &draft.info.name;
    let mut claims = vec![Claim {
        what: format!("the value of channel \"{name}\""),
        place: draft.channel.place.clone(),
        bits: 0xFF,
        span: draft.span.clone(),
    }];
    if let Some(sign) = &draft.channel.sign {
        claims.push(claim(
            &format!("the sign of channel \"{name}\""),
            sign,
            &draft.span,
        ));
    }
    if let Some(point) = &draft.channel.point {
        claims.push(Claim {
            what: format!("the decimal point of channel \"{name}\""),
            place: point.clone(),
            bits: 0xFF,
            span: draft.span.clone(),
        });
    }
    if let Sent::Field(unit) = &draft.channel.unit.sent {
        let what = format!("the unit of channel \"{name}\"");
        let unit_claim = claim(&what, unit, &draft.span);
        claims.push(unit_claim);
    }
    claims
}

fn claim<T>(what: &str, chooser: &Chooser<T>, span: &Range<usize>) -> Claim {
    let bits = match chooser.by {
        By::Words(_) => 0xFF,
        By::Bit { bit, .. } => 1 << bit,
    };
    Claim {
        what: what.to_owned(),
        place: chooser.place.clone(),
        bits,
        span: span.clone(),
    }
}

/// Sync bytes, count and checksum of a frame whose positions are bytes of the whole frame.
fn fixed_parts(frame: &Frame<'_>) -> Vec<Claim> {
    let span = frame.section.span.clone();
    if frame.content != Stretch::ALL || !matches!(frame.form, Form::Text | Form::Bytes) {
        return Vec::new();
    }
    let claim = |what: &str, at: usize, len: usize| Claim {
        what: what.to_owned(),
        place: FieldPlace::At { at, len },
        bits: 0xFF,
        span: span.clone(),
    };
    let mut claims = Vec::new();
    let length = match &frame.framing {
        Framing::Fixed { length, sync } => {
            claims.extend(
                sync.iter()
                    .map(|(at, is)| claim("a sync field", *at, is.len())),
            );
            Some(*length)
        }
        Framing::Counted { sync, count, .. } => {
            claims.extend(
                sync.iter()
                    .map(|(at, is)| claim("a sync field", *at, is.len())),
            );
            claims.push(claim("the length", count.at, count.len));
            None
        }
        _ => return Vec::new(),
    };
    if let Some(sum) = &frame.checksum {
        let at = usize::try_from(sum.at)
            .ok()
            .or_else(|| length?.checked_sub(sum.at.unsigned_abs() as usize));
        claims.extend(at.map(|at| claim("the checksum", at, sum.len())));
    }
    claims
}

/// Refuses two Modbus channels that claim the same registers.
pub(super) fn registers(channels: &[Draft]) -> Result<(), Flaw> {
    for (index, draft) in channels.iter().enumerate() {
        let Some(one) = draft.register else { continue };
        let clash = channels.iter().take(index).find(|other| {
            other.register.is_some_and(|other| {
                (one.address, one.function) == (other.address, other.function)
                    && u32::from(one.first) < other.end()
                    && u32::from(other.first) < one.end()
            })
        });
        if let Some(other) = clash {
            return Err(Flaw::new(
                ProfileFault::Overlap,
                draft.span.clone(),
                format!(
                    "the registers of channel \"{}\" where those of \"{}\" stand",
                    draft.info.name, other.info.name
                ),
                "fields that do not overlap",
                "correct `register` or `type` of one of them",
            ));
        }
    }
    Ok(())
}
