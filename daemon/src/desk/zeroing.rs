//! The request that zeroes a gauge, or learns what it shows hanging free.

use benchhand_wire::{Reason, Refusal, ZeroGauge, Zeroed};

use super::gauges::in_unit;
use super::{Answers, Desk};
use benchhand_blueprint::units::QuantityKind;

use crate::known::kinds::counts_from_a_zero;
use crate::known::shop::ShopGauge;
use crate::live::RestingValue;
use crate::store::fact::{Fact, ZeroedGauge};

impl Answers<ZeroGauge> for Desk {
    fn answer(&self, ask: ZeroGauge, key: Option<&str>) -> Result<Zeroed, Refusal> {
        let gauge = self.shop.gauge(&ask.name)?;
        let (view, _) = self.keeper.view(&ask.job)?;
        let steady = self.shown_by((&gauge, 0), ask.raw.as_deref())?;
        has_a_zero(&gauge, steady.unit.kind())?;
        let unit = steady.unit.symbol().to_owned();
        let u = ask
            .u
            .as_deref()
            .map(|text| in_unit(text, &unit))
            .transpose()?;
        let last = view.gauge(&ask.name).and_then(|g| g.zeros.last());
        let (raw, hanging) = match (ask.hanging, last) {
            (false, last) => (steady.raw, last.and_then(|z| z.what.hanging)),
            (true, Some(last)) => {
                hangs_out(&gauge, &last.what, &steady)?;
                (last.what.raw, Some(steady.raw))
            }
            (true, None) => {
                return Err(Refusal::new(
                    Reason::Conflict,
                    format!("{} has no zero in job {} yet", ask.name, ask.job),
                )
                .todo("zero it first, then learn its hanging value"));
            }
        };
        let master = ask
            .master
            .as_deref()
            .map(|text| in_unit(text, &unit))
            .transpose()?;
        let (nominal, against) = match (ask.hanging, last, &ask.master) {
            (true, Some(last), _) => (last.what.nominal, last.what.against.clone()),
            (_, _, Some(text)) => (master, format!("a master of {text}")),
            _ => (None, "its zero face".to_owned()),
        };
        let fact = Fact::Zero(ZeroedGauge {
            gauge: ask.name.clone(),
            channel: 0,
            raw,
            unit: unit.clone(),
            u,
            against,
            nominal,
            sd: Some(steady.sd).filter(|_| steady.n > 1),
            n: u32::try_from(steady.n).ok().filter(|&n| n > 1),
            hanging,
            let_stand: false,
        });
        let ack =
            self.keep_with_gauges(&ask.job, [ask.name.as_str()], key, |_| Ok(fact.clone()))?;
        if let (Some(station), false) = (&self.station, ask.hanging) {
            let (job, name) = (ask.job, ask.name);
            station.with(move |station| station.zeroed(&job, &name, steady))?;
        }
        Ok(Zeroed {
            id: ack.seq,
            raw,
            unit,
        })
    }
}

/// Refuses a zero that nothing would count from: what a manometer shows at rest would be kept and never
/// taken off.
fn has_a_zero(gauge: &ShopGauge, kind: QuantityKind) -> Result<(), Refusal> {
    if counts_from_a_zero(kind) {
        return Ok(());
    }
    let name = &gauge.setup.name;
    let (what, todo) = match kind {
        QuantityKind::Volume | QuantityKind::Mass => (
            "it is read as a difference, from where it stands",
            "there is nothing to zero: begin".to_owned(),
        ),
        _ => (
            "its values are kept as it shows them",
            format!(
                "zero it by its own key (a manometer with hoses open and blower off); or take its \
                 offset off with `benchhand gauge check {name} --job JOB --masters`, for each channel \
                 (--channel)"
            ),
        ),
    };
    let found = format!("{name} counts from no zero that is set here: {what}");
    Err(Refusal::new(Reason::BadInput, found).todo(todo))
}

/// A plunger that hangs free stands further out than on its zero face.
fn hangs_out(gauge: &ShopGauge, zero: &ZeroedGauge, free: &RestingValue) -> Result<(), Refusal> {
    let out = f64::from(gauge.setup.sense) * (zero.raw - free.raw);
    if zero.unit != free.unit.symbol() || out > 0.0 {
        return Ok(());
    }
    let (name, unit) = (&gauge.setup.name, &zero.unit);
    Err(Refusal::new(
        Reason::Conflict,
        format!(
            "{name} shows {} {unit} hanging free and {} {unit} on its zero face: by the register its plunger would be pushed in",
            free.raw, zero.raw
        ),
    )
    .todo(format!("see which way its number runs: `benchhand gauge direction {name}`")))
}
