//! What stands around every page: the ways to the others, and what was just done.

use crate::address;

/// The parts of the page that the head leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PageSection {
    /// The list of jobs, and what is not below one job.
    Jobs,
    /// The gauges.
    Gauges,
    /// A job itself.
    Job,
    /// A job's engine.
    Engine,
    /// A job's readings.
    Readings,
    /// A job's report.
    Report,
    /// A job's decisions.
    Decide,
    /// A job's sheets.
    Sheets,
    /// A job's history.
    History,
    /// The guide.
    Guide,
    /// None of them.
    Elsewhere,
}

/// What became of the form that was sent last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FormOutcome {
    /// One sentence.
    pub text: String,
}

/// What stands around one page.
#[derive(Debug, Clone)]
pub struct PageFrame {
    /// The page's title.
    pub title: String,
    /// Where the page belongs.
    pub section: PageSection,
    /// The job that the page is about.
    pub job: Option<String>,
    /// What became of the last form.
    pub told: Option<FormOutcome>,
    /// Whether the page is shown on the machine with the gauges; a tablet that was let in may not
    /// change gauges, import, or let others in.
    pub at_the_machine: bool,
}

/// A way to another page.
pub(crate) struct Way {
    pub(crate) name: &'static str,
    pub(crate) address: String,
    pub(crate) here: bool,
}

impl PageFrame {
    /// The ways that every page has.
    pub(crate) fn ways(&self) -> Vec<Way> {
        let measure = self.job.as_deref().map(address::measure);
        [
            ("Jobs", address::JOBS.to_owned(), PageSection::Jobs),
            ("Gauges", address::GAUGES.to_owned(), PageSection::Gauges),
            (
                "Measure",
                measure.unwrap_or_else(|| address::MEASURE.to_owned()),
                PageSection::Elsewhere,
            ),
            ("Guide", address::GUIDE.to_owned(), PageSection::Guide),
        ]
        .into_iter()
        .map(|(name, address, section)| Way {
            name,
            address,
            here: self.section == section && section != PageSection::Elsewhere,
        })
        .collect()
    }

    /// The ways inside the job that the page is about.
    pub(crate) fn job_ways(&self) -> Vec<Way> {
        let Some(job) = &self.job else {
            return Vec::new();
        };
        [
            ("Job", address::job(job), PageSection::Job),
            (
                "Engine",
                address::of_job(job, "engine"),
                PageSection::Engine,
            ),
            (
                "Readings",
                address::of_job(job, "readings"),
                PageSection::Readings,
            ),
            (
                "Report",
                address::of_job(job, "report"),
                PageSection::Report,
            ),
            (
                "Decide",
                address::of_job(job, "decide"),
                PageSection::Decide,
            ),
            (
                "Sheets",
                address::of_job(job, "sheets"),
                PageSection::Sheets,
            ),
            (
                "History",
                address::of_job(job, "history"),
                PageSection::History,
            ),
        ]
        .into_iter()
        .map(|(name, address, section)| Way {
            name,
            address,
            here: self.section == section,
        })
        .collect()
    }
}
