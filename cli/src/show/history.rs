//! Measurements over many jobs: a gauge's history, engines like one, the readings of a spot.

use benchhand_wire::{
    Figure, GaugeHistoryAnswer, GaugeInShort, GaugeScatter, JobsLikeAnswer, LikeJob, PastCheck,
    ReadingsAtAnswer, Sizes,
};

use super::figure::{as_taken, cell, digits, plain, rounded, rounded_like_u, unit_after};
use super::table::Table;
use super::{count, moment, wrapped};

/// The line under a repeatability that explains it.
const REPEATABILITY: &str = "Repeats are readings of one spot in one stage. The number is the standard \
    deviation of one reading, pooled; flow and readings that were voided or marked are left out.";

/// A gauge's history in one line: `repeats within 0.034 cc (chamber, 312 degrees of freedom), …`.
pub(crate) fn in_short(short: &GaugeInShort) -> String {
    let mut parts = vec![format!(
        "{} in {}",
        count_of(short.readings, "reading", "readings"),
        count_of(short.jobs, "job", "jobs")
    )];
    parts.extend(short.scatter.iter().map(|one| {
        let free = count_of(one.dof, "degree of freedom", "degrees of freedom");
        format!("{} repeats to {} ({free})", one.quantity, sd(one))
    }));
    parts.extend(short.last_check.iter().map(|check| {
        format!(
            "last check {}: off by {}{}",
            day(&check.at),
            off_by(check),
            verdict(check).map_or(String::new(), |verdict| format!(", {verdict}"))
        )
    }));
    parts.join("; ")
}

/// The history of one gauge over all jobs.
pub(crate) fn gauge(answer: &GaugeHistoryAnswer) -> String {
    let short = &answer.in_short;
    if answer.jobs.is_empty() {
        return format!("{} has measured nothing in any job yet.", answer.name);
    }
    let mut text = format!(
        "{}: {} in {}\n",
        answer.name,
        count_of(short.readings, "reading", "readings"),
        count_of(short.jobs, "job", "jobs")
    );
    if short.scatter.is_empty() {
        text += "No spot was measured twice in one stage, so how it repeats is not known.\n";
    } else {
        text += "\nHow it repeats, all jobs together\n";
        let mut table = Table::new(&["quantity", ">repeats to", ">degrees of freedom", ">sets"]);
        for one in &short.scatter {
            table.row(vec![
                one.quantity.clone(),
                sd(one),
                one.dof.to_string(),
                one.sets.to_string(),
            ]);
        }
        text += &table.text();
        text += &wrapped("", REPEATABILITY);
    }
    text += "\nJob by job\n";
    let mut table = Table::new(&["job", "from", "to", ">readings", "repeats to", "checks"]);
    for one in &answer.jobs {
        let scatter = one.scatter.iter().map(|scatter| {
            let free = scatter.dof;
            format!("{} {} ({free})", scatter.quantity, sd(scatter))
        });
        let checks = match (one.checks, one.failed) {
            (0, _) => String::new(),
            (checks, 0) => checks.to_string(),
            (checks, failed) => format!("{checks}, {failed} failed"),
        };
        let date = |at: &Option<String>| at.as_deref().map(day).unwrap_or_default();
        table.row(vec![
            one.job.clone(),
            date(&one.first),
            date(&one.last),
            one.readings.to_string(),
            scatter.collect::<Vec<_>>().join(", "),
            checks,
        ]);
    }
    text += &table.text();
    if !short.scatter.is_empty() {
        text += "The number in brackets is the degrees of freedom.\n";
    }
    if answer.checks.is_empty() {
        return text + "\nNo check of it is kept: benchhand gauge check NAME --job JOB\n";
    }
    text += "\nChecks\n";
    let headings = ["kept", "job", "against", ">off by", ">allowed", "verdict"];
    let mut table = Table::new(&headings);
    for check in &answer.checks {
        let mut against = check.against.clone();
        if check.channel > 0 {
            against += &format!(", channel {}", check.channel + 1);
        }
        if check.comparisons > 1 {
            against += &format!(" ({} comparisons)", check.comparisons);
        }
        let allowed = check.allow.map(|allow| plain(allow, &check.error.unit));
        table.row(vec![
            moment(&check.at),
            check.job.clone(),
            against,
            off_by(check),
            allowed.unwrap_or_default(),
            verdict(check).unwrap_or_default().to_owned(),
        ]);
    }
    text + &table.text() + "Each ± covers 95 %; ± ? where nobody stated it.\n"
}

