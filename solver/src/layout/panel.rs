//! A panel with holes as convex solids.
//!
//! Each round hole becomes a polygon with its corners on the circle, so that the solids hold at least all of the
//! sheet: along each chord they reach into the hole by up to [`HOLE_ACCURACY_MM`]. The sheet around the polygons is
//! cut by lines across the height at every corner, and cuts that only divide one region are joined again (a
//! trapezoidal map); each region is one convex solid.

use super::file::PanelDef;
use crate::geometry::{Pose, Shape, along};
use crate::source::{Checker, Place};
use nalgebra::Translation3;
use std::f64::consts::TAU;

/// How far the solids of a panel reach into a round hole at most, in millimetres. A smaller value costs more solids
/// (32 a hole of 16 mm), a larger one hides clearance in holes; hand-drilled holes are wider off than this.
pub const HOLE_ACCURACY_MM: f64 = 0.05;

/// Least sheet between a hole and the next hole or the edge, in millimetres. Thinner webs do not survive drilling, and
/// the solids there would be too thin to measure distances to.
pub const LEAST_WEB_MM: f64 = 0.1;

/// Most holes of one panel.
const MOST_HOLES: usize = 200;

/// Regions narrower than this are left out, in millimetres: corners of two holes that differ only by rounding.
const SLIVER_MM: f64 = 1e-6;

/// Checks sizes and holes.
pub(super) fn check_panel(panel: &PanelDef, place: &Place<'_>, checker: &mut Checker<'_>) {
    checker.coordinates(&place.field("at"), &panel.at);
    let size = place.field("size");
    let sizes = ["a width", "a height"].into_iter().zip(panel.size).enumerate();
    // Every number is looked at, so no `all`, which would stop at the first bad one.
    let size_is_sound =
        sizes.fold(true, |sound, (index, (what, value))| checker.length(&size.index(index), value, what) && sound);
    checker.length(&place.field("thickness"), panel.thickness, "a thickness");
    let holes = place.field("holes");
    if panel.holes.len() > MOST_HOLES {
        let message = format!("expected at most {MOST_HOLES} holes in a panel, found {}", panel.holes.len());
        checker.refuse(&holes, message, "leave out a vent's holes: a panel without them is the safe side");
        return;
    }
    let mut sound: Vec<bool> = Vec::with_capacity(panel.holes.len());
    for (index, hole) in panel.holes.iter().enumerate() {
        let here = holes.index(index);
        if !hole.name.is_empty() {
            checker.name(&here.field("name"), &hole.name, "the hole's name");
        }
        let stands = checker.coordinates(&here.field("at"), &hole.at);
        sound.push(checker.length(&here.field("diameter"), hole.diameter, "a diameter") && stands);
        if sound.last() == Some(&false) {
            continue;
        }
        let radius = hole.diameter / 2.0;
        let web = hole.at.iter().zip(panel.size).map(|(at, size)| size / 2.0 - at.abs() - radius);
        let web = web.fold(f64::INFINITY, f64::min);
        if size_is_sound && web < LEAST_WEB_MM {
            let message = format!("expected at least {LEAST_WEB_MM} mm between hole and panel edge, found {web:.3}");
            checker.refuse(&here, message, "`at` is measured from the panel's centre: width, then height");
        }
        for (other, earlier) in panel.holes.iter().enumerate().take(index) {
            if sound.get(other) == Some(&false) {
                continue;
            }
            let apart = (hole.at[0] - earlier.at[0]).hypot(hole.at[1] - earlier.at[1]);
            let web = apart - radius - earlier.diameter / 2.0;
            if web < LEAST_WEB_MM {
                let message = format!("expected at least {LEAST_WEB_MM} mm between holes, found {web:.3}");
                let first = ("the other hole", holes.index(other).to_string());
                checker.refuse_both(&here, message, "move one of the holes, or give one larger hole", first);
            }
        }
    }
}

/// The solids of a panel that passed [`check_panel`], in the panel's frame.
pub(super) fn sheet(panel: &PanelDef) -> Vec<(Shape, Pose)> {
    let [width, height] = panel.size;
    let holes: Vec<Polygon> = panel.holes.iter().map(|hole| Polygon::inside(hole.at, hole.diameter / 2.0)).collect();
    let regions = regions(width, height, &holes);
    regions.iter().map(|region| region.solid(panel.thickness)).collect()
}

/// A convex polygon with corners on a circle, as its lower and its upper side, each from left to right.
struct Polygon {
    lower: Vec<[f64; 2]>,
    upper: Vec<[f64; 2]>,
}

/// A boundary between sheet and hole, or the sheet's edge: what a region is bounded by above or below.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Edge {
    left: [f64; 2],
    right: [f64; 2],
}

