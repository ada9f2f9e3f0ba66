//! Turns typed arguments into a question. Lists of gaskets and parts are read here.

use benchhand_blueprint::answers::{
    ChambersAsked, CompareAsked, DomeAsked, EffectiveAsked, FitAsked, GasketAsked, GasketOffered,
    MillAsked, NextAsked, PortsAsked, Question, SensitivitiesAsked, TargetAsked, WhatIfAsked,
    gaskets_from_csv, parts_from_csv,
};
use benchhand_blueprint::decide;
use benchhand_wire::Refusal;

use super::Other;
use crate::args::{CutAim, DecideCommand, DomeAim, EqualGoal, JobOrFiles};
use crate::data::{read_text, shown};
use crate::files::csv_refused;

/// What becomes equal, as the blueprint names it.
pub(in crate::commands) fn equal(goal: EqualGoal) -> decide::MadeEqual {
    match goal {
        EqualGoal::Allowed => decide::MadeEqual::Allowed,
        EqualGoal::Chambers => decide::MadeEqual::Chambers,
        EqualGoal::Compression => decide::MadeEqual::Compression,
    }
}

/// A cut square to the face, to this aim.
pub(in crate::commands) fn cut(aim: &CutAim) -> MillAsked {
    MillAsked {
        ratio: aim.ratio,
        chamber: aim.chamber.clone(),
        area: aim.area.clone(),
        learn: aim.learn,
        most: aim.most.clone(),
        ..MillAsked::default()
    }
}

/// The domes or dishes to this aim.
pub(in crate::commands) fn dome(aim: &DomeAim) -> DomeAsked {
    DomeAsked {
        ratio: aim.ratio,
        ratio_tolerance: aim.ratio_tolerance,
    }
}

/// The subject of a command, its question, and the other side of a comparison.
pub(super) fn of(args: DecideCommand) -> Result<(JobOrFiles, Question, Option<Other>), Refusal> {
    let (of, question) = match args {
        DecideCommand::Mill(args) => (
            args.of,
            Question::Mill(MillAsked {
                cylinders: args.cylinders,
                angle: args.angle,
                centroid: args.centroid,
                far_edge: args.far_edge,
                opened: args.opened.map(equal),
                ..cut(&args.aim)
            }),
        ),
        DecideCommand::Chambers(args) => {
            let equal = Some(equal(args.equal));
            (args.of, Question::Chambers(ChambersAsked { equal }))
        }
        DecideCommand::Dome(args) => (args.of, Question::Dome(dome(&args.aim))),
        DecideCommand::Gasket(args) => {
            let mut offers: Vec<GasketOffered> = args
                .gaskets
                .into_iter()
                .map(|(name, bore, thickness)| GasketOffered {
                    name,
                    bore,
                    thickness,
                })
                .collect();
            if let Some(file) = &args.list {
                let listed = gaskets_from_csv(&read_text(file)?).map_err(|faults| {
                    csv_refused("list of gaskets", &shown(file), &faults)
                        .todo("correct the rows and ask again")
                })?;
                offers.extend(listed);
            }
            let ratio = args.ratio;
            (args.of, Question::Gasket(GasketAsked { ratio, offers }))
        }
        DecideCommand::Fit(args) => {
            let (pistons, rods) = parts_from_csv(&read_text(&args.parts)?).map_err(|faults| {
                csv_refused("list of parts", &shown(&args.parts), &faults)
                    .todo("correct the rows and ask again")
            })?;
            (args.of, Question::Fit(FitAsked { pistons, rods }))
        }
        DecideCommand::Next(args) => (
            args.of,
            Question::Next(NextAsked {
                goal: args.goal,
                cylinder: args.cylinder,
            }),
        ),
        DecideCommand::WhatIf(args) => (args.of, Question::WhatIf(WhatIfAsked { set: args.set })),
        DecideCommand::Compare(args) => {
            let other = Other {
                stage: args.against_stage,
                job: args.against_job,
                engine: args.against_engine,
                readings: args.against_readings,
            };
            return Ok((args.of, Question::Compare(CompareAsked {}), Some(other)));
        }
        DecideCommand::Ports(args) => (args.of, Question::Ports(PortsAsked {})),
        DecideCommand::Sensitivities(args) => {
            let cylinder = args.cylinder;
            (
                args.of,
                Question::Sensitivities(SensitivitiesAsked { cylinder }),
            )
        }
        DecideCommand::Effective(args) => (
            args.of,
            Question::Effective(EffectiveAsked {
                closing: args.closing,
                at_lift: args.at_lift,
                rod: args.rod,
                offset: args.offset,
            }),
        ),
        DecideCommand::Target(args) => {
            (args.of, Question::Target(TargetAsked { ratio: args.ratio }))
        }
    };
    Ok((of, question, None))
}