/// The jobs whose engines are like that of `job`.
pub(crate) fn like(job: &str, answer: &JobsLikeAnswer) -> String {
    let within = percent(answer.within);
    let mut text = format!("{job}: {}\n", in_words(&answer.sizes));
    if answer.jobs.is_empty() {
        return text
            + &format!(
                "No other job has an engine with as many cylinders in each bank whose bore, \
                 stroke and nominal chamber differ by {within} at most.\n"
            );
    }
    for one in &answer.jobs {
        text += &format!(
            "\n{}: {} apart, last kept {}\n",
            one.summary.name,
            percent(one.apart),
            day(&one.summary.changed)
        );
        let sizes = format!("{}; {}", one.summary.engine, in_words(&one.sizes));
        text += &wrapped("  ", &sizes);
        let named = ["compression", "chamber", "deck", "crown"];
        let figures: Vec<String> = named
            .into_iter()
            .filter_map(|what| mean_and_spread(one, what))
            .collect();
        text += &if figures.is_empty() {
            "  nothing measured of compression, chamber, deck or dome\n".to_owned()
        } else {
            wrapped("  ", &figures.join("; "))
        };
    }
    text.push('\n');
    if answer.more > 0 {
        let more = count_of(answer.more, "job is", "jobs are");
        text += &format!("{more} near too, and not shown.\n");
    }
    let legend = format!(
        "apart is the largest difference among bore, stroke and nominal chamber (where both state \
         one); shown up to {within}. The figures are means and spreads as the report gives them; \
         each ± covers 95 %, ± ? is not known."
    );
    text + &wrapped("", &legend)
}

/// Every reading that counts at a spot, over all jobs.
pub(crate) fn readings(spot: &str, answer: &ReadingsAtAnswer) -> String {
    if answer.readings.is_empty() {
        return format!("No job has a reading at {spot} that counts.");
    }
    let headings = ["kept", "job", "spot", ">reading", "stage", "gauge", "note"];
    let mut table = Table::new(&headings);
    for one in &answer.readings {
        table.row(vec![
            moment(&one.at),
            one.job.clone(),
            one.spot.clone(),
            as_taken(&one.figure),
            one.stage.clone(),
            one.gauge.clone().unwrap_or_default(),
            if one.marked { "doubtful" } else { "" }.to_owned(),
        ]);
    }
    table.text()
}

fn count_of(n: u64, one: &str, many: &str) -> String {
    count(usize::try_from(n).unwrap_or(usize::MAX), one, many)
}

/// The day of a moment in RFC 3339.
fn day(at: &str) -> String {
    at.split('T').next().unwrap_or_default().to_owned()
}

fn sd(one: &GaugeScatter) -> String {
    let number = if one.sd > 0.0 {
        rounded_like_u(one.sd)
    } else {
        "0".to_owned()
    };
    format!("{number}{}", unit_after(&one.unit))
}

fn off_by(check: &PastCheck) -> String {
    format!("{}{}", cell(&check.error), unit_after(&check.error.unit))
}

fn verdict(check: &PastCheck) -> Option<&'static str> {
    check
        .passed
        .map(|passed| if passed { "OK" } else { "NOT OK" })
}

fn percent(share: f64) -> String {
    format!("{} %", rounded(100.0 * share, 1))
}

fn size(figure: &Figure) -> String {
    format!(
        "{}{}",
        digits(figure.value, &figure.unit),
        unit_after(&figure.unit)
    )
}

fn in_words(sizes: &Sizes) -> String {
    let banks: Vec<String> = sizes.banks.iter().map(ToString::to_string).collect();
    let mut text = format!("{} cylinders", sizes.banks.iter().sum::<usize>());
    if banks.len() > 1 {
        text += &format!(" ({})", banks.join(" + "));
    }
    for (name, found) in [("bore", &sizes.bore), ("stroke", &sizes.stroke)] {
        match found {
            Some(found) => text += &format!(", {name} {}", size(found)),
            None => text += &format!(", no {name} stated"),
        }
    }
    match &sizes.chamber {
        Some(chamber) => text + &format!(", nominal chamber {}", size(chamber)),
        None => text + ", no nominal chamber stated",
    }
}

