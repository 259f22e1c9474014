//! Chains that nearly close: the search with a widened allowance, against a machine without the component that may
//! still move.

use super::{
    super::{Chain, Completeness, search::laid_out_from_first},
    NearMissWishes,
    movers::Mover,
};
use crate::{
    catalog::Catalog,
    geometry::{Vector, axis},
    layout::{AllowancesDef, Layout},
};

/// How far beyond the allowance to look.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reach {
    pub(super) mm: f64,
    pub(super) deg: f64,
}

/// The chains that close within `reach`, as [`bridge`](super::super::bridge) ranks them, and whether the search for them stopped at its
/// budget. The mover itself, with what is mounted on it, is not in their way: it will stand elsewhere.
pub(super) fn widened(
    catalog: &Catalog,
    layout: &Layout,
    mover: &Mover,
    reach: Reach,
    wishes: &NearMissWishes,
    want: usize,
) -> (Vec<Chain>, bool) {
    let allowances = layout.allowances();
    let wide = AllowancesDef {
        closure_mm: reach.mm.max(allowances.closure_mm),
        closure_deg: reach.deg.max(allowances.closure_deg),
        ..allowances
    };
    let open = layout.without_solids(&mover.travelling).with_allowances(wide);
    let answer = laid_out_from_first(catalog, &open, &mover.gap, &wishes.search(want));
    let stopped = matches!(answer.completeness, Completeness::Stopped { .. });
    (answer.chains, stopped)
}

/// The parts of a chain by their ids, in the order of the gap that was asked about.
pub(super) fn named(chain: &Chain, reversed: bool) -> Vec<String> {
    let mut ids: Vec<String> = chain.parts.iter().map(|part| part.fitting.clone()).collect();
    if reversed {
        ids.reverse();
    }
    ids
}

/// The miss of a chain: the shift of the component at its end that closes it.
pub(super) fn miss(chain: &Chain) -> Vector {
    Vector::from(chain.residual_vector_mm)
}

/// The turn of the mover about its top axis, in degrees, that brings its port in line with the end of a chain, and
/// how far out of line it then still is, in degrees.
pub(super) fn aligning_turn(catalog: &Catalog, layout: &Layout, mover: &Mover, chain: &Chain) -> Option<(f64, f64)> {
    let wanted = -end_axis(catalog, chain)?;
    let port = axis(&layout.port_by_id(mover.gap.to)?.pose);
    let top = axis(&layout.body(mover.body)?.pose);
    let (flat_port, flat_wanted) = (port - top * port.dot(&top), wanted - top * wanted.dot(&top));
    let turn = top.dot(&flat_port.cross(&flat_wanted)).atan2(flat_port.dot(&flat_wanted));
    let turned = nalgebra::Rotation3::from_axis_angle(&nalgebra::Unit::new_normalize(top), turn) * port;
    let left = turned.cross(&wanted).norm().atan2(turned.dot(&wanted));
    turn.is_finite().then_some((turn.to_degrees(), left.to_degrees()))
}

/// The way a chain leaves its last part: into the second port, if it is in line with it.
pub(super) fn end_axis(catalog: &Catalog, chain: &Chain) -> Option<Vector> {
    let last = chain.parts.last()?;
    let ends = catalog.fitting(&last.fitting)?.end_frames(last.stretch_mm);
    Some(axis(&(last.pose * ends.get(1_usize.checked_sub(last.entry)?)?)))
}
