//! Which gauge measures on a route, where nobody named one.

use benchhand_wire::{Reason, Refusal};

use super::Station;
use crate::live::line::GaugeLine;

impl Station {
    /// The gauge that was named for a kind, or the only gauge of the kind. Where several are known
    /// and one alone has a port now, it is that one, and what is said of it.
    ///
    /// # Errors
    /// Where no gauge of the kind is known, or nobody can tell which is meant.
    pub(super) fn gauge_for(
        &self,
        kind: &str,
        named: Option<&String>,
    ) -> Result<(&GaugeLine, Option<String>), Refusal> {
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
