//! What can turn to make up a joint of a chain.

use super::{
    joint::{Side, Turning},
    site::Site,
};
use std::ops::RangeInclusive;

/// What can turn on one side of a joint, where `group` is the parts joined together on that side (and to a port, if
/// `held`).
pub(super) fn turning(
    site: &Site<'_>,
    joint: usize,
    side: Side,
    group: &RangeInclusive<usize>,
    held: bool,
) -> Option<Turning> {
    if group.is_empty() {
        return None;
    }
    let all = (!held).then(|| Turning::All(group.clone()));
    let nearest = match side {
        Side::First => *group.end(),
        Side::Second => *group.start(),
    };
    if site.joints[joint].swivels[side.index()] {
        return Some(Turning::Collar(nearest));
    }
    let mut part = nearest;
    while site.is_straight(part) {
        let (outer, next) = match side {
            Side::First => (part, part.checked_sub(1)),
            Side::Second => (part + 1, Some(part + 1)),
        };
        let Some(next) = next.filter(|next| group.contains(next)) else {
            // The end of the group: free, or at a port, which may still be let go by a swivel there.
            if held && site.joints[outer].swivels.contains(&true) {
                return Some(straights(nearest, part));
            }
            return all;
        };
        if site.joints[outer].swivels.contains(&true) {
            return Some(straights(nearest, part));
        }
        part = next;
    }
    all
}

fn straights(a: usize, b: usize) -> Turning {
    Turning::Straights(a.min(b)..=a.max(b))
}
