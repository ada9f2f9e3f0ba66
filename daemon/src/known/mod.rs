//! What is known in the shop and of a job: the records, the gauges, what values should be near to,
//! and the words for all of it.
//!
//! The desk and the station both stand on this room. It knows neither of them: no request, no
//! running route, no port.

pub(crate) mod conditions;
pub(crate) mod correcting;
mod damaged_jobs;
pub(crate) mod digest;
pub(crate) mod doubted_rows;
pub(crate) mod expectation;
pub(crate) mod giving_up;
pub(crate) mod initials;
pub(crate) mod inputs;
pub(crate) mod keeper;
pub(crate) mod kinds;
pub(crate) mod marks;
mod open_jobs;
pub(crate) mod orders;
pub(crate) mod others;
pub(crate) mod plates;
pub(crate) mod quantities;
pub(crate) mod refusals;
pub(crate) mod register;
pub(crate) mod shop;
pub(crate) mod shop_name;
pub(crate) mod shown;
pub(crate) mod slips;
pub(crate) mod stations;
pub(crate) mod stream_keeping;
pub(crate) mod surroundings;
mod together;
pub(crate) mod told;
pub(crate) mod typed;
pub(crate) mod words;
pub(crate) mod zero_checks;
