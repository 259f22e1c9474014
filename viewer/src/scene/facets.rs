//! What is drawn of a body before a graphics card sees it: flat facets of convex pieces, and the lines along their
//! edges.
//!
//! All pieces are convex, as the solver's solids are. So cutting one by a plane leaves a convex piece again, and the cut
//! face is one polygon that can be capped.

use bevy::math::{Affine3A, Vec3};
use std::ops::Deref;

/// A body as it is drawn, in millimetres, in whatever frame its maker states.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    /// Convex pieces.
    pub pieces: Vec<Piece>,
    /// Lines along visible edges.
    pub edges: Vec<[Vec3; 2]>,
}

/// A drawing that does not change any more, with the box around it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sketch {
    drawing: Drawing,
    bounds: Option<[Vec3; 2]>,
}

/// A convex piece.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Piece {
    /// The facets all around.
    pub facets: Vec<Facet>,
    /// What the facets look like.
    pub tone: Tone,
}

/// A flat convex polygon, its corners counter-clockwise seen from outside.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Facet {
    /// The corners.
    pub corners: Vec<Corner>,
    /// Whether it is seen: not where two pieces of one sheet meet.
    pub seen: bool,
    /// Whether it closes a cut.
    pub cap: bool,
}

/// A corner of a facet, with the normal of the smooth surface there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Corner {
    /// The place.
    pub at: Vec3,
    /// Length one, outward.
    pub normal: Vec3,
}

/// What a piece is made to look like, relative to the colour of the whole body.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Tone {
    /// The body's colour.
    #[default]
    Plain,
    /// A shade darker, for threads and other parts that should stand apart.
    Shaded,
    /// Nearly black, for openings.
    Opening,
}

/// A plane; what lies on the side that `normal` points to is cut away.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cut {
    /// Length one.
    pub normal: Vec3,
    /// Distance of the plane from the origin along the normal, in millimetres.
    pub at_mm: f32,
}

/// Corners nearer than this to a cutting plane count as on it, in millimetres: well under what is seen, well over the
/// rounding of `f32` in a machine of a few metres.
const ON_PLANE_MM: f32 = 1e-3;

impl Facet {
    /// A flat facet through `points`, which must be at least three, in one plane, counter-clockwise from outside.
    #[must_use]
    pub fn flat(points: impl IntoIterator<Item = Vec3>) -> Self {
        let points: Vec<Vec3> = points.into_iter().collect();
        let normal = normal_of(&points);
        Self { corners: points.into_iter().map(|at| Corner { at, normal }).collect(), seen: true, cap: false }
    }

    /// The plane's normal, from the corners' places.
    #[must_use]
    pub fn normal(&self) -> Vec3 {
        let points: Vec<Vec3> = self.corners.iter().map(|corner| corner.at).collect();
        normal_of(&points)
    }
}

impl Drawing {
    /// The same in another frame. `by` must keep lengths: rotation and translation.
    #[must_use]
    pub fn moved(&self, by: &Affine3A) -> Self {
        let corner = |corner: &Corner| Corner {
            at: by.transform_point3(corner.at),
            normal: by.transform_vector3(corner.normal).normalize_or_zero(),
        };
        let facet = |facet: &Facet| Facet { corners: facet.corners.iter().map(corner).collect(), ..*facet };
        Self {
            pieces: (self.pieces.iter())
                .map(|piece| Piece { facets: piece.facets.iter().map(facet).collect(), tone: piece.tone })
                .collect(),
            edges: self.edges.iter().map(|edge| edge.map(|end| by.transform_point3(end))).collect(),
        }
    }

    /// Takes in all of `other`, which must be in the same frame.
    pub fn add(&mut self, other: Self) {
        self.pieces.extend(other.pieces);
        self.edges.extend(other.edges);
    }

    /// The same with every piece in one tone.
    #[must_use]
    pub fn toned(mut self, tone: Tone) -> Self {
        for piece in &mut self.pieces {
            piece.tone = tone;
        }
        self
    }

    /// What a cut leaves, with the cut faces capped, outlined, and hatched as in a drawing.
    #[must_use]
    pub fn cut(&self, cut: &Cut) -> Self {
        let mut left = Self::default();
        for piece in &self.pieces {
            let Some(kept) = piece.cut(cut) else { continue };
            for cap in kept.facets.iter().filter(|facet| facet.cap) {
                left.edges.extend(outline(cap));
                left.edges.extend(hatch(cap, cut));
            }
            left.pieces.push(kept);
        }
        left.edges.extend(self.edges.iter().filter_map(|edge| cut.segment(*edge)));
        left
    }

    /// The least and greatest coordinates, or `None` when there is nothing.
    #[must_use]
    pub fn bounds(&self) -> Option<[Vec3; 2]> {
        let corners = self.pieces.iter().flat_map(|piece| &piece.facets).flat_map(|facet| &facet.corners);
        let places = corners.map(|corner| corner.at).chain(self.edges.iter().flatten().copied());
        places.fold(None, |bounds, at| match bounds {
            None => Some([at, at]),
            Some([low, high]) => Some([low.min(at), high.max(at)]),
        })
    }
}

