//! Pressure loss of a fitting, in whole micropascals so that a chain's loss does not depend on the order of adding.

use crate::{
    catalog::FittingDef,
    hydraulics::{
        Coolant,
        minor::{Bend, BendKind, Passage},
    },
};

/// Radius of a swept bend's centreline over its bore: a round tool of about the bore's own size leaves about 1.5
/// (common practice; from memory).
const SWEPT_RADIUS_OVER_BORE: f64 = 1.5;

/// The way through a fitting with two ends, entered by end `entry` and drawn out by `stretch_mm`; its turns are
/// drilled corners, or swept curves if the catalog says so. `None` for a fitting without a sound bore.
#[must_use]
pub fn passage(fitting: &FittingDef, entry: usize, stretch_mm: f64) -> Option<Passage> {
    shaped(fitting, entry, stretch_mm, fitting.swept)
}

/// As [`passage`], every turn swept: what the fitting could be at best.
#[must_use]
pub fn swept_passage(fitting: &FittingDef, entry: usize, stretch_mm: f64) -> Option<Passage> {
    shaped(fitting, entry, stretch_mm, true)
}

fn shaped(fitting: &FittingDef, entry: usize, stretch_mm: f64, swept: bool) -> Option<Passage> {
    let kind = if swept { BendKind::Swept { radius_over_bore: SWEPT_RADIUS_OVER_BORE } } else { BendKind::Drilled };
    let length_mm = fitting.legs.iter().sum::<f64>() + stretch_mm;
    let mut at_mm = stretch_mm;
    let mut bends = Vec::with_capacity(fitting.bends.len());
    for (bend, leg) in fitting.bends.iter().zip(&fitting.legs) {
        at_mm += leg;
        let at = if entry == 0 { at_mm } else { length_mm - at_mm };
        bends.push(Bend::new(bend.angle_deg.to_radians(), kind).at(at / 1000.0));
    }
    if entry != 0 {
        bends.reverse();
    }
    Passage::new(fitting.bore_mm / 1000.0, length_mm / 1000.0, bends).ok()
}

/// Loss of one fitting at a flow in litres per minute; 0 for a fitting without a sound bore.
pub(in crate::bridge) fn micropascals(fitting: &FittingDef, flow_l_min: f64, coolant: &Coolant) -> u64 {
    let flow_m3_s = flow_l_min / 60_000.0;
    let loss = passage(fitting, 0, 0.0).map_or(0.0, |passage| passage.loss_pa(flow_m3_s, coolant));
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "saturates, and losses are positive")]
    let whole = (loss * 1e6).round() as u64;
    // A bound that leaves room for the sum of a chain.
    whole.min(u64::MAX >> 8)
}
