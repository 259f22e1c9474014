//! How far components miss the covers that close over them.

use super::bodies::bounds;
use crate::{
    geometry::{Separation, separation, separation_within},
    layout::{Body, BodyKind},
};

/// A cover and the component that comes nearest to it.
#[derive(Clone, Debug, PartialEq)]
pub struct CoverRoom {
    /// Name of the removable panel.
    pub cover: String,
    /// Name of the component.
    pub component: String,
    /// How they stand to each other, from the component to the cover.
    pub separation: Separation,
}

/// The nearest component of each removable panel; of equals, the first in the file. A layout without components has
/// none.
pub(super) fn covers(bodies: &[Body]) -> Vec<CoverRoom> {
    let covers = bodies.iter().filter(|body| body.kind == BodyKind::Panel { removable: true });
    covers.filter_map(|cover| nearest(cover, bodies)).collect()
}

fn nearest(cover: &Body, bodies: &[Body]) -> Option<CoverRoom> {
    let cover_bounds = bounds(cover)?;
    let mut components: Vec<_> = bodies
        .iter()
        .filter(|body| body.kind == BodyKind::Component)
        .filter_map(|body| Some((body, bounds(body)?.signed_mm(&cover_bounds))))
        .collect();
    // Near boxes first, so that the first measurement already rules out most others.
    components.sort_by(|one, other| one.1.total_cmp(&other.1));
    let mut best: Option<(&Body, Separation)> = None;
    for (component, least_mm) in components {
        if best.is_some_and(|(_, found)| least_mm > found.signed_mm) {
            break;
        }
        for solid in &component.solids {
            for sheet in &cover.solids {
                let found = match best {
                    None => Some(separation(solid, sheet)),
                    Some((_, least)) => separation_within(solid, sheet, least.signed_mm),
                };
                let nearer = |found: &Separation| best.is_none_or(|(_, least)| found.signed_mm < least.signed_mm);
                if let Some(found) = found.filter(nearer) {
                    best = Some((component, found));
                }
            }
        }
    }
    let (component, separation) = best?;
    Some(CoverRoom { cover: cover.name.clone(), component: component.name.clone(), separation })
}
