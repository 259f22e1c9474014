//! The chain that comes nearest where no move opens a gap: how far its end misses, whatever stands in its way.

use super::{
    super::Chain,
    ANY_MM, NearMissWishes,
    movers::Mover,
    widened::{Reach, end_axis, widened},
};
use crate::{
    catalog::Catalog,
    geometry::{Pose, Vector, axis, turned},
    layout::{Gap, Layout, Port},
};
use std::f64::consts::TAU;

/// A chain that comes near, without regard to what is in its way.
#[derive(Clone, Debug, PartialEq)]
pub struct Nearest {
    /// Name of the component of the second port.
    pub component: String,
    /// By how much the second port would have to be shifted to meet the end of the chain, in millimetres along the
    /// layout's axes.
    pub shift_mm: [f64; 3],
    /// How far the end is out of line with the second port, in degrees: what a shift does not make up for.
    pub off_deg: f64,
    /// Name of the body that is most in its way, and the signed distance to it in millimetres, where that is less than
    /// the clearance. The second port's own component does not count, since it would stand elsewhere.
    pub in_the_way: Option<(String, f64)>,
    /// The chain, from the first port.
    pub chain: Chain,
}

/// How far its end may miss, in millimetres: farther and farther until there is one. Beyond the last no machine on a
/// bench reaches.
const REACHES_MM: [f64; 4] = [10.0, 40.0, 160.0, 640.0];

/// How far it may be out of line where none is in line, in degrees, and over how wide a step each is looked for.
const TURNS_DEG: [f64; 8] = [10.0, 25.0, 40.0, 60.0, 90.0, 120.0, 150.0, 180.0];
const TURN_STEP_DEG: f64 = 15.0;

/// Directions in which it may be out of line.
const WAYS: u32 = 8;

/// Chains among which the nearest is chosen at one time: they come in the order of parts and loss.
const CHAINS: usize = 100;

/// How much nearer the next one must be, and how often a nearer one is looked for.
const NEARER: f64 = 0.95;
const ROUNDS: usize = 8;

/// Closures of each search: a few thousand are all there are of up to three parts.
const BUDGET: u64 = 20_000;

/// Parts of chains that are looked at before longer ones.
const FEW_PARTS: usize = 3;

/// The nearest chain in line with the second port, or where there is none one that is little out of line.
pub(super) fn nearest(catalog: &Catalog, layout: &Layout, gap: &Gap, wishes: &NearMissWishes) -> Option<Nearest> {
    let [from, to] = [gap.from, gap.to].map(|port| layout.port_by_id(port));
    let (from, to) = (from?, to?);
    let travelling = if from.body == to.body { Vec::new() } else { layout.travelling_with(to.body) };
    let mover = Mover { body: to.body, travelling, gap: *gap, reversed: false };
    let asked = wishes.clearance_mm.unwrap_or(layout.allowances().clearance_mm);
    let wishes =
        NearMissWishes { clearance_mm: Some(ANY_MM), closure_budget: wishes.closure_budget.min(BUDGET), ..*wishes };
    let look = Look { catalog, mover: &mover, wishes: &wishes };
    let closure_deg = layout.allowances().closure_deg;
    let (chain, off_deg) = match look.in_line(layout, closure_deg) {
        Some(chain) => (chain, 0.0),
        None => look.out_of_line(layout, to)?,
    };
    if chain.residual_mm <= layout.allowances().closure_mm && off_deg == 0.0 {
        // It closes, and what stops it is said elsewhere.
        return None;
    }
    let in_the_way = chain.clearance.as_ref().filter(|clearance| clearance.mm < asked);
    Some(Nearest {
        component: layout.body(to.body)?.name.clone(),
        shift_mm: chain.residual_vector_mm,
        off_deg,
        in_the_way: in_the_way.map(|clearance| (clearance.body.clone(), clearance.mm)),
        chain,
    })
}

/// Looks for chains whatever is in their way.
struct Look<'a> {
    catalog: &'a Catalog,
    mover: &'a Mover,
    wishes: &'a NearMissWishes<'a>,
}

impl Look<'_> {
    /// The chain of up to `parts` that ends nearest, if one ends within `mm` and `deg` of the second port.
    fn within(&self, layout: &Layout, parts: usize, mm: f64, deg: f64) -> Option<Chain> {
        let wishes = NearMissWishes { max_parts: self.wishes.max_parts.min(parts), ..*self.wishes };
        let chains = widened(self.catalog, layout, self.mover, Reach { mm, deg }, &wishes, CHAINS).0;
        chains.into_iter().min_by(|a, b| a.residual_mm.total_cmp(&b.residual_mm))
    }

    fn in_line(&self, layout: &Layout, deg: f64) -> Option<Chain> {
        let most = self.wishes.max_parts;
        let counts = if most > FEW_PARTS { vec![FEW_PARTS, most] } else { vec![most] };
        let (parts, mut nearest) = REACHES_MM
            .into_iter()
            .find_map(|mm| counts.iter().find_map(|parts| Some((*parts, self.within(layout, *parts, mm, deg)?))))?;
        for _ in 0..ROUNDS {
            match self.within(layout, parts, nearest.residual_mm * NEARER, deg) {
                Some(nearer) if nearer.residual_mm < nearest.residual_mm => nearest = nearer,
                _ => break,
            }
        }
        Some(nearest)
    }

    /// A chain that is little out of line, and by how many degrees: the second port is held in other directions, farther
    /// and farther off, until one ends there.
    fn out_of_line(&self, layout: &Layout, to: &Port) -> Option<(Chain, f64)> {
        TURNS_DEG.into_iter().find_map(|off_deg| {
            let held = (0..WAYS).map(|way| {
                let about = turned(f64::from(way) * TAU / f64::from(WAYS));
                layout.with_port_at(self.mover.gap.to, to.pose * about * tilted(off_deg.to_radians()))
            });
            let held: Vec<Layout> = held.collect();
            REACHES_MM.into_iter().find_map(|mm| {
                let chains = held.iter().filter_map(|held| self.within(held, FEW_PARTS, mm, TURN_STEP_DEG));
                let off = chains.filter_map(|chain| {
                    let off_deg = off_line_deg(self.catalog, to, &chain)?;
                    Some((chain, off_deg))
                });
                off.min_by(|(_, a), (_, b)| a.total_cmp(b))
            })
        })
    }
}

/// A turn about the frame's own `x`, in radians.
fn tilted(by: f64) -> Pose {
    Pose::rotation(Vector::x() * by)
}

/// How far the end of a chain is out of line with a port, in degrees.
fn off_line_deg(catalog: &Catalog, port: &Port, chain: &Chain) -> Option<f64> {
    let (end, into) = (end_axis(catalog, chain)?, -axis(&port.pose));
    Some(end.cross(&into).norm().atan2(end.dot(&into)).to_degrees())
}
