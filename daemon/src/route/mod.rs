//! Routes: which spot is measured next, how, and with what kind of gauge.
//!
//! A route is text. It is read into a [`Route`], laid over an engine's cylinders into a list of
//! [`RouteStop`]s, and walked by a [`RouteWalk`]. Nothing here knows a gauge's bytes, takes a
//! reading or keeps anything.

mod as_begun;
mod expand;
mod free;
mod shipped;
mod shorter;
mod text;
mod walk;

pub use benchhand_wire::FigureRule;

pub use as_begun::choices_of;
pub use expand::{ExpandError, RouteChoices, RouteStop, expand};
pub use free::free_route;
pub use shipped::shipped;
pub use shorter::{MEAN_S, with_means_of};
pub use text::{CylinderOrder, FigureTurn, Route, RouteError, RouteStep};
pub use walk::{RouteWalk, StopOutcome};
