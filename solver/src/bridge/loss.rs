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

/// Temperature at which losses are stated: water in a warm loop.
const STATED_AT_CELSIUS: f64 = 25.0;

/// The coolant for which losses are stated: water at 25 °C.
pub(super) fn stated_coolant() -> Option<Coolant> {
    Coolant::water(STATED_AT_CELSIUS).ok()
}

/// Loss of one fitting at a flow in litres per minute; 0 for a fitting without a sound bore.
pub(super) fn micropascals(fitting: &FittingDef, flow_l_min: f64, coolant: &Coolant) -> u64 {
    let bends = fitting
        .bends
        .iter()
        .map(|bend| {
            let kind = if fitting.swept {
                BendKind::Swept { radius_over_bore: SWEPT_RADIUS_OVER_BORE }
            } else {
                BendKind::Drilled
            };
            Bend::new(bend.angle_deg.to_radians(), kind)
        })
        .collect();
    let length_m = fitting.legs.iter().sum::<f64>() / 1000.0;
    let flow_m3_s = flow_l_min / 60_000.0;
    let loss = Passage::new(fitting.bore_mm / 1000.0, length_m, bends).map_or(0.0, |p| p.loss_pa(flow_m3_s, coolant));
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "saturates, and losses are positive")]
    let whole = (loss * 1e6).round() as u64;
    // A bound that leaves room for the sum of a chain.
    whole.min(u64::MAX >> 8)
}
