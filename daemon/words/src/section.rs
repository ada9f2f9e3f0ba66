//! A cylinder cut along its axis, drawn to scale as SVG from the blueprint's figures.
//!
//! Volumes have no shape of their own in an engine file: chamber, dome and dish are drawn as wide
//! and flat as the bore. What is not stated is not drawn.

use std::fmt::Write;

use benchhand_blueprint::engine::{CylinderSection, LengthUnits};

use crate::digits::rounded;

/// How many times larger the detail at the bore's edge is than the section.
const ENLARGED: f64 = 10.0;

/// The section as SVG, one unit a millimetre; `None` where the bore is not stated.
pub fn cylinder_section(section: &CylinderSection, units: LengthUnits) -> Option<String> {
    let bore = section.bore.filter(|bore| *bore > 0.0)?;
    Some(Drawing::new(section, bore, units).svg())
}

struct Drawing<'a> {
    section: &'a CylinderSection,
    bore: f64,
    units: LengthUnits,
    /// The height of letters, mm.
    letters: f64,
    shapes: String,
}

impl Drawing<'_> {
    fn new(section: &CylinderSection, bore: f64, units: LengthUnits) -> Drawing<'_> {
        Drawing {
            section,
            bore,
            units,
            letters: 0.085 * (bore + section.stroke.unwrap_or(bore)) / 2.0,
            shapes: String::new(),
        }
    }

    /// A length with its unit.
    fn length(&self, mm: f64) -> String {
        let decimals = match self.units {
            LengthUnits::Inch => 3,
            LengthUnits::Metric => 2,
        };
        let unit = self.units.length();
        format!("{} {unit}", rounded(unit.from_base(mm), decimals))
    }

    fn shape(&mut self, svg: &str) {
        self.shapes.push_str(svg);
        self.shapes.push('\n');
    }

    /// A closed outline that is filled a little.
    fn solid(&mut self, part: &str, points: &[(f64, f64)]) {
        let points: Vec<String> = points
            .iter()
            .map(|(x, y)| format!("{x:.3},{y:.3}"))
            .collect();
        self.shape(&format!(
            "<polygon class=\"{part}\" points=\"{}\" fill=\"currentColor\" fill-opacity=\"0.12\" \
             stroke=\"currentColor\"/>",
            points.join(" ")
        ));
    }

    fn line(&mut self, part: &str, from: (f64, f64), to: (f64, f64), dashed: bool) {
        let dashes = if dashed {
            format!(" stroke-dasharray=\"{0:.2} {0:.2}\"", 0.4 * self.letters)
        } else {
            String::new()
        };
        self.shape(&format!(
            "<line class=\"{part}\" x1=\"{:.3}\" y1=\"{:.3}\" x2=\"{:.3}\" y2=\"{:.3}\" \
             stroke=\"currentColor\"{dashes}/>",
            from.0, from.1, to.0, to.1
        ));
    }

    fn words(&mut self, x: f64, y: f64, anchor: &str, text: &str) {
        self.shape(&format!(
            "<text x=\"{x:.3}\" y=\"{y:.3}\" text-anchor=\"{anchor}\" stroke=\"none\" \
             fill=\"currentColor\">{text}</text>"
        ));
    }

    fn svg(mut self) -> String {
        let half = self.bore / 2.0;
        let wall = 0.14 * self.bore;
        let deck = self.section.deck.unwrap_or(0.0);
        let gasket = self.section.gasket_thickness.unwrap_or(0.0);
        let stroke = self.section.stroke.unwrap_or(0.0);
        let skirt = self.section.compression_height.unwrap_or(0.35 * self.bore) + 0.2 * self.bore;
        let chamber = self.section.chamber.unwrap_or(0.0);
        let dome = self.section.crown.unwrap_or(0.0).max(0.0);
        let top = -gasket - chamber.max(dome) - 0.12 * self.bore;
        let bottom = deck + stroke + skirt;

        for side in [-1.0, 1.0] {
            let (inner, outer) = (side * half, side * (half + wall));
            let wall = [(inner, 0.0), (outer, 0.0), (outer, bottom), (inner, bottom)];
            self.solid("block", &wall);
            if let Some(opening) = self.section.gasket_bore {
                let edge = side * opening / 2.0;
                let gasket = [(edge, 0.0), (outer, 0.0), (outer, -gasket), (edge, -gasket)];
                self.solid("gasket", &gasket);
            }
        }
        let (out, under) = (half + wall, -gasket);
        let mut head = vec![(-out, top), (out, top), (out, under), (half, under)];
        if chamber > 0.0 {
            head.extend([(half, under - chamber), (-half, under - chamber)]);
        }
        head.extend([(-half, under), (-out, under)]);
        self.solid("head", &head);
        if chamber > 0.0 {
            let y = under - chamber / 2.0 + 0.35 * self.letters;
            self.words(0.0, y, "middle", "chamber");
        }
        self.piston(deck, skirt);
        if self.section.stroke.is_some() {
            let y = deck + stroke;
            self.line("bottom", (-half, y), (half, y), true);
            let x = half + wall + self.letters;
            self.span((x, deck), (x, y));
            let text = format!("stroke {}", self.length(stroke));
            self.words(x + 0.5 * self.letters, (deck + y) / 2.0, "start", &text);
        }
        let below = bottom + self.letters;
        self.span((-half, below), (half, below));
        let text = format!("bore {}", self.length(self.bore));
        self.words(0.0, below + 1.3 * self.letters, "middle", &text);
        let right = self.detail(
            half + wall + 1.5 * self.letters + 0.9 * self.bore,
            deck,
            gasket,
        );
        let (left, lowest) = (-out - self.letters, below + 2.0 * self.letters);
        self.framed(left, top, right, lowest)
    }

    /// The piston at top dead centre, with its pin where the compression height is stated.
    fn piston(&mut self, deck: f64, skirt: f64) {
        let half = 0.995 * self.bore / 2.0;
        let crown = self.section.crown.unwrap_or(0.0);
        // A rim stands beside a dome or dish, so that its edge can be seen.
        let edge = if crown == 0.0 { half } else { 0.9 * half };
        let body = [
            (-half, deck),
            (-edge, deck),
            (-edge, deck - crown),
            (edge, deck - crown),
            (edge, deck),
            (half, deck),
            (half, deck + skirt),
            (-half, deck + skirt),
        ];
        self.solid("piston", &body);
        if let Some(height) = self.section.compression_height {
            self.shape(&format!(
                "<circle class=\"pin\" cx=\"0\" cy=\"{:.3}\" r=\"{:.3}\" fill=\"none\" \
                 stroke=\"currentColor\"/>",
                deck + height,
                0.11 * self.bore
            ));
        }
    }

    /// A measured length between two points, with a bar at both ends.
    fn span(&mut self, from: (f64, f64), to: (f64, f64)) {
        let bar = 0.35 * self.letters;
        self.line("length", from, to, false);
        for (x, y) in [from, to] {
            if from.0 == to.0 {
                self.line("length", (x - bar, y), (x + bar, y), false);
            } else {
                self.line("length", (x, y - bar), (x, y + bar), false);
            }
        }
    }

    /// The edge of the bore, enlarged: head, gasket, deck and piston. Returns how far the drawing
    /// reaches to the right.
    fn detail(&mut self, x: f64, deck: f64, gasket: f64) -> f64 {
        let end = x + 0.9 * self.bore;
        if self.section.deck.is_none() || self.section.gasket_thickness.is_none() {
            return x;
        }
        let (gap, width) = (ENLARGED * gasket, 0.25 * self.bore);
        let piston = ENLARGED * deck;
        let block = [(x + width, 0.0), (end, 0.0), (end, 8.0), (x + width, 8.0)];
        let metal = [(x, -gap - 8.0), (end, -gap - 8.0), (end, -gap), (x, -gap)];
        let edge = [(x, piston), (x + 0.95 * width, piston)];
        let mut rim = edge.to_vec();
        rim.extend([(x + 0.95 * width, piston + 10.0), (x, piston + 10.0)]);
        let between = [(x + width, 0.0), (end, 0.0), (end, -gap), (x + width, -gap)];
        self.solid("head", &metal);
        self.solid("gasket", &between);
        self.solid("block", &block);
        self.solid("piston", &rim);
        let beside = x + width + 0.4 * self.letters;
        let (thick, above) = (self.length(gasket), -gap - 8.0 - 0.6 * self.letters);
        self.words(
            beside,
            -gap / 2.0 + 0.3 * self.letters,
            "start",
            &format!("gasket {thick}"),
        );
        let way = if deck < 0.0 {
            "above the deck"
        } else {
            "below the deck"
        };
        let text = format!("piston {} {way}", self.length(deck.abs()));
        let lowest = (piston + 10.0).max(8.0);
        self.words(x, lowest + 1.4 * self.letters, "start", &text);
        let quench = format!("quench {}", self.length(gasket + deck));
        self.words(x, lowest + 2.8 * self.letters, "start", &quench);
        self.words(x, above, "start", "the bore's edge, 10 times");
        end + 4.5 * self.letters
    }

    fn framed(self, left: f64, top: f64, right: f64, bottom: f64) -> String {
        let (stated, not) = (self.section, "not stated");
        let said = |value: Option<f64>| value.map_or(not.to_owned(), |mm| self.length(mm));
        let mut title = String::new();
        // Writing to a text does not fail.
        let _ = write!(
            title,
            "One cylinder cut along its axis, piston at top dead centre: bore {}, stroke {}, deck {}, gasket {}",
            self.length(self.bore),
            said(stated.stroke),
            said(stated.deck),
            said(stated.gasket_thickness),
        );
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"section\" role=\"img\" \
             viewBox=\"{left:.2} {:.2} {:.2} {:.2}\" font-size=\"{:.2}\" \
             font-family=\"system-ui, sans-serif\" stroke-width=\"{:.2}\">\n\
             <title>{title}</title>\n{}</svg>",
            top - self.letters,
            right - left,
            bottom - top + self.letters,
            self.letters,
            0.05 * self.letters,
            self.shapes
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stated() -> CylinderSection {
        CylinderSection {
            bore: Some(100.0),
            stroke: Some(90.0),
            deck: Some(0.25),
            gasket_bore: Some(104.0),
            gasket_thickness: Some(1.0),
            compression_height: Some(38.0),
            chamber: Some(7.5),
            crown: Some(-0.5),
        }
    }

    /// The corners of the first shape of a part.
    fn corners(svg: &str, part: &str) -> Vec<(f64, f64)> {
        let from = svg.split(&format!("class=\"{part}\" points=\"")).nth(1);
        let points = from.and_then(|rest| rest.split('"').next());
        let points = points.unwrap_or_else(|| panic!("no {part} in {svg}"));
        let corner = |pair: &str| {
            let (x, y) = pair.split_once(',').expect("x,y");
            (x.parse().expect("x"), y.parse().expect("y"))
        };
        points.split(' ').map(corner).collect()
    }

    #[test]
    fn every_stated_length_is_drawn_to_scale() {
        let svg = cylinder_section(&stated(), LengthUnits::Metric).expect("a drawing");
        let block = corners(&svg, "block");
        assert_eq!(block[0], (-50.0, 0.0), "the bore's edge at the deck");
        let piston = corners(&svg, "piston");
        assert_eq!(
            piston[0].1, 0.25,
            "the flat stands the deck clearance below"
        );
        assert_eq!(
            piston[2].1, 0.75,
            "the dish is as deep as its volume over the bore"
        );
        let head = corners(&svg, "head");
        assert_eq!(head[4].1, -8.5, "gasket and chamber");
        assert_eq!(corners(&svg, "gasket")[0].0, -52.0);
        let bottom = svg
            .split("class=\"bottom\"")
            .nth(1)
            .expect("bottom dead centre");
        assert!(bottom.contains("y1=\"90.250\""), "{bottom}");
        assert!(svg.contains("stroke 90.00 mm") && svg.contains("quench 1.25 mm"));
    }

    #[test]
    fn what_is_not_stated_is_not_drawn() {
        assert_eq!(
            cylinder_section(&CylinderSection::default(), LengthUnits::Inch),
            None
        );
        let only = CylinderSection {
            bore: Some(101.6),
            ..CylinderSection::default()
        };
        let svg = cylinder_section(&only, LengthUnits::Inch).expect("a drawing");
        assert!(svg.contains("bore 4.000 in"));
        for absent in [
            "class=\"gasket\"",
            "class=\"bottom\"",
            "class=\"pin\"",
            "quench",
        ] {
            assert!(!svg.contains(absent), "{absent}");
        }
    }
}
