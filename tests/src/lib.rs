//! Helpers that several tests of the whole program share.
//!
//! `tests/` drives the real executable and the public surface of the rooms. It knows no private
//! module. The test files:
//!
//! - `structure.rs`: direction of dependencies, imports, file sizes, pages that name files
//! - `end_to_end.rs`: the executable and gauges on pseudo-terminals, from bytes to report
//! - `held_up.rs`: the executable's own `serve` on true time, stalled and killed
//! - `hands_free.rs`: a whole route with no key touched, and with the daemon killed in the middle
//! - `loss.rs`: gauges that are unplugged, fall silent, change their unit or are held by another
//!   program
//! - `gauge_checks.rs`, `gauge_checks_live.rs`: the result of a check is kept, used, and marks
//!   earlier readings
//! - `demo.rs`: what the demo prints and finds
//! - `shift.rs`: hours of eight fast gauges, with losses, restarts and route changes
//! - `crash.rs`: a daemon killed at random points keeps what it acknowledged
//! - `stopping.rs`: clean ends, torn lines, two daemons, repeated requests
//! - `bad_files.rs`, `bad_input.rs`: mistakes in files and input, each with its message and exit
//!   code
//! - `ports.rs`: ports that are absent, busy or forbidden, under another user
//! - `stages.rs`: cuts, moved and voided readings, and their effect on the report
//! - `streams.rs`: recorded streams however they are cut into reads
//! - `api.rs`: who may use the API, and how a watcher catches up
//! - `decisions.rs`, `decisions_told.rs`: decisions from a job and from files, applied, refused, and in words
//! - `one_shop.rs`, `shop_copied.rs`, `shop_seen.rs`, `shop_told.rs`, `shop_secret.rs`: several stations of one
//!   shop, over a PostgreSQL server of the test's own
//! - `report.rs`: the report from an engine file and a CSV, against worked figures

pub mod api;
#[cfg(unix)]
pub mod driven_station;
pub mod heard;
pub mod hosted;
pub mod nobody;
pub mod notebook;
pub mod program;
pub mod recorded;
pub mod refusals;
pub mod shop;
#[cfg(target_os = "linux")]
pub mod shop_station;
pub mod signals;
pub mod stepped_station;
pub mod tree;
#[cfg(unix)]
pub mod true_time;
