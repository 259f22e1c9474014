//! Whether a chain can be made up where chains of other gaps stand already.

use super::{
    super::{
        answer::Chain,
        bad_wish::{BadWish, ports_of},
        together::solids_of,
    },
    MakeUp, MakeUpWishes, judged_holding,
};
use crate::{
    catalog::Catalog,
    geometry::Pose,
    layout::{Body, BodyKind, Gap, Layout, Wetted},
};

/// A chain of another gap that is in its place.
#[derive(Clone, Copy, Debug)]
pub struct Neighbour<'a> {
    /// The gap that it bridges.
    pub gap: Gap,
    /// The chain.
    pub chain: &'a Chain,
}

/// Finds out whether `chain` can be made up where `standing` chains of other gaps are in place: as
/// [`make_up`](super::make_up) does, but whatever moves keeps clear of those chains as well, and a component that one of them
/// joins is not held back. Where it can be made up beside some chains, it can be beside fewer of them.
///
/// # Errors
/// As [`make_up`](super::make_up), for the standing chains and their gaps as well.
pub fn make_up_beside(
    catalog: &Catalog,
    layout: &Layout,
    gap: &Gap,
    chain: &Chain,
    standing: &[Neighbour<'_>],
    wishes: &MakeUpWishes,
) -> Result<MakeUp, BadWish> {
    wishes.check()?;
    chain.check(catalog)?;
    ports_of(layout, gap)?;
    let mut held = Vec::new();
    let mut bodies = Vec::new();
    for neighbour in standing {
        neighbour.chain.check(catalog)?;
        let ports = ports_of(layout, &neighbour.gap)?;
        let name = format!("the chain from {} to {}", ports[0].name, ports[1].name);
        held.extend(ports.map(|port| (port.body.index(), name.clone())));
        bodies.push(Body {
            name,
            kind: BodyKind::Panel { removable: false },
            solids: solids_of(catalog, neighbour.chain),
            play_mm: [0.0; 3],
            play_turn_deg: 0.0,
            mounted_on: None,
            pose: Pose::identity(),
            wetted: Wetted::default(),
        });
    }
    let crowded = layout.with_bodies(bodies);
    let ports = ports_of(&crowded, gap)?;
    Ok(judged_holding(catalog, &crowded, ports, chain, wishes, held))
}
