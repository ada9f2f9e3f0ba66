//! Sentences about the temperatures of liquid and parts: what was corrected, what was not, and what
//! nobody answered.

use super::{BETWEEN, Liquids, METAL, METAL_AS_LIQUID, set_up};
use crate::engine::Engine;
use crate::readings::Reading;
use crate::report::stage::Current;
use crate::spot::{CrownPart, Spot};
use crate::units::QuantityKind;

/// What was corrected in a stage's chambers and poured crowns, what was not, and what was not said
/// of them though it was asked for, in a sentence each.
pub(in crate::report) fn remarks(engine: &Engine, current: &Current<'_>) -> Vec<String> {
    let of = |wanted: &dyn Fn(&Spot) -> bool| -> Vec<&Reading> {
        let spots = current.spots.iter().filter(|(spot, _)| wanted(spot));
        spots
            .flat_map(|(_, readings)| readings.iter().copied())
            .collect()
    };
    let crown = |wanted: CrownPart| {
        of(&move |spot| matches!(spot, Spot::Crown { part, .. } if *part == wanted))
    };
    let chambers = of(&|spot| matches!(spot, Spot::Chamber { .. }));
    let (fluids, direct) = (crown(CrownPart::Fluid), crown(CrownPart::Volume));
    let mut remarks = Vec::new();
    let (weighed, poured): (Vec<&Reading>, Vec<&Reading>) =
        chambers.iter().partition(|reading| is_weight(reading));
    let name = |alone: bool, name: &str| match alone {
        true => "Chamber volumes".to_owned(),
        false => format!("Chamber volumes that were {name}"),
    };
    if !poured.is_empty() {
        let named = Named::of(engine, &poured, false);
        remarks.push(named.at_20(&name(weighed.is_empty(), "poured")));
    }
    if !weighed.is_empty() {
        let named = Named::of(engine, &weighed, true);
        remarks.push(named.at_20(&name(poured.is_empty(), "weighed")));
    }
    remarks.extend(set_up::remark(&chambers));
    let poured: Vec<&Reading> = fluids
        .iter()
        .copied()
        .filter(|one| !is_weight(one))
        .collect();
    if !poured.is_empty() {
        let corrected = Named::of(engine, &poured, false).corrected_in_bore();
        if !corrected.is_empty() {
            remarks.push(format!(
                "Domes and dishes: the liquid poured in the bore is corrected for {corrected}."
            ));
        }
    }
    let direct: Vec<&Reading> = direct.into_iter().filter(|one| !is_weight(one)).collect();
    if !Named::of(engine, &direct, false)
        .corrected_in_bore()
        .is_empty()
    {
        remarks.push("Domes and dishes read as one value are as read: how much liquid was poured for them is not known, so that neither its temperature nor the burette's glass is corrected.".to_owned());
    }
    for (what, one, readings) in [
        ("chambers were measured", "chamber", &chambers),
        (
            "domes and dishes were poured",
            "poured dome or dish",
            &fluids,
        ),
    ] {
        let unsaid = Named::of(engine, readings, false).unsaid;
        if !unsaid.is_empty() {
            remarks.push(format!(
                "Not said while {what}: {unsaid}. The uncertainty of every {one} is widened for it; `benchhand condition` says it."
            ));
        }
    }
    remarks
}

fn is_weight(reading: &Reading) -> bool {
    let measured = reading.measured();
    measured.is_some_and(|measured| measured.unit.kind() == QuantityKind::Mass)
}

/// What is corrected in some readings, what is not, and what nobody said, in words.
struct Named {
    corrected: Vec<&'static str>,
    lacking: Vec<&'static str>,
    unsaid: String,
    /// Whether no temperature is known of any of them.
    cold: bool,
}

impl Named {
    fn of(engine: &Engine, readings: &[&Reading], weighed: bool) -> Named {
        let each = Liquids::each(engine, readings);
        let all = |of: &dyn Fn(&Liquids<'_>) -> Vec<&'static str>| {
            let mut names: Vec<&str> = Vec::new();
            for name in each.iter().flat_map(|(_, liquids)| of(liquids)) {
                if !names.contains(&name) {
                    names.push(name);
                }
            }
            names
        };
        Named {
            corrected: all(&|one| one.corrected(weighed)),
            lacking: all(&|one| one.lacking(weighed)),
            unsaid: all(&|one| one.unsaid()).join(", "),
            cold: each
                .iter()
                .all(|(_, one)| one.burette.is_none() && one.chamber.is_none()),
        }
    }

    /// A sentence about the chambers' volumes. It claims 20 °C only where all corrections were
    /// made.
    fn at_20(&self, what: &str) -> String {
        let (corrected, lacking) = (self.corrected.join(", "), self.lacking.join(", "));
        match (corrected.is_empty(), lacking.is_empty()) {
            (true, _) if self.cold => format!(
                "{what} are as read: the temperatures of liquid and head are not stated, so nothing is corrected to 20 degC."
            ),
            (true, _) => format!(
                "{what} are as read, not corrected for {lacking}: they are not brought to 20 degC."
            ),
            (false, true) => format!("{what} are at 20 degC, corrected for {corrected}."),
            (false, false) => format!(
                "{what} are corrected for {corrected}, but not for {lacking}: they are not brought to 20 degC."
            ),
        }
    }

    /// The corrections of a volume poured in the bore, where no head's metal enters.
    fn corrected_in_bore(&self) -> String {
        let of_head = |name: &&str| ![METAL, METAL_AS_LIQUID].contains(name);
        let names: Vec<&str> = self.corrected.iter().copied().filter(of_head).collect();
        names
            .join(", ")
            .replace(BETWEEN, "the liquid between burette and bore")
    }
}