impl Sketch {
    /// Takes a drawing as it is.
    #[must_use]
    pub fn new(drawing: Drawing) -> Self {
        Self { bounds: drawing.bounds(), drawing }
    }

    /// The least and greatest coordinates, or `None` when there is nothing.
    #[must_use]
    pub fn around(&self) -> Option<[Vec3; 2]> {
        self.bounds
    }
}

impl Deref for Sketch {
    type Target = Drawing;

    fn deref(&self) -> &Drawing {
        &self.drawing
    }
}

impl Piece {
    /// What the cut leaves of the piece; `None` if nothing is left.
    fn cut(&self, cut: &Cut) -> Option<Self> {
        let mut facets = Vec::with_capacity(self.facets.len() + 1);
        let mut rim: Vec<Vec3> = Vec::new();
        for facet in &self.facets {
            let kept = cut.polygon(&facet.corners, &mut rim);
            if kept.len() >= 3 {
                facets.push(Facet { corners: kept, ..*facet });
            }
        }
        if facets.is_empty() {
            return None;
        }
        if let Some(cap) = cap(rim, cut.normal) {
            // A facet that lies in the plane already closes the piece there.
            let closed = facets.iter().any(|facet| {
                facet.normal().dot(cut.normal) > 0.999_9
                    && facet.corners.iter().all(|corner| cut.beyond(corner.at).abs() <= ON_PLANE_MM)
            });
            if !closed {
                facets.push(cap);
            }
        }
        Some(Self { facets, tone: self.tone })
    }
}

impl Cut {
    /// How far a place lies beyond the plane, on the side that is cut away.
    #[must_use]
    pub fn beyond(&self, at: Vec3) -> f32 {
        self.normal.dot(at) - self.at_mm
    }

    /// The same plane in the frame that `pose` maps to the frame of this one.
    #[must_use]
    pub fn seen_from(&self, pose: &Affine3A) -> Self {
        let normal = pose.matrix3.transpose() * bevy::math::Vec3A::from(self.normal);
        Self { normal: normal.into(), at_mm: self.at_mm - self.normal.dot(pose.translation.into()) }
    }

    /// What is left of a segment.
    fn segment(&self, [a, b]: [Vec3; 2]) -> Option<[Vec3; 2]> {
        let (beyond_a, beyond_b) = (self.beyond(a), self.beyond(b));
        match (beyond_a > ON_PLANE_MM, beyond_b > ON_PLANE_MM) {
            (false, false) => Some([a, b]),
            (true, true) => None,
            (false, true) => Some([a, a.lerp(b, beyond_a / (beyond_a - beyond_b))]),
            (true, false) => Some([a.lerp(b, beyond_a / (beyond_a - beyond_b)), b]),
        }
    }

    /// What is left of a polygon; the places on the plane are added to `rim`.
    fn polygon(&self, corners: &[Corner], rim: &mut Vec<Vec3>) -> Vec<Corner> {
        let mut kept = Vec::with_capacity(corners.len() + 1);
        for (index, corner) in corners.iter().enumerate() {
            let next = &corners[(index + 1) % corners.len()];
            let (here, there) = (self.beyond(corner.at), self.beyond(next.at));
            if here <= ON_PLANE_MM {
                kept.push(*corner);
                if here >= -ON_PLANE_MM {
                    rim.push(corner.at);
                }
            }
            if here.abs() > ON_PLANE_MM && there.abs() > ON_PLANE_MM && (here > 0.0) != (there > 0.0) {
                let share = here / (here - there);
                let at = corner.at.lerp(next.at, share);
                kept.push(Corner { at, normal: corner.normal.lerp(next.normal, share).normalize_or_zero() });
                rim.push(at);
            }
        }
        kept
    }
}

/// The segments around a facet.
pub(super) fn outline(facet: &Facet) -> impl Iterator<Item = [Vec3; 2]> + '_ {
    let next = facet.corners.iter().cycle().skip(1);
    facet.corners.iter().zip(next).map(|(a, b)| [a.at, b.at])
}

/// Distance between two lines of the hatch of a cut face, in millimetres.
const CUT_HATCH_MM: f32 = 4.0;

/// Lines aslant across a cut face, which is convex. Their places depend on the plane alone, so that they run on from one
/// piece of a body to the next.
fn hatch(cap: &Facet, cut: &Cut) -> Vec<[Vec3; 2]> {
    let (across, up) = cut.normal.any_orthonormal_pair();
    let (along, step) = ((across + up).normalize(), (up - across).normalize());
    let heights: Vec<f32> = cap.corners.iter().map(|corner| corner.at.dot(step)).collect();
    let low = heights.iter().copied().fold(f32::INFINITY, f32::min);
    let high = heights.iter().copied().fold(f32::NEG_INFINITY, f32::max);
    let mut lines = Vec::new();
    let mut height = (low / CUT_HATCH_MM).floor() * CUT_HATCH_MM + CUT_HATCH_MM;
    while height < high {
        let crossings = outline(cap).filter_map(|[a, b]| {
            let (from, to) = (a.dot(step) - height, b.dot(step) - height);
            ((from > 0.0) != (to > 0.0)).then(|| a.lerp(b, from / (from - to)))
        });
        let mut ends: Vec<Vec3> = crossings.collect();
        ends.sort_by(|a, b| a.dot(along).total_cmp(&b.dot(along)));
        if let [first, .., last] = ends[..] {
            lines.push([first, last]);
        }
        height += CUT_HATCH_MM;
    }
    lines
}

