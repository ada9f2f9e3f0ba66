//! What several stations said of one job without knowing of each other, in words for a person who
//! looks at the report.

use benchhand_blueprint::Engine;
use benchhand_blueprint::report::{Finding, FindingKind};
use jiff::Timestamp;

use super::told;
use crate::store::merged::StationFinding;
use crate::store::view::{JobView, KeptReading};

/// The place of a finding about the stages, and of one about the engine file.
const STAGES: &str = "stages";
const ENGINE: &str = "engine";

/// Findings where facts of two stations did not know of each other, and where a person is to say what
/// holds; values in the units of `engine`, which is the job's as it is told.
pub(crate) fn findings(engine: &Engine, view: &JobView) -> Vec<Finding> {
    let Some(notes) = view.merge() else {
        return Vec::new();
    };
    let found = notes.findings().iter();
    let mut all: Vec<Finding> = found.filter_map(|one| finding(engine, view, one)).collect();
    all.extend(routes(view));
    if notes.waiting() > 0 {
        let waiting = notes.waiting();
        let text = format!(
            "{waiting} entries of other stations wait for what they name, which has not come yet"
        );
        all.push(open(STAGES, text));
    }
    all.extend(unread(view).into_iter().map(|text| open(STAGES, text)));
    if notes.refused() > 0 {
        let refused = notes.refused();
        let text = format!(
            "{refused} facts of other stations fit nothing that is known and are left out: an odd \
             program wrote them"
        );
        all.push(open(STAGES, text));
    }
    all
}

/// Lines that a newer program wrote at other stations: what they say is missing here.
fn unread(view: &JobView) -> Vec<String> {
    let unread = view.merge().map_or(&[][..], |notes| notes.not_understood());
    let told = unread.iter().map(|(station, count)| {
        let (lines, are, say) = match count {
            1 => ("line", "is", "it says"),
            _ => ("lines", "are", "they say"),
        };
        format!(
            "{count} {lines} of station {station} {are} of a newer program and not understood here: \
             what {say} is missing here. Install that program at this station"
        )
    });
    told.collect()
}

/// What whoever looks at a job is told of the journals of its stations, at this time.
pub(crate) fn notes(view: &JobView, now: Timestamp) -> Vec<String> {
    let mut all = unread(view);
    all.extend(view.ahead_of(now).map(|(part, ahead_us)| {
        let ahead = time_of(ahead_us);
        let whose = match (part.numbers() == view.own().numbers(), part.label()) {
            (true, _) => "this station".to_owned(),
            (false, "") => "another station".to_owned(),
            (false, label) => format!("station {label}"),
        };
        format!(
            "what {whose} kept last is {ahead} ahead of the clock here, and counts as later than all \
             that is kept elsewhere until then. Set the clock of {whose}, or the one here"
        )
    }));
    all
}

/// A time of more than a minute, as people say it.
fn time_of(us: u64) -> String {
    match us / 60_000_000 {
        0..=119 => format!("{} min", us / 60_000_000),
        minutes @ 120..=2879 => format!("{} h", minutes / 60),
        minutes => format!("{} days", minutes / 1440),
    }
}

fn open(spot: &str, text: String) -> Finding {
    Finding {
        spot: spot.to_owned(),
        kind: FindingKind::Open,
        text,
        replaced: Vec::new(),
    }
}

fn finding(engine: &Engine, view: &JobView, found: &StationFinding) -> Option<Finding> {
    let at = |number: u64| view.part_of(number).label();
    let of = |id: u64, text: &dyn Fn(&KeptReading) -> String| {
        let reading = view.reading(id)?;
        Some(open(&reading.spot, text(reading)))
    };
    let said = KeptReading::said_number;
    let shown = |one: &KeptReading| told::shown(Some(engine), one);
    match found {
        StationFinding::TwoCuts { first, second } => {
            let name = |seq: &u64| view.stages().iter().find(|stage| stage.seq == *seq);
            let (one, other) = (name(first)?, name(second)?);
            let text = format!(
                "{:?} (station {}) and {:?} (station {}) were opened without knowing of each other: \
                 is it one cut or two? If one, take the other back (`job correct-cut`)",
                one.name,
                at(*first),
                other.name,
                at(*second)
            );
            Some(open(STAGES, text))
        }
        StationFinding::TwoCorrections { stage } => {
            let stage = view.opened_by(*stage)?;
            let now = match &stage.cut {
                Some(cut) if stage.stands() => format!("{:?}", cut.what),
                _ => "that nothing was cut".to_owned(),
            };
            let text = format!(
                "the cut that opened {:?} was corrected at two stations without knowing of each \
                 other; what was said last holds: {now}",
                stage.name
            );
            Some(open(STAGES, text))
        }
        StationFinding::MeasuredWhereNoCutWas { stage } => {
            let gone = view.opened_by(*stage).filter(|stage| !stage.stands())?;
            let count = view.taken_in(*stage);
            let now = &view.counts_for(*stage)?.name;
            let text = format!(
                "the cut that opened {:?} was taken back at one station while another one measured \
                 after it; its {count} readings count for {now:?} now: was there a cut?",
                gone.name
            );
            Some(open(STAGES, text))
        }
        StationFinding::TwoEngines { first, second } => {
            let text = format!(
                "stations {} and {} changed the engine file without knowing of each other; that of \
                 station {} holds: compare them and load the one that is right",
                at(*first),
                at(*second),
                at(*second)
            );
            Some(open(ENGINE, text))
        }
        StationFinding::TwoMoves {
            reading,
            first,
            second,
        } => of(*reading, &|one| {
            let number = said(one);
            format!(
                "reading {number} was moved to {first} and to {second} at two stations; it lies at \
                 {}",
                one.spot
            )
        }),
        StationFinding::VoidedAndRevised { reading } => {
            let stands = view.successor(*reading)?;
            of(stands, &|one| {
                let (number, value) = (said(one), shown(one));
                format!(
                    "reading {number} was taken back at one station and revised at another; {value} \
                     stands: take it back too if the reason holds for it"
                )
            })
        }
        StationFinding::TwoRevisions { reading } => {
            let stands = view.successor(*reading)?;
            of(stands, &|one| {
                let (number, value) = (said(one), shown(one));
                format!("reading {number} was revised at two stations; {value} stands")
            })
        }
        StationFinding::RevisedAfterFinal { reading } => {
            let stands = view.successor(*reading)?;
            of(stands, &|one| {
                let (number, value) = (said(one), shown(one));
                format!(
                    "reading {number} was made final at one station and revised at another; {value} \
                     stands"
                )
            })
        }
        StationFinding::RestoredAndVoided { reading } => of(*reading, &|one| {
            let number = said(one);
            format!(
                "reading {number} was restored at one station and taken back at another; it does \
                 not count"
            )
        }),
    }
}

/// Two routes on one job are told of each other.
fn routes(view: &JobView) -> Option<Finding> {
    let running = view.parts().filter_map(|part| {
        let route = part.route()?;
        Some(format!(
            "{} at station {}",
            route.started.route,
            part.label()
        ))
    });
    let running: Vec<String> = running.collect();
    (running.len() > 1).then(|| {
        let text = format!("several routes run on this job: {}", running.join(", "));
        open(STAGES, text)
    })
}
