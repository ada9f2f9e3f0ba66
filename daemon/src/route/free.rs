//! The routes of free spots, made of what the engine file states of them.

use benchhand_blueprint::engine::FreeSpot;
use benchhand_blueprint::spot::SpotName;
use benchhand_blueprint::units::QuantityKind;

/// What to watch out for wherever a part of an engine is measured.
const TURNING: &str = "Where the crank or the cam is turned: plugs out, battery off, turn by hand, never with the starter; keep your fingers out from between the parts.";
const SPRINGS: &str = "Compressed valve springs can let go: keep your face out of their line, use a compressor that grips.";
const LIQUIDS: &str = "Many liquids used for this burn: prefer water with a wetting agent, ventilate, keep sparks away; wear gloves and eye protection.";
const PRESSURE: &str = "What stands under pressure can let go: wear eye protection, and let it off before anything is loosened.";

/// The text of the route that measures a free spot; it has the spot's name.
pub fn free_route(name: &SpotName, stated: &FreeSpot) -> String {
    let quoted = |text: &str| toml::Value::String(text.to_owned()).to_string();
    let kind = stated.unit.kind();
    // Braces are placeholders in a route.
    let called = stated.title.replace(['{', '}'], "");
    // A length gauge counts from its zero; the others show the value itself.
    let (mode, figure) = match kind {
        QuantityKind::Volume => ("pour", None),
        QuantityKind::Mass => ("settle", None),
        QuantityKind::Pressure => ("average", None),
        _ if stated.below_zero => ("settle", Some("below-zero")),
        _ => ("settle", Some("above-zero")),
    };
    let doing = match kind {
        QuantityKind::Volume => "fill it until no bubble is left, then hold still",
        QuantityKind::Mass => "set it on the balance, let it settle",
        QuantityKind::Pressure => "bring the pressure up and hold it",
        _ => "set the gauge on it, let it settle",
    };
    let mut cautions = match kind {
        QuantityKind::Volume => vec![LIQUIDS],
        QuantityKind::Pressure => vec![PRESSURE, TURNING],
        _ => vec![TURNING],
    };
    if [name.as_str(), &stated.title.to_lowercase()]
        .iter()
        .any(|text| text.contains("spring"))
    {
        cautions.push(SPRINGS);
    }
    let (mut spot, mut prompt) = (format!("free/{name}"), called.clone());
    if stated.cylinders.is_some() {
        spot += "/{cylinder}";
        prompt += " of cylinder {cylinder}";
    }
    if !stated.at.is_empty() {
        spot += "/{at}";
        prompt += ", {at}";
    }
    let mut text = format!(
        "route = 1\nname = {}\ntitle = {}\nrounds = 1\ncautions = [{}]\n",
        quoted(name),
        quoted(&format!("{called}, as the engine file states it")),
        cautions
            .iter()
            .map(|one| quoted(one))
            .collect::<Vec<_>>()
            .join(", "),
    );
    if let Some(cylinders) = &stated.cylinders {
        text += &format!("order = {cylinders:?}\n");
    }
    if !stated.at.is_empty() {
        let places: Vec<String> = stated.at.iter().map(|at| quoted(at)).collect();
        text += &format!("\n[lists]\nat = [{}]\n", places.join(", "));
    }
    text += &format!(
        "\n[[step]]\nspot = {}\nmode = {}\nkind = {}\n",
        quoted(&spot),
        quoted(mode),
        quoted(kind.word()),
    );
    if let Some(figure) = figure {
        text += &format!("figure = {}\n", quoted(figure));
    }
    text + &format!("prompt = {}\n", quoted(&format!("{prompt}: {doing}")))
}

#[cfg(test)]
mod tests {
    use benchhand_blueprint::Engine;

    use super::*;
    use crate::route::{Route, RouteChoices, expand};

    #[test]
    fn a_free_spot_of_every_kind_has_a_route_that_visits_its_spots() {
        let engine = Engine::from_toml(
            "name = \"t\"\nunits = \"inch\"\ncylinders = 4\nbanks = [[1, 3], [2, 4]]\n\
             [free.spring_height]\ntitle = \"Spring \\\"{cylinder}\\\" height\"\nunit = \"in\"\nat = [\"intake\", \"exhaust\"]\n\
             [free.end_play]\nunit = \"thou\"\ncylinders = \"none\"\n\
             [free.chamfer]\nunit = \"mm\"\ncylinders = [2]\nfigure = \"below-zero\"\n\
             [free.dish]\nunit = \"cc\"\n[free.rod_weight]\nunit = \"g\"\n[free.oil]\nunit = \"psi\"\ncylinders = \"none\"\n",
        )
        .expect("an engine file");
        for (name, stated) in &engine.free {
            let text = free_route(name, stated);
            let route = Route::parse(&text, name).unwrap_or_else(|e| panic!("{e}\n{text}"));
            assert_eq!(route.name, name.as_str());
            let choices = RouteChoices::default();
            let stops = expand(&route, &[1, 3, 2, 4], &choices).expect("stops");
            let visited: Vec<_> = stops.iter().map(|stop| stop.spot.clone()).collect();
            assert_eq!(visited, stated.spots(name), "{text}");
            assert!(!route.cautions.is_empty());
        }
        let cautions = |name: &str| {
            let (name, stated) = engine
                .free
                .iter()
                .find(|(n, _)| n.as_str() == name)
                .expect("it");
            free_route(name, stated)
        };
        assert!(cautions("spring_height").contains("can let go"));
        assert!(cautions("chamfer").contains("below-zero"));
    }
}
