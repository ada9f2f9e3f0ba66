//! Which gauge measures on a route, where nobody named one.

use benchhand_wire::{Reason, Refusal};

use super::{RouteOrder, Station};
use crate::live::line::GaugeLine;
use crate::store::view::JobView;

impl Station {
    /// The gauge that was named for a kind, or with which the same route was begun, or the only gauge
    /// of the kind. Where several are known and one alone has a port now, it is that one, and what is
    /// said of it.
    ///
    /// # Errors
    /// Where no gauge of the kind is known, or nobody can tell which is meant.
    pub(super) fn gauge_for(
        &self,
        kind: &str,
        order: &RouteOrder,
        view: &JobView,
    ) -> Result<(&GaugeLine, Option<String>), Refusal> {
        let named = order.gauges.get(kind);
        let of_kind: Vec<&GaugeLine> = self
            .lines
            .values()
            .filter(|line| line.kind == kind)
            .collect();
        let names = || {
            of_kind
                .iter()
                .map(|l| l.name.as_str())
                .collect::<Vec<_>>()
                .join(", ")
        };
        if let Some(name) = named {
            let line = self.lines.get(name.as_str()).ok_or_else(|| {
                Refusal::new(Reason::NotFound, format!("there is no gauge {name:?}"))
                    .todo("`benchhand gauge list` shows the shop's gauges")
            })?;
            if line.kind != kind {
                let found = format!("{name} measures {}, and {kind} is needed", line.kind);
                return Err(Refusal::new(Reason::BadInput, found));
            }
            return Ok((line, None));
        }
        if let Some(line) = begun_with(&of_kind, order, view) {
            return Ok((line, None));
        }
        match of_kind.as_slice() {
            [only] => Ok((only, None)),
            [] => Err(Refusal::new(
                Reason::NotFound,
                format!("no gauge that measures {kind} is set up"),
            )
            .todo("set one up with `benchhand gauge set`")),
            several => {
                let mut there = several.iter().filter(|line| line.has_port());
                if let (Some(only), None) = (there.next(), there.next()) {
                    let said = format!(
                        "{} measures: of {} it alone has a port now",
                        only.name,
                        names()
                    );
                    return Ok((only, Some(said)));
                }
                Err(Refusal::new(
                    Reason::BadInput,
                    format!("several gauges measure {kind}: {}", names()),
                )
                .todo(format!("say which with --gauge {kind}=NAME")))
            }
        }
    }
}

/// The gauge of these with which the same route was begun, where it stands half-way: two gauges in one round
/// would not show it.
fn begun_with<'a>(
    of_kind: &[&'a GaugeLine],
    order: &RouteOrder,
    view: &JobView,
) -> Option<&'a GaugeLine> {
    let started = &view.route()?.started;
    if order.afresh || started.route != order.route.name {
        return None;
    }
    let was = |line: &&&GaugeLine| started.gauges.iter().any(|had| had.gauge == line.name);
    of_kind.iter().find(was).copied()
}
