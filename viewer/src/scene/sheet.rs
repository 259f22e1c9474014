//! A panel as one sheet with holes.
//!
//! The solver keeps a sheet as convex prisms side by side. Drawn as they are, their seams would hide the holes among
//! them, so walls where two prisms meet are left unseen, and lines run only along the sheet's own edges.

use super::facets::{Drawing, Facet, outline};
use super::shapes::{affine, drawn};
use bevy::math::{Vec2, Vec3, Vec3Swizzles};
use elbowroom::layout::Body;
use std::ops::Range;

/// Walls nearer than this to each other are the same wall, in millimetres.
const SAME_MM: f32 = 2e-3;

/// Turn of the outline from which a line is drawn through the sheet, as a cosine: corners of the sheet get one, the
/// many corners of a round hole do not.
const CORNER: f32 = 0.8;

/// A panel in its own frame: inner face at `z` = 0.
#[must_use]
pub fn sheet(panel: &Body) -> Drawing {
    let inverse = panel.pose.inverse();
    let mut drawing = Drawing::default();
    for solid in &panel.solids {
        let mut prism = drawn(&solid.shape()).moved(&affine(&(inverse * solid.pose())));
        drawing.pieces.append(&mut prism.pieces);
    }
    let walls: Vec<(usize, [Vec2; 2])> = (drawing.pieces.iter().enumerate())
        .flat_map(|(index, piece)| piece.facets.iter().filter_map(foot).map(move |foot| (index, foot)))
        .collect();
    let mut rim: Vec<[Vec2; 2]> = Vec::new();
    let mut heights = [f32::INFINITY, f32::NEG_INFINITY];
    for (index, piece) in drawing.pieces.iter_mut().enumerate() {
        let mut facets = Vec::with_capacity(piece.facets.len());
        for facet in piece.facets.drain(..) {
            let Some(foot) = foot(&facet) else {
                facets.push(facet);
                continue;
            };
            let z = facet.corners.iter().map(|corner| corner.at.z);
            let [low, high] = [z.clone().fold(f32::INFINITY, f32::min), z.fold(f32::NEG_INFINITY, f32::max)];
            heights = [heights[0].min(low), heights[1].max(high)];
            let others = walls.iter().filter(|(other, _)| *other != index).map(|(_, foot)| *foot);
            for (part, open) in parts(foot, others) {
                let [from, to] = [part.start, part.end].map(|share| foot[0].lerp(foot[1], share));
                let wall = [from.extend(low), to.extend(low), to.extend(high), from.extend(high)];
                facets.push(Facet { seen: open, ..Facet::flat(wall) });
                if open {
                    rim.push([from, to]);
                }
            }
        }
        piece.facets = facets;
    }
    for edge in &rim {
        drawing.edges.extend(heights.map(|z| edge.map(|end| end.extend(z))));
        let along = (edge[1] - edge[0]).normalize_or_zero();
        let after = rim.iter().find(|next| next[0].distance(edge[1]) < SAME_MM && next[1] != edge[0]);
        if after.is_none_or(|next| along.dot((next[1] - next[0]).normalize_or_zero()) < CORNER) {
            drawing.edges.push(heights.map(|z| edge[1].extend(z)));
        }
    }
    drawing
}

/// The lower edge of a facet that stands upright, walked with the sheet on the left.
fn foot(facet: &Facet) -> Option<[Vec2; 2]> {
    if facet.normal().z.abs() > 0.5 {
        return None;
    }
    let low = facet.corners.iter().map(|corner| corner.at.z).fold(f32::INFINITY, f32::min);
    let on_foot = |at: Vec3| at.z - low < SAME_MM;
    outline(facet).find(|[a, b]| on_foot(*a) && on_foot(*b)).map(|edge| edge.map(|end| end.xy()))
}

/// A wall in parts, each as a range of shares of its length, and whether it is open: not covered by another wall that
/// runs the other way along the same line.
fn parts(wall: [Vec2; 2], others: impl Iterator<Item = [Vec2; 2]>) -> Vec<(Range<f32>, bool)> {
    let length = wall[0].distance(wall[1]);
    let along = (wall[1] - wall[0]) / length.max(f32::MIN_POSITIVE);
    let beside = |at: Vec2| along.perp_dot(at - wall[0]).abs() < SAME_MM;
    let mut covered: Vec<(f32, f32)> = others
        .filter(|[a, b]| along.dot(*b - *a) < 0.0 && beside(*a) && beside(*b))
        .map(|[a, b]| (along.dot(b - wall[0]).max(0.0), along.dot(a - wall[0]).min(length)))
        .filter(|(from, to)| to - from > SAME_MM)
        .collect();
    covered.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut found = Vec::new();
    let mut here = 0.0;
    for (from, to) in covered {
        if from - here > SAME_MM {
            found.push((here / length..from / length, true));
        }
        found.push((from.max(here) / length..to / length, false));
        here = to.max(here);
    }
    if length - here > SAME_MM {
        found.push((here / length..1.0, true));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use elbowroom::{catalog::Catalog, layout::Layout};

    /// The outline of a sheet with holes is as long as the sheet's and the holes' circumferences together.
    #[test]
    fn lines_run_round_the_sheet_and_its_holes_and_nowhere_else() {
        let text = r#"(version: 1, name: "a sheet", panels: [(
            name: "lid", at: (10, 20, 30), facing: "+z", size: (200, 100), thickness: 3, holes: [
                (at: (-60, 10), diameter: 16), (at: (60, -10), diameter: 22), (at: (60, 20), diameter: 20)],
        )])"#;
        let layout = Layout::parse(text, "lid.ron", &Catalog::builtin()).unwrap_or_else(|bad| panic!("{bad}"));
        let drawing = sheet(&layout.bodies()[0]);
        let flat = |z: f32| {
            let at = drawing.edges.iter().filter(move |edge| edge.iter().all(|end| (end.z - z).abs() < 1e-3));
            at.map(|[a, b]| a.distance(*b)).sum::<f32>()
        };
        let expected = 600.0 + std::f32::consts::PI * 58.0;
        for z in [0.0, 3.0] {
            assert!((flat(z) - expected).abs() < 0.01 * expected, "{} instead of {expected} at {z}", flat(z));
        }
        let through = drawing.edges.iter().filter(|[a, b]| (a.z - b.z).abs() > 1.0).count();
        assert_eq!(through, 4, "one line through the sheet at each corner");
    }
}
