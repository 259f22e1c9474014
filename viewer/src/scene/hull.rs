//! The facets of a convex hull, for drawing it: the solver keeps hulls as points only.
//!
//! Gift wrapping in 3D: from each edge of a facet that is known, the plane is swung outward until it meets the next
//! point. All points in a plane become one polygon, so flat faces are drawn without seams.

use nalgebra::Vector3;
use std::collections::{HashMap, VecDeque};

/// Points nearer than this to a plane lie in it, as a share of the hull's size.
const FLATNESS: f64 = 1e-9;

/// The facets of the hull of `points`, each as places in `points`, counter-clockwise from outside.
///
/// Points inside the hull or inside a facet are in none. Empty if the points do not enclose anything. Takes
/// `points × facets` steps.
#[must_use]
pub fn facets(points: &[[f64; 3]]) -> Vec<Vec<usize>> {
    let points: Vec<Vector3<f64>> = points.iter().map(|point| Vector3::from(*point)).collect();
    let size = points.iter().map(|point| (point - points[0]).norm()).fold(0.0, f64::max);
    let wrap = Wrap { flat: size * FLATNESS, points };
    let Some(first) = wrap.first() else { return Vec::new() };
    let mut found = Vec::new();
    let mut done: HashMap<(usize, usize), ()> = HashMap::new();
    let mut open = VecDeque::from([first]);
    // A hull of n points has at most 2n - 4 facets; the bound keeps rounding from going round for ever.
    while let Some(facet) = open.pop_front() {
        let edges = || facet.corners.iter().copied().zip(facet.corners.iter().copied().cycle().skip(1));
        if edges().any(|edge| done.contains_key(&edge)) || found.len() > 2 * wrap.points.len() {
            continue;
        }
        done.extend(edges().map(|edge| (edge, ())));
        for (a, b) in edges().filter(|(a, b)| !done.contains_key(&(*b, *a))) {
            let along = (wrap.points[b] - wrap.points[a]).normalize();
            open.extend(wrap.swung(a, along, facet.normal).and_then(|normal| wrap.facet(a, normal)));
        }
        found.push(facet.corners);
    }
    found
}

struct Wrap {
    points: Vec<Vector3<f64>>,
    flat: f64,
}

struct Found {
    corners: Vec<usize>,
    normal: Vector3<f64>,
}

impl Wrap {
    /// Some facet: the plane at the least `x` is swung until it holds one.
    fn first(&self) -> Option<Found> {
        let least = (0..self.points.len()).min_by(|a, b| self.points[*a].x.total_cmp(&self.points[*b].x))?;
        let mut normal = -Vector3::x();
        for _ in 0..3 {
            if let Some(found) = self.facet(least, normal) {
                return Some(found);
            }
            let in_plane = self.in_plane(least, normal);
            let along = in_plane
                .iter()
                .map(|index| self.points[*index] - self.points[least])
                .find(|along| along.norm() > self.flat)
                .unwrap_or_else(|| if normal.z.abs() < 0.9 { normal.cross(&Vector3::z()) } else { Vector3::x() });
            normal = self.swung(least, along.normalize(), normal)?;
        }
        self.facet(least, normal)
    }

    /// The normal of the plane through the line at `from` along `along`, swung from the plane with `normal` to the
    /// first point that it meets.
    fn swung(&self, from: usize, along: Vector3<f64>, normal: Vector3<f64>) -> Option<Vector3<f64>> {
        let outward = along.cross(&normal);
        let turn = |point: &Vector3<f64>| {
            let step = point - self.points[from];
            let (x, y) = (step.dot(&outward), -step.dot(&normal));
            (x.hypot(y) > self.flat).then(|| y.max(0.0).atan2(x))
        };
        let least = self.points.iter().filter_map(turn).min_by(f64::total_cmp)?;
        let inward = outward * least.cos() - normal * least.sin();
        Some(inward.cross(&along).normalize())
    }

