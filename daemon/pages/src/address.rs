//! The addresses of the pages, relative to the daemon.

use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};

/// What stays as it is in one part of an address.
const PLAIN: &AsciiSet = &NON_ALPHANUMERIC
    .remove(b'-')
    .remove(b'_')
    .remove(b'.')
    .remove(b'~');

/// All jobs.
pub const JOBS: &str = "/jobs";
/// Where a job is begun.
pub const NEW_JOB: &str = "/jobs/new";
/// The shop of several stations.
pub const SHOP: &str = "/shop";
/// All gauges.
pub const GAUGES: &str = "/gauges";
/// Where a port is listened at, and what was found there is shown.
pub const LISTEN: &str = "/listen";
/// Where a gauge that was found is taken into the register.
pub const KEEP_FOUND: &str = "/listen/keep";
/// The form of a gauge that is read by eye.
pub const BY_EYE: &str = "/listen/by-eye";
/// What was found at this machine.
pub const MACHINE: &str = "/machine";
/// The study of a gauge.
pub const STUDY: &str = "/study";
/// Where a job is taken in that was packed into one file.
pub const UNPACK: &str = "/unpack";
/// The board.
pub const MEASURE: &str = "/measure";
/// The forms of the requests that change something; the request's path follows.
pub const FORMS: &str = "/forms";

/// The guide.
pub const GUIDE: &str = "/guide";

/// A name or spot as one part of an address.
pub fn part(text: &str) -> String {
    utf8_percent_encode(text, PLAIN).to_string()
}

/// One job.
pub fn job(job: &str) -> String {
    format!("{JOBS}/{}", part(job))
}

/// A page below one job, e.g. `report`.
pub fn of_job(job: &str, page: &str) -> String {
    format!("{JOBS}/{}/{page}", part(job))
}

/// One gauge.
pub fn gauge(name: &str) -> String {
    format!("{GAUGES}/{}", part(name))
}

/// Where the direction of a gauge is learned by a movement.
pub fn direction(name: &str) -> String {
    format!("{}/direction", gauge(name))
}

/// An address with fields behind it.
pub fn with(address: &str, fields: &[(&str, &str)]) -> String {
    let mut all = address.to_owned();
    for (place, (name, value)) in fields.iter().enumerate() {
        let mark = if place == 0 { '?' } else { '&' };
        all.push_str(&format!("{mark}{}={}", part(name), part(value)));
    }
    all
}

/// The readings of a job whose spots begin so; all of them where `spot` is empty.
pub fn readings(job: &str, spot: &str) -> String {
    let all = of_job(job, "readings");
    match spot {
        "" => all,
        spot => with(&all, &[("spot", spot)]),
    }
}

/// One question of a job's decisions.
pub fn decision(job: &str, question: &str) -> String {
    of_job(job, &format!("decide/{}", part(question)))
}

/// One sheet of a job.
pub fn sheet(job: &str, sheet: &str) -> String {
    of_job(job, &format!("sheets/{}", part(sheet)))
}

/// A job as one file, without its recorded streams.
pub fn pack_without_streams(job: &str) -> String {
    with(&of_job(job, "pack"), &[("without_streams", "yes")])
}

/// One reading.
pub fn reading(job: &str, id: u64) -> String {
    of_job(job, &format!("readings/{id}"))
}

/// The board on one job.
pub fn measure(job: &str) -> String {
    format!("{MEASURE}?job={}", part(job))
}

/// The form of a request, with fields that are filled in already, and the page to go back to.
pub fn form(request: &str, back: &str, filled: &[(&str, &str)]) -> String {
    let mut address = format!("{FORMS}/{request}?back={}", part(back));
    for (name, value) in filled {
        address.push_str(&format!("&{}={}", part(name), part(value)));
    }
    address
}

/// The form of a request, with nothing filled in.
pub fn empty_form(request: &str, back: &str) -> String {
    form(request, back, &[])
}

/// The form of a request about one job.
pub fn job_form(request: &str, back: &str, job: &str) -> String {
    form(request, back, &[("job", job)])
}

/// Where a route is begun on a job, with fields that are filled in already.
pub fn begin(job: &str, route: &str, filled: &[(&str, &str)]) -> String {
    let page = of_job(job, &format!("begin/{}", part(route)));
    with(&page, filled)
}

/// Whether an address is one of ours, so that a form may lead back to it.
pub fn is_ours(address: &str) -> bool {
    // Two slashes, or a slash and a backslash, name another host.
    address.starts_with('/')
        && !address.starts_with("//")
        && address.bytes().all(|b| b.is_ascii_graphic() && b != b'\\')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_leads_back_only_to_our_own_pages() {
        assert!(is_ours("/jobs/v8/report?stage=1"));
        for elsewhere in [
            "//elsewhere",
            "https://elsewhere",
            "/\\elsewhere",
            "javascript:x",
            "",
            "/a\r\nb",
        ] {
            assert!(!is_ours(elsewhere), "{elsewhere:?}");
        }
    }

    #[test]
    fn names_cannot_leave_their_part_of_an_address() {
        assert_eq!(job("a/b c?d"), "/jobs/a%2Fb%20c%3Fd");
    }
}
