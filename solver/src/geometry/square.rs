//! Closed forms for boxes and cylinders that stand square to each other: box to box with parallel sides, cylinder
//! to cylinder with parallel axes, cylinder along a side of a box.
//!
//! Each such solid is the product of intervals and discs over the same axes, and the signed distance of two products
//! follows from those of their factors. In an enclosure most pairs are of this kind, and they are just the ones that
//! iterative searches handle worst: whole faces and edges are equally near.

use super::form::Core;
use super::frame::Vector;
use super::measure::Measure;
use super::round::{PointToCore, point_to_core};
use super::solid::Solid;

/// Two directions count as parallel when the sine of the angle between them is below this: over the greatest size
/// of a solid it amounts to 1e-6 mm.
const PARALLEL_SINE: f64 = 1e-10;

/// The signed distance of two solids that stand square to each other, or `None` for all others.
pub(super) fn measure(a: &Solid, b: &Solid) -> Option<Measure> {
    match (&a.form().core, &b.form().core) {
        (Core::Box { half: half_a }, Core::Box { half: half_b }) => boxes(a, half_a, b, half_b),
        (Core::Cylinder { .. }, Core::Cylinder { .. }) => cylinders(a, b),
        (Core::Box { half }, Core::Cylinder { .. }) => box_and_cylinder(a, half, b),
        (Core::Cylinder { .. }, Core::Box { half }) => box_and_cylinder(b, half, a).map(Measure::flipped),
        _ => None,
    }
}

/// One factor of a pair of products: its signed distance, and vectors within the factor's axes that add up, over the
/// factors, to those of the whole.
struct Factor {
    signed: f64,
    normal: Vector,
    /// Nearest points when this factor keeps the solids apart (or holds the least depth).
    nearest: (Vector, Vector),
    /// A point of both, where they overlap in this factor.
    shared: Vector,
}

fn boxes(a: &Solid, half_a: &Vector, b: &Solid, half_b: &Vector) -> Option<Measure> {
    // Column `j` is axis `j` of `b` in the frame of `a`: with parallel sides each has one entry of length one.
    let turn = a.axes().tr_mul(b.axes()).abs();
    if !turn.column_iter().all(|column| is_an_axis(&column.into_owned())) {
        return None;
    }
    let half_b = turn * half_b;
    let between = a.axes().tr_mul(&(b.centre() - a.centre()));
    Some(whole(a, &[0, 1, 2].map(|index| interval(index, half_a[index], between[index], half_b[index]))))
}

fn cylinders(a: &Solid, b: &Solid) -> Option<Measure> {
    let (Core::Cylinder { radius: radius_a, half: half_a }, Core::Cylinder { radius: radius_b, half: half_b }) =
        (&a.form().core, &b.form().core)
    else {
        return None;
    };
    let axis = a.axes().tr_mul(&b.axes().column(2).into_owned());
    if !is_an_axis(&axis) || axis.abs().imax() != 2 {
        return None;
    }
    let between = a.axes().tr_mul(&(b.centre() - a.centre()));
    let sideways = Vector::new(between.x, between.y, 0.0);
    let across = sideways.norm();
    let normal = sideways.try_normalize(1e-9).unwrap_or_else(Vector::x);
    let discs = Factor {
        signed: across - radius_a - radius_b,
        normal,
        nearest: (normal * *radius_a, sideways - normal * *radius_b),
        shared: normal * ((-radius_a).max(across - radius_b) + radius_a.min(across + radius_b)) / 2.0,
    };
    Some(whole(a, &[discs, interval(2, *half_a, between.z, *half_b)]))
}

fn box_and_cylinder(a: &Solid, half_a: &Vector, b: &Solid) -> Option<Measure> {
    let Core::Cylinder { radius, half } = &b.form().core else { return None };
    let axis = a.axes().tr_mul(&b.axes().column(2).into_owned());
    if !is_an_axis(&axis) {
        return None;
    }
    let along = axis.abs().imax();
    let between = a.axes().tr_mul(&(b.centre() - a.centre()));
    // The rectangle is the box with its third side made endless, seen from the cylinder's axis.
    let mut rectangle = *half_a;
    rectangle[along] = f64::INFINITY;
    let mut centre = between;
    centre[along] = 0.0;
    let PointToCore { signed, outward, on_core } = point_to_core(&Core::Box { half: rectangle }, &centre);
    let disc = Factor {
        signed: signed - radius,
        normal: outward,
        nearest: (on_core, centre - outward * *radius),
        shared: centre.zip_map(&rectangle, |along, half| along.clamp(-half, half)),
    };
    Some(whole(a, &[disc, interval(along, half_a[along], between[along], *half)]))
}

fn is_an_axis(direction: &Vector) -> bool {
    let along = direction.abs().imax();
    (0..3).all(|index| index == along || direction[index].abs() < PARALLEL_SINE)
}

/// Two intervals along axis `index`: from `-half_a` to `half_a`, and the same about `between`.
fn interval(index: usize, half_a: f64, between: f64, half_b: f64) -> Factor {
    let on_axis = |along: f64| {
        let mut vector = Vector::zeros();
        vector[index] = along;
        vector
    };
    let sign = 1f64.copysign(between);
    Factor {
        signed: between.abs() - half_a - half_b,
        normal: on_axis(sign),
        nearest: (on_axis(sign * half_a), on_axis(between - sign * half_b)),
        shared: on_axis(((-half_a).max(between - half_b) + half_a.min(between + half_b)) / 2.0),
    }
}

/// Puts factors together. With gaps in several, the distance is that of a corner; with one or none, the greatest
/// factor alone decides, the first of equals.
fn whole(frame: &Solid, factors: &[Factor]) -> Measure {
    let deepest = factors.iter().map(|factor| factor.signed).fold(f64::NEG_INFINITY, f64::max);
    let mut square = 0.0;
    let (mut normal, mut on_a, mut on_b) = (Vector::zeros(), Vector::zeros(), Vector::zeros());
    let mut decided = false;
    for factor in factors {
        if factor.signed > 0.0 || (deepest <= 0.0 && factor.signed == deepest && !decided) {
            decided = true;
            square += factor.signed * factor.signed;
            // Weights relative to the greatest, so that the tiniest of gaps still has a direction.
            normal += factor.normal * if deepest > 0.0 { factor.signed / deepest } else { 1.0 };
            on_a += factor.nearest.0;
            on_b += factor.nearest.1;
        } else {
            on_a += factor.shared;
            on_b += factor.shared;
        }
    }
    Measure {
        signed: if deepest > 0.0 { square.sqrt() } else { deepest },
        normal: frame.axes() * normal.normalize(),
        on_a: frame.centre() + frame.axes() * on_a,
        on_b: frame.centre() + frame.axes() * on_b,
    }
}