/// `compression 10.43 ± 0.03, spread 0.12 ± 0.05`. `None` if it was not measured.
fn mean_and_spread(job: &LikeJob, what: &str) -> Option<String> {
    let of = |kind: &str| {
        let name = format!("{what}_{kind}");
        let found = job.figures.iter().find(|(known, _)| *known == name)?;
        Some(format!("{}{}", cell(&found.1), unit_after(&found.1.unit)))
    };
    let spread = of("spread").map_or(String::new(), |spread| format!(", spread {spread}"));
    Some(format!("{what} {}{spread}", of("mean")?))
}

#[cfg(test)]
mod tests {
    use benchhand_wire::{GaugeInJob, JobSummary};

    use super::*;

    fn figure(value: f64, u: Option<f64>, unit: &str) -> Figure {
        let unit = unit.into();
        Figure { value, u, unit }
    }

    fn short() -> GaugeInShort {
        GaugeInShort {
            jobs: 2,
            readings: 32,
            scatter: vec![GaugeScatter {
                quantity: "deck".into(),
                sd: 0.000_312,
                unit: "in".into(),
                dof: 16,
                sets: 16,
            }],
            last_check: Some(PastCheck {
                job: "v8".into(),
                id: 41,
                at: "2026-03-02T09:14:05Z".into(),
                channel: 0,
                against: "a master of 0.1 in".into(),
                error: figure(0.0012, Some(0.0001), "in"),
                allow: Some(0.0005),
                passed: Some(false),
                comparisons: 3,
            }),
        }
    }

    #[test]
    fn a_gauge_is_told_in_one_line() {
        assert_eq!(
            in_short(&short()),
            "32 readings in 2 jobs; deck repeats to 0.00031 in (16 degrees of freedom); \
             last check 2026-03-02: off by 0.00120 ± 0.00020 in, NOT OK"
        );
    }

    #[test]
    fn a_history_shows_each_check_with_its_error_and_uncertainty() {
        let text = gauge(&GaugeHistoryAnswer {
            name: "depth-2".into(),
            jobs: vec![GaugeInJob {
                job: "v8".into(),
                readings: 32,
                first: Some("2026-03-01T08:00:00Z".into()),
                last: Some("2026-03-02T09:14:05Z".into()),
                scatter: short().scatter,
                checks: 3,
                failed: 1,
            }],
            checks: short().last_check.into_iter().collect(),
            in_short: short(),
        });
        for words in [
            "deck 0.00031 in (16)",
            "3, 1 failed",
            "0.00120 ± 0.00020 in",
            "a master of 0.1 in (3 comparisons)",
            "NOT OK",
        ] {
            assert!(text.contains(words), "{words:?} is missing in\n{text}");
        }
    }

    #[test]
    fn a_like_engine_shows_how_far_it_is_and_what_it_had() {
        let sizes = Sizes {
            banks: vec![4, 4],
            bore: Some(figure(4.03, None, "in")),
            stroke: Some(figure(3.48, None, "in")),
            chamber: None,
        };
        let text = like(
            "v8",
            &JobsLikeAnswer {
                sizes: sizes.clone(),
                within: 0.1,
                more: 2,
                jobs: vec![LikeJob {
                    summary: JobSummary {
                        damage: None,
                        name: "older".into(),
                        engine: "Invented V8".into(),
                        opened: String::new(),
                        changed: "2026-03-02T09:14:05Z".into(),
                        stage: "as received".into(),
                        readings: 8,
                        folder: String::new(),
                        lacks: Vec::new(),
                    },
                    sizes,
                    apart: 0.0123,
                    figures: vec![
                        ("compression_mean".into(), figure(10.43, Some(0.03), "1")),
                        ("compression_spread".into(), figure(0.12, None, "1")),
                    ],
                }],
            },
        );
        for words in [
            "8 cylinders (4 + 4), bore 4.0300 in",
            "1.2 %",
            "compression 10.430 ± 0.060, spread 0.12 ± ?",
            "2 jobs are near too",
        ] {
            assert!(text.contains(words), "{words:?} is missing in\n{text}");
        }
    }
}