/// The polygon that closes a cut through a convex piece, from places all around its rim in any order.
fn cap(mut rim: Vec<Vec3>, normal: Vec3) -> Option<Facet> {
    let middle = rim.iter().sum::<Vec3>() / rim.len().max(1) as f32;
    let across = normal.any_orthonormal_vector();
    let up = normal.cross(across);
    let angle = |at: &Vec3| (*at - middle).dot(up).atan2((*at - middle).dot(across));
    rim.sort_by(|a, b| angle(a).total_cmp(&angle(b)));
    rim.dedup_by(|a, b| a.distance_squared(*b) < ON_PLANE_MM * ON_PLANE_MM);
    if rim.len() < 3 {
        return None;
    }
    let corners = rim.into_iter().map(|at| Corner { at, normal }).collect();
    Some(Facet { corners, seen: true, cap: true })
}

/// Newell's normal: good for polygons with corners that lie in line.
fn normal_of(points: &[Vec3]) -> Vec3 {
    let next = points.iter().cycle().skip(1);
    let sum: Vec3 = points.iter().zip(next).map(|(a, b)| a.cross(*b)).sum();
    sum.normalize_or_zero()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::shapes::drawn;
    use elbowroom::geometry::Shape;

    /// Volume by the divergence theorem, which is right only if the facets close and face outward.
    fn volume(piece: &Piece) -> f32 {
        let fan = |facet: &Facet| -> f32 {
            let first = facet.corners[0].at;
            facet.corners.windows(2).map(|two| first.dot(two[0].at.cross(two[1].at)) / 6.0).sum()
        };
        piece.facets.iter().map(fan).sum()
    }

    #[test]
    fn a_cut_leaves_a_closed_piece() {
        let shapes = [
            Shape::Box { size: [10.0, 20.0, 30.0] },
            Shape::Cylinder { diameter: 16.0, length: 10.0 },
            Shape::Sphere { diameter: 16.0 },
            Shape::Capsule { diameter: 8.0, length: 12.0 },
        ];
        for shape in shapes {
            let whole = drawn(&shape);
            for normal in [Vec3::X, Vec3::NEG_Z, Vec3::new(1.0, 2.0, 3.0).normalize()] {
                for at_mm in [0.0, 1.5, -2.0] {
                    let cut = Cut { normal, at_mm };
                    let other = Cut { normal: -normal, at_mm: -at_mm };
                    let (near, far) = (whole.cut(&cut), whole.cut(&other));
                    let sum = volume(&near.pieces[0]) + volume(&far.pieces[0]);
                    let expected = volume(&whole.pieces[0]);
                    assert!((sum - expected).abs() < 2e-3 * expected, "{shape:?} {cut:?}: {sum}, not {expected}");
                    let caps = near.pieces[0].facets.iter().filter(|facet| facet.cap);
                    for cap in caps {
                        assert!(cap.normal().dot(normal) > 0.999, "{shape:?} {cut:?}");
                    }
                }
            }
        }
    }

    #[test]
    fn cut_faces_are_hatched_within_their_outline() {
        let whole = drawn(&Shape::Box { size: [40.0, 40.0, 40.0] });
        let cut = Cut { normal: Vec3::Z, at_mm: 5.0 };
        let left = whole.cut(&cut);
        let [cap] = &left.pieces[0].facets.iter().filter(|facet| facet.cap).collect::<Vec<_>>()[..] else { panic!() };
        let lines = hatch(cap, &cut);
        // The diagonal of the square is 56.6 mm long.
        assert!((13..=15).contains(&lines.len()), "{}", lines.len());
        for end in lines.iter().flatten() {
            assert!((end.z - 5.0).abs() < 1e-3 && end.x.abs() < 20.001 && end.y.abs() < 20.001, "{end}");
            assert!((end.x.abs() - 20.0).abs() < 1e-3 || (end.y.abs() - 20.0).abs() < 1e-3, "{end} is on the outline");
            assert!(left.edges.iter().flatten().any(|drawn| drawn == end));
        }
    }

    #[test]
    fn what_lies_beyond_is_gone_and_what_lies_before_is_kept() {
        let whole = drawn(&Shape::Box { size: [2.0, 2.0, 2.0] });
        assert_eq!(whole.cut(&Cut { normal: Vec3::X, at_mm: -1.5 }), Drawing::default());
        assert_eq!(whole.cut(&Cut { normal: Vec3::X, at_mm: 1.5 }), whole);
        let halved = whole.cut(&Cut { normal: Vec3::X, at_mm: 0.0 });
        assert_eq!(halved.bounds(), Some([Vec3::NEG_ONE, Vec3::new(0.0, 1.0, 1.0)]));
    }
}
