//! One answer for both ways of asking: a chain is laid out from one port of a gap and its miss taken at the other, so the
//! way in which a gap is asked for must not decide which is which.

use crate::{
    bridge::answer::{Answer, Chain, ChainPart},
    catalog::FittingDef,
    geometry::{Pose, Vector, face_to_face, turned},
    layout::{Gap, Layout, Port},
};

/// Whether chains of a gap are laid out from its second port: where the circuit names the two the other way round or, if
/// it names them not at all, where the second port comes first in the alphabet.
pub(in crate::bridge) fn is_backwards(layout: &Layout, gap: &Gap) -> bool {
    let named = |from, to| layout.gaps().iter().any(|listed| listed.from == from && listed.to == to);
    if named(gap.from, gap.to) || named(gap.to, gap.from) {
        return !named(gap.from, gap.to);
    }
    let name = |port| layout.port_by_id(port).map(|port| &port.name);
    name(gap.to) < name(gap.from)
}

/// An answer laid out from the second port of a gap, as seen from the first. Every part stays where it is.
pub(in crate::bridge) fn turn_round(answer: Answer, fittings: &[FittingDef], layout: &Layout, gap: &Gap) -> Answer {
    let Some(port) = layout.port_by_id(gap.from) else { return answer };
    let chains = answer.chains.into_iter().map(|chain| turn_chain(chain, fittings, port)).collect();
    Answer { chains, ..answer }
}

/// A chain as seen from its other end, which is at `port`.
pub(in crate::bridge) fn turn_chain(mut chain: Chain, fittings: &[FittingDef], port: &Port) -> Chain {
    // Seen from either side the turn between two parts is the same; it belongs to the second of them, which is now the
    // other one. That of the part nearest to the port is against the port's mark.
    let mut between: Vec<f64> = chain.parts.iter().filter_map(|part| part.turn_deg).skip(1).collect();
    let mut is_first = true;
    let mut here: Option<Pose> = None;
    let mut parts = Vec::with_capacity(chain.parts.len());
    for part in chain.parts.iter().rev() {
        let Some(fitting) = fittings.iter().find(|fitting| fitting.id == part.fitting) else { continue };
        let ends = fitting.end_frames(part.stretch_mm);
        let stands = part.pose * ends[1 - part.entry] * face_to_face();
        let before = here.unwrap_or_else(|| marked_like(&stands, port));
        let turn_deg = part.turn_deg.map(|_| {
            let against_port = std::mem::take(&mut is_first).then(|| angle_deg(&before, &stands));
            against_port.or_else(|| between.pop()).unwrap_or(0.0)
        });
        let entered = before * turned(turn_deg.unwrap_or(0.0).to_radians());
        let entry = if fitting.is_symmetric() { 0 } else { 1 - part.entry };
        let pose = if entry == 0 { entered } else { entered * face_to_face().inverse() * ends[1].inverse() };
        here = Some(pose * ends[1 - entry]);
        parts.push(ChainPart { entry, pose, turn_deg, ..part.clone() });
    }
    if let Some(clearance) = &mut chain.clearance {
        clearance.part = parts.len().saturating_sub(1 + clearance.part);
    }
    Chain { parts, ..chain }
}

/// A frame at the same place and with the same way ahead as `frame`, turned as the port is.
pub(in crate::bridge) fn marked_like(frame: &Pose, port: &Port) -> Pose {
    frame * turned(-angle_deg(&port.pose, frame).to_radians())
}

/// Turn in degrees from one frame to another of nearly the same way ahead, in [0, 360).
fn angle_deg(from: &Pose, to: &Pose) -> f64 {
    let mark = to.rotation * Vector::x();
    let (x, y) = (from.rotation * Vector::x(), from.rotation * Vector::y());
    let degrees = mark.dot(&y).atan2(mark.dot(&x)).to_degrees().rem_euclid(360.0);
    if degrees >= 360.0 { 0.0 } else { degrees }
}
