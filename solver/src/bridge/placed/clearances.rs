//! What a chain in place comes nearest to: of what it joins, and of everything else.

use super::site::Site;
use crate::{
    bridge::{
        answer::{Chain, Clearance},
        bad_wish::{BadWish, ports_of},
    },
    catalog::Catalog,
    layout::{Gap, Layout},
};

/// The clearance of a chain, the two components that it joins apart from everything else: the first part of a chain is
/// always near the component whose port it is screwed into, and that would hide how near a door is. The
/// [`clearance`](Chain::clearance) of the chain is the lesser of the two.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Clearances {
    /// To anything but the components that the chain joins; `None` when nothing stands within
    /// [`CLEARANCE_HORIZON_MM`](crate::bridge::CLEARANCE_HORIZON_MM).
    pub to_others: Option<Clearance>,
    /// To the components that the chain joins, away from the faces on which it seats.
    pub to_joined: Option<Clearance>,
}

/// What each of `chains`, which bridge `gap` of `layout` with fittings of `catalog`, comes nearest to, in their order.
///
/// # Errors
/// A chain that [`Chain::check`] refuses, and a gap that is not one between two ports of this layout.
pub fn clearances(catalog: &Catalog, layout: &Layout, gap: &Gap, chains: &[Chain]) -> Result<Vec<Clearances>, BadWish> {
    let ports = ports_of(layout, gap)?;
    chains.iter().try_for_each(|chain| chain.check(catalog))?;
    if chains.is_empty() {
        return Ok(Vec::new());
    }
    // What is asked for here is where a chain stands, so no clearance is demanded of it.
    let site = Site::new(catalog.fittings(), layout, ports, 0.0);
    let joined = ports.map(|port| port.body.index());
    let of = |chain: &Chain| {
        let (built, last_run) = site.retrace(chain);
        Clearances {
            to_others: site.clearance_to(&built, last_run, |body| !joined.contains(&body)),
            to_joined: site.clearance_to(&built, last_run, |body| joined.contains(&body)),
        }
    };
    Ok(chains.iter().map(of).collect())
}