    /// The facet in the plane at `from` with `normal`, if the points there are not all in line.
    fn facet(&self, from: usize, normal: Vector3<f64>) -> Option<Found> {
        let across = if normal.x.abs() < 0.6 { Vector3::x() } else { Vector3::y() };
        let across = (across - normal * normal.dot(&across)).normalize();
        let up = normal.cross(&across);
        let flat = |index: usize| (self.points[index].dot(&across), self.points[index].dot(&up));
        let mut indices = self.in_plane(from, normal);
        indices.sort_by(|a, b| flat(*a).partial_cmp(&flat(*b)).unwrap_or(std::cmp::Ordering::Equal));
        // Andrew's monotone chain: one side from left to right, then the other back.
        let chain = |indices: &mut dyn Iterator<Item = usize>| {
            let mut side: Vec<usize> = Vec::new();
            for index in indices {
                while let [.., before, last] = side[..] {
                    let ((ax, ay), (bx, by), (cx, cy)) = (flat(before), flat(last), flat(index));
                    let turn = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
                    if turn > self.flat * (cx - ax).hypot(cy - ay) {
                        break;
                    }
                    side.pop();
                }
                side.push(index);
            }
            side.pop();
            side
        };
        let mut corners = chain(&mut indices.iter().copied());
        corners.extend(chain(&mut indices.iter().rev().copied()));
        (corners.len() >= 3).then_some(Found { corners, normal })
    }

    fn in_plane(&self, from: usize, normal: Vector3<f64>) -> Vec<usize> {
        let height = |index: &usize| (self.points[*index] - self.points[from]).dot(&normal).abs();
        (0..self.points.len()).filter(|index| height(index) <= self.flat).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn volume(points: &[[f64; 3]]) -> f64 {
        let at = |index: usize| Vector3::from(points[index]);
        let fan = |facet: &Vec<usize>| {
            facet.windows(2).map(|two| at(facet[0]).dot(&at(two[0]).cross(&at(two[1]))) / 6.0).sum::<f64>()
        };
        facets(points).iter().map(fan).sum()
    }

    #[test]
    fn a_box_has_six_faces_even_with_points_in_its_faces_and_inside() {
        let steps = [-1.0, 0.0, 1.0];
        let grid: Vec<[f64; 3]> =
            steps.iter().flat_map(|x| steps.iter().flat_map(move |y| steps.map(|z| [*x, 2.0 * y, 3.0 * z]))).collect();
        let found = facets(&grid);
        assert_eq!(found.len(), 6);
        assert!(found.iter().all(|facet| facet.len() == 4), "{found:?}");
        assert!((volume(&grid) - 48.0).abs() < 1e-9);
    }

    /// Every edge is walked once in either direction, and Euler's formula holds.
    #[test]
    fn points_on_a_ball_are_wrapped_all_around() {
        // A spiral of Fibonacci's angle spreads points evenly.
        let count = 60;
        let ball: Vec<[f64; 3]> = (0..count)
            .map(|index| {
                let z = 1.0 - (2.0 * f64::from(index) + 1.0) / f64::from(count);
                let (sine, cosine) = (f64::from(index) * 2.399_963_229_728_653).sin_cos();
                let across = (1.0 - z * z).sqrt();
                [20.0 * across * cosine, 20.0 * across * sine, 20.0 * z]
            })
            .collect();
        let found = facets(&ball);
        let edges: Vec<(usize, usize)> =
            found.iter().flat_map(|facet| facet.iter().copied().zip(facet.iter().copied().cycle().skip(1))).collect();
        for (a, b) in &edges {
            assert_eq!(edges.iter().filter(|edge| **edge == (*b, *a)).count(), 1, "{a} {b}");
        }
        assert_eq!(ball.len() + found.len(), edges.len() / 2 + 2);
        let whole = 4.0 / 3.0 * std::f64::consts::PI * 8_000.0;
        assert!((0.8..1.0).contains(&(volume(&ball) / whole)));
    }

    #[test]
    fn points_that_enclose_nothing_have_no_facets_or_a_flat_one() {
        assert!(facets(&[]).is_empty());
        assert!(facets(&[[0.0; 3]; 5]).is_empty());
        assert!(facets(&[[0.0; 3], [1.0, 0.0, 0.0], [2.0, 0.0, 0.0], [3.0, 0.0, 0.0]]).is_empty());
    }
}
