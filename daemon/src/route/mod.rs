//! Routes: which spot is measured next, how, and with what kind of gauge.
//!
//! A route is text. It is read into a [`Route`], laid over an engine's cylinders into a list of
//! [`Stop`]s, and walked by a [`RouteWalk`]. Nothing here knows a gauge's bytes, takes a reading or
//! keeps anything.

mod expand;
mod shipped;
mod text;
mod walk;

pub use expand::{Choices, ExpandError, Stop, expand};
pub use shipped::shipped;
pub use text::{FigureTurn, Figuring, Order, Route, RouteError, Step};
pub use walk::{RouteWalk, StopOutcome};
