//! The turns of a chain as pictures: each collar that must be aimed, seen from the free end of the chain as it stands in the
//! machine.

use super::{
    GapReport, PartReport,
    flow_plot::{escaped, put},
    words::fixed,
};
use crate::geometry::Vector;

/// Width and height of the picture of one part, and how many stand in a row.
const CELL: [f64; 2] = [300.0, 330.0];
const IN_A_ROW: usize = 3;

/// Radius of the collar, and of the arc on which the turn is drawn.
const COLLAR: f64 = 70.0;
const ARC: f64 = 46.0;

/// Up counts as seen where at least this share of it lies in the picture; else the axis is upright, and +x is drawn at the top.
const SEEN: f64 = 0.2;

/// How to look at a part that must be aimed. Directions in the layout's axes, of length one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// Out of the picture towards the eye: the way on from the joint towards the free end.
    pub towards_eye: [f64; 3],
    /// From where the turn is counted, square to that.
    pub zero: [f64; 3],
}

/// A collar as it is drawn, seen from the free end: angles counter-clockwise from the top of the picture, in degrees.
#[derive(Clone, Debug, PartialEq)]
pub struct Dial {
    /// What is at the top: `up`, or an axis where one looks straight up or down.
    pub top: String,
    /// From where the turn is counted.
    pub zero_deg: f64,
    /// Where the part points.
    pub aimed_deg: f64,
}

impl View {
    /// The collar of a part that is turned by an angle in degrees, counter-clockwise from where turns are counted.
    #[must_use]
    pub fn dial(&self, turn_deg: f64) -> Dial {
        let (direction, top) = top_of(*self);
        // Counter-clockwise in the picture, as turns count: from the top to where they are counted from.
        let zero_deg = angle_deg(*self, &direction, &Vector::from(self.zero));
        Dial { top, zero_deg, aimed_deg: zero_deg + turn_deg }
    }
}