/// A piece of sheet between two boundaries and two lines across the height.
#[derive(Clone, Copy, Debug)]
struct Region {
    from: f64,
    to: f64,
    below: Edge,
    above: Edge,
}

impl Polygon {
    fn inside([x, y]: [f64; 2], radius: f64) -> Self {
        // A chord that spans the angle 2a lies radius * (1 - cos a) inside its arc.
        let half_angle = (1.0 - HOLE_ACCURACY_MM / radius).clamp(0.0, 1.0).acos();
        let sides = (TAU / 2.0 / half_angle).ceil().clamp(8.0, 1e4) as usize;
        // With a multiple of four, and corners either side of the axes, top and bottom are flat and the sides upright.
        let sides = sides.next_multiple_of(4);
        let corner = |index: usize| {
            let (sine, cosine) = ((index as f64 + 0.5) / sides as f64 * TAU).sin_cos();
            [x + radius * cosine, y + radius * sine]
        };
        let upper = (0..sides / 2).rev().map(corner).collect();
        let lower = (sides / 2..sides).map(corner).collect();
        Self { lower, upper }
    }

    /// The boundaries below and above at `x`, if the polygon spans it.
    fn at(&self, x: f64) -> Option<(Edge, Edge)> {
        Some((edge_at(&self.lower, x)?, edge_at(&self.upper, x)?))
    }
}

impl Edge {
    fn height(&self, x: f64) -> f64 {
        let share = (x - self.left[0]) / (self.right[0] - self.left[0]);
        self.left[1] + share * (self.right[1] - self.left[1])
    }

    fn is_flat(&self) -> bool {
        (self.left[1] - self.right[1]).abs() < SLIVER_MM
    }
}

impl Region {
    /// Whether this is `other` and more of it to the right.
    fn continues(&self, other: &Self) -> bool {
        self.from == other.from && self.below == other.below && self.above == other.above
    }

    /// The piece of sheet, from the inner face at `z` = 0 to the outer face.
    fn solid(&self, thickness: f64) -> (Shape, Pose) {
        let corners = [self.from, self.to].map(|x| [[x, self.below.height(x)], [x, self.above.height(x)]]);
        if self.below.is_flat() && self.above.is_flat() {
            let [[x0, y0], [x1, y1]] = [corners[0][0], corners[1][1]];
            let centre = Translation3::new(f64::midpoint(x0, x1), f64::midpoint(y0, y1), thickness / 2.0);
            return (Shape::Box { size: [x1 - x0, y1 - y0, thickness] }, centre.into());
        }
        let half = thickness / 2.0;
        let points = corners.iter().flatten().flat_map(|[x, y]| [[*x, *y, -half], [*x, *y, half]]).collect();
        (Shape::Hull { points }, along(half))
    }
}

/// Cuts the sheet around the holes, which lie inside it and apart from each other.
fn regions(width: f64, height: f64, holes: &[Polygon]) -> Vec<Region> {
    let (right, top) = (width / 2.0, height / 2.0);
    let [bottom, top] = [-top, top].map(|y| Edge { left: [-right, y], right: [right, y] });
    let corners = holes.iter().flat_map(|hole| hole.lower.iter().chain(&hole.upper)).map(|corner| corner[0]);
    let mut cuts: Vec<f64> = corners.chain([-right, right]).collect();
    cuts.sort_by(f64::total_cmp);
    cuts.dedup_by(|later, earlier| *later - *earlier < SLIVER_MM);

    let mut done = Vec::new();
    let mut open: Vec<Region> = Vec::new();
    for (from, to) in cuts.iter().zip(cuts.iter().skip(1)) {
        let middle = f64::midpoint(*from, *to);
        let mut crossed: Vec<(Edge, Edge)> = holes.iter().filter_map(|hole| hole.at(middle)).collect();
        crossed.sort_by(|(a, _), (b, _)| a.height(middle).total_cmp(&b.height(middle)));
        let belows = std::iter::once(bottom).chain(crossed.iter().map(|(_, upper)| *upper));
        let aboves = crossed.iter().map(|(lower, _)| *lower).chain([top]);
        let next: Vec<Region> = belows
            .zip(aboves)
            .map(|(below, above)| {
                let continued = open.iter().find(|region| region.below == below && region.above == above);
                Region { from: continued.map_or(*from, |region| region.from), to: *to, below, above }
            })
            .collect();
        done.extend(open.iter().filter(|region| !next.iter().any(|longer| longer.continues(region))));
        open = next;
    }
    done.extend(open);
    done
}

