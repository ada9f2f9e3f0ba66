//! Flow over lift, by kind of port: the mean of the cylinders that were measured, so that like stands
//! beside like.

use benchhand_blueprint::report::{FlowReport, Report};
use benchhand_blueprint::{Figure, Unit};

/// The mean flow of the ports of one kind at one lift.
#[derive(Debug, Clone, PartialEq)]
pub struct MeanAtLift {
    /// The port, with its kind of runner.
    pub kind: String,
    /// The lift that was asked for, in the report's unit of length.
    pub lift: f64,
    /// The mean, in `unit`.
    pub mean: f64,
    /// The unit of the mean; a plain number for the ratio of the areas.
    pub unit: Unit,
    /// The cylinders that it is over.
    pub cylinders: Vec<u32>,
}

impl MeanAtLift {
    /// Whether it is over the same ports at the same lift.
    pub(crate) fn is_of_the_same(&self, other: &MeanAtLift) -> bool {
        (&self.kind, &self.cylinders) == (&other.kind, &other.cylinders) && self.lift == other.lift
    }
}

/// Flow at the reference depression; the ratio of the areas where the orifice is not known.
pub fn told_flow(one: &FlowReport) -> Option<&Figure> {
    one.flow_at_reference.as_ref().or(one.area_ratio.as_ref())
}

/// The port with its kind of runner, as it is said.
pub fn kind_of_port(one: &FlowReport) -> String {
    match &one.runner {
        Some(runner) => format!("{} {runner}", one.port),
        None => one.port.to_string(),
    }
}

/// The means of a report, of the cylinders alone that `of` has of the same kind too; lift by lift in
/// their order. Where several cylinders have a kind, a lift that one of them alone has is left out.
pub fn means_over_lift(report: &Report, of: Option<&Report>) -> Vec<MeanAtLift> {
    let wanted = |kind: &str, cylinder: u32| {
        of.is_none_or(|of| {
            let mut all = of.flow.iter();
            all.any(|one| one.cylinder == cylinder && kind_of_port(one) == kind)
        })
    };
    let mut all: Vec<(MeanAtLift, f64)> = Vec::new();
    for one in &report.flow {
        let kind = kind_of_port(one);
        let Some(flow) = told_flow(one).filter(|_| wanted(&kind, one.cylinder)) else {
            continue;
        };
        let lift = one.lift.value;
        let same = |(known, _): &&mut (MeanAtLift, f64)| {
            known.kind == kind && known.lift == lift && known.unit == flow.unit
        };
        match all.iter_mut().find(same) {
            Some((known, sum)) => {
                known.cylinders.push(one.cylinder);
                *sum += flow.value;
                known.mean = *sum / known.cylinders.len() as f64;
            }
            None => all.push((
                MeanAtLift {
                    kind,
                    lift,
                    mean: flow.value,
                    unit: flow.unit,
                    cylinders: vec![one.cylinder],
                },
                flow.value,
            )),
        }
    }
    let mut all: Vec<MeanAtLift> = all.into_iter().map(|(mean, _)| mean).collect();
    let several: Vec<String> = all
        .iter()
        .filter(|one| one.cylinders.len() > 1)
        .map(|one| one.kind.clone())
        .collect();
    all.retain(|one| one.cylinders.len() > 1 || !several.contains(&one.kind));
    all.sort_by(|one, other| {
        let kinds = one.kind.cmp(&other.kind);
        kinds.then(one.lift.total_cmp(&other.lift))
    });
    all
}