/// The picture of every part of chain `number` of a gap, counted from 1, that must be aimed, as an SVG document; `None` if
/// there is no such chain, or nothing in it to aim.
#[must_use]
pub fn turns(gap: &GapReport, number: usize) -> Option<String> {
    let parts = gap.chains.get(number.checked_sub(1)?)?;
    let aimed: Vec<(usize, &PartReport, f64, View)> = parts
        .iter()
        .enumerate()
        .filter_map(|(index, part)| Some((index, part, part.turn_deg?, part.aim.as_ref()?.view)))
        .collect();
    if aimed.is_empty() {
        return None;
    }
    let rows = aimed.len().div_ceil(IN_A_ROW);
    let columns = aimed.len().min(IN_A_ROW);
    let [width, height] = [CELL[0] * columns as f64, 40.0 + CELL[1] * rows as f64];
    let mut svg = String::new();
    put(
        &mut svg,
        format_args!(
            r##"<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}">
<style>
  text {{ font: 13px sans-serif; fill: #222; text-anchor: middle }}
  .title {{ font-weight: bold }}
  .small {{ font-size: 12px }}
  .line {{ fill: none; stroke: #222; stroke-width: 1.5 }}
  .zero {{ fill: none; stroke: #222; stroke-width: 1.5; stroke-dasharray: 5 4 }}
  .aim {{ fill: none; stroke: #222; stroke-width: 4; stroke-linecap: round }}
</style>
<rect width="{width}" height="{height}" fill="#fff"/>
<text class="title" x="{}" y="24">Chain {number} from {}, each collar seen from the free end</text>"##,
            width / 2.0,
            escaped(&gap.facts.from.name)
        ),
    );
    for (place, (index, part, turn_deg, view)) in aimed.into_iter().enumerate() {
        let at = [CELL[0] * (place % IN_A_ROW) as f64, 40.0 + CELL[1] * (place / IN_A_ROW) as f64];
        put(&mut svg, format_args!(r#"<g transform="translate({} {})">"#, at[0] + CELL[0] / 2.0, at[1]));
        collar(&mut svg, index, part, turn_deg, view);
        put(&mut svg, format_args!("</g>"));
    }
    put(&mut svg, format_args!("</svg>"));
    Some(svg)
}

/// One collar: the top of the machine at the top of the picture, where the turn is counted from, and where the part points.
fn collar(svg: &mut String, index: usize, part: &PartReport, turn_deg: f64, view: View) {
    let Dial { top, zero_deg, aimed_deg } = view.dial(turn_deg);
    let y = 150.0;
    let spot = |deg: f64, radius: f64| {
        let (sin, cos) = deg.to_radians().sin_cos();
        (-radius * sin, y - radius * cos)
    };
    put(svg, format_args!(r#"<text class="title" y="18">part {}: {}</text>"#, index + 1, escaped(&part.fitting)));
    put(svg, format_args!(r#"<path class="line" d="M-7 56L0 44L7 56Z"/>"#));
    put(svg, format_args!(r#"<text class="small" x="12" y="56" style="text-anchor: start">{}</text>"#, escaped(&top)));
    put(svg, format_args!(r#"<circle class="line" cy="{y}" r="{COLLAR}"/><circle class="line" cy="{y}" r="16"/>"#));
    let (from, to) = (spot(zero_deg, 18.0), spot(zero_deg, COLLAR + 12.0));
    put(svg, format_args!(r#"<path class="zero" d="M{:.2} {:.2}L{:.2} {:.2}"/>"#, from.0, from.1, to.0, to.1));
    let label = spot(zero_deg, COLLAR + 26.0);
    put(svg, format_args!(r#"<text class="small" x="{:.2}" y="{:.2}">0°</text>"#, label.0, label.1 + 4.0));
    let (from, to) = (spot(aimed_deg, 18.0), spot(aimed_deg, COLLAR + 8.0));
    put(svg, format_args!(r#"<path class="aim" d="M{:.2} {:.2}L{:.2} {:.2}"/>"#, from.0, from.1, to.0, to.1));
    let (start, end) = (spot(zero_deg, ARC), spot(aimed_deg, ARC));
    let large = i32::from(turn_deg > 180.0);
    if turn_deg > 0.05 {
        put(
            svg,
            format_args!(
                r#"<path class="line" d="M{:.2} {:.2}A{ARC} {ARC} 0 {large} 0 {:.2} {:.2}"/>"#,
                start.0, start.1, end.0, end.1
            ),
        );
    }
    let aim = part.aim.as_ref();
    let turn = format!("{}° counter-clockwise from the dashed line", fixed(turn_deg, 1));
    let lines = [
        turn,
        aim.map(|aim| aim.against.clone()).unwrap_or_default(),
        aim.map_or_else(String::new, |aim| format!("free end {}", aim.towards)),
    ];
    for (line, text) in lines.iter().enumerate() {
        put(svg, format_args!(r#"<text class="small" y="{}">{}</text>"#, 268 + 18 * line, escaped(text)));
    }
}

/// What is drawn at the top of a picture, and what it is called: the top of the machine, or +x where one looks straight up or
/// down.
fn top_of(view: View) -> (Vector, String) {
    let eye = Vector::from(view.towards_eye);
    let in_picture = |direction: Vector| direction - eye * direction.dot(&eye);
    let up = in_picture(Vector::z());
    if up.norm() >= SEEN {
        (up.normalize(), "up".to_owned())
    } else {
        let along_x = in_picture(Vector::x());
        let looking = if eye.z > 0.0 { "looking down" } else { "looking up" };
        (along_x.normalize(), format!("+x, {looking}"))
    }
}

/// Angle in the picture from one direction to another, counter-clockwise as the eye sees it, in degrees.
fn angle_deg(view: View, from: &Vector, to: &Vector) -> f64 {
    let eye = Vector::from(view.towards_eye);
    from.cross(to).dot(&eye).atan2(from.dot(to)).to_degrees()
}