fn edge_at(side: &[[f64; 2]], x: f64) -> Option<Edge> {
    side.iter()
        .zip(side.iter().skip(1))
        .map(|(left, right)| Edge { left: *left, right: *right })
        .find(|edge| edge.left[0] < x && x < edge.right[0])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Solid;
    use crate::layout::HoleDef;
    use nalgebra::Point3;

    fn panel(holes: &[([f64; 2], f64)]) -> PanelDef {
        let hole = |(at, diameter): &([f64; 2], f64)| HoleDef { name: String::new(), at: *at, diameter: *diameter };
        PanelDef {
            name: "deck".to_owned(),
            at: [0.0; 3],
            facing: Default::default(),
            across: None,
            size: [200.0, 100.0],
            thickness: 2.0,
            holes: holes.iter().map(hole).collect(),
            removable: false,
        }
    }

    fn solids(panel: &PanelDef) -> Vec<Solid> {
        sheet(panel)
            .iter()
            .map(|(shape, pose)| Solid::new(shape, *pose).unwrap_or_else(|bad| panic!("{bad}: {shape:?}")))
            .collect()
    }

    /// In and out of the sheet at a fine grid of places: in wherever there is sheet, out in every hole but for the
    /// chord error at its rim.
    fn check(holes: &[([f64; 2], f64)]) {
        let panel = panel(holes);
        let solids = solids(&panel);
        let covered = |x: f64, y: f64| {
            let point = Point3::new(x, y, 1.0);
            let near = |solid: &Solid| point >= solid.bounds().min && point <= solid.bounds().max;
            solids.iter().any(|solid| near(solid) && solid.contains(point))
        };
        for column in 0..=400 {
            for row in 0..=200 {
                let (x, y) = (f64::from(column) * 0.5 - 100.0, f64::from(row) * 0.5 - 50.0);
                let depth = |([cx, cy], diameter): &([f64; 2], f64)| diameter / 2.0 - (x - cx).hypot(y - cy);
                let depth = holes.iter().map(depth).fold(f64::NEG_INFINITY, f64::max);
                if depth <= 0.0 {
                    assert!(covered(x, y), "sheet is missing at {x}, {y} of {holes:?}");
                } else if depth > HOLE_ACCURACY_MM {
                    assert!(!covered(x, y), "the hole is filled at {x}, {y} of {holes:?}");
                }
            }
        }
    }

    #[test]
    fn sheets_are_whole_and_holes_are_open() {
        check(&[]);
        check(&[([0.0, 0.0], 16.0)]);
        check(&[([-60.0, 10.0], 16.0), ([60.0, -10.0], 22.0)]);
        // In line above each other, and so that their corners share lines across the height.
        check(&[([0.0, 30.0], 20.0), ([0.0, 0.0], 20.0), ([0.0, -30.0], 20.0)]);
        check(&[([0.0, 30.0], 20.0), ([5.0, 0.0], 20.0), ([20.0, 20.0], 9.0), ([-10.0, -30.0], 20.0)]);
        // As near to each other and to the edges as allowed, and one that all but fills the sheet.
        check(&[([-89.9, 39.9], 20.0), ([-69.8, 39.9], 20.0), ([-79.85, 22.43], 20.0)]);
        check(&[([0.0, 0.0], 99.8)]);
        check(&[([1.0, 1.0], 0.4), ([1.0, 2.0], 1.2)]);
    }

    /// The solids do not overlap, so their volumes add up to that of the sheet less the polygons.
    #[test]
    fn the_pieces_of_a_sheet_add_up() {
        let holes = [([-60.0, 10.0], 16.0), ([60.0, -10.0], 22.0), ([62.0, 14.0], 20.0)];
        let panel = panel(&holes);
        let area = |region: &Region| {
            let height = |x: f64| region.above.height(x) - region.below.height(x);
            (region.to - region.from) * f64::midpoint(height(region.from), height(region.to))
        };
        let polygons: Vec<Polygon> =
            panel.holes.iter().map(|hole| Polygon::inside(hole.at, hole.diameter / 2.0)).collect();
        let found: f64 = regions(200.0, 100.0, &polygons).iter().map(area).sum();
        // A regular polygon of n corners on a circle of radius r has the area n/2 r² sin(2π/n).
        let polygon = |(polygon, hole): (&Polygon, &HoleDef)| {
            let corners = (polygon.lower.len() + polygon.upper.len()) as f64;
            corners / 2.0 * (hole.diameter / 2.0).powi(2) * (TAU / corners).sin()
        };
        let expected = 200.0 * 100.0 - polygons.iter().zip(&panel.holes).map(polygon).sum::<f64>();
        assert!((found - expected).abs() < 1e-6, "{found} instead of {expected}");
    }

    #[test]
    fn a_hole_costs_about_as_many_solids_as_it_has_sides() {
        let count = |holes: &[([f64; 2], f64)]| solids(&panel(holes)).len();
        assert_eq!(count(&[]), 1);
        assert_eq!(count(&[([0.0, 0.0], 16.0)]), 32);
        assert_eq!(count(&[([-60.0, 10.0], 16.0), ([60.0, -10.0], 16.0)]), 63);
    }
}
